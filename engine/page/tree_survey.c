/* SPDX-License-Identifier: MIT */
/* Signs for and against unbalance. */
#include "model/signs.h"
#include "page/tree_common.h"

static const char *const SPEAKS[] = {
    [CM_SPEAKS_NOT] = "neither", [CM_SPEAKS_FOR] = "for", [CM_SPEAKS_AGAINST] = "against"};

void cm_tree_survey(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "survey");
    for (int i = 0; job->surveyed && i < job->surveyed->count; i++) {
        const cm_survey_verdict *v = &job->surveyed->items[i];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "bearing", v->bearing);
        if (v->speed >= 0)
            cm_node_add_text(session, map, "speed", job->given->speeds[v->speed].id);
        cm_node_add_number(session, map, "against", v->against);
        cm_node_add_number(session, map, "for", v->in_favour);
        cm_node *signs = cm_node_add_list(session, map, "signs");
        for (int k = 0; k < v->count; k++) {
            cm_node *sign = cm_node_add_map(session, signs, NULL);
            cm_node_add_text(session, sign, "sign", CM_SIGNS[v->signs[k].kind].name);
            cm_node_add_number(session, sign, "value", v->signs[k].value);
            cm_node_add_text(session, sign, "speaks", SPEAKS[v->signs[k].speaks]);
        }
    }
}
