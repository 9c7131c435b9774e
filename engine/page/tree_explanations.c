/* SPDX-License-Identifier: MIT */
/* Explanations of a run that missed its prediction, best first. */
#include "model/mistakes.h"
#include "base/constants.h"
#include "page/tree_common.h"

#include <math.h>

static void add_id(cm_session *session, cm_node *map, const char *key, const char *id)
{
    if (id)
        cm_node_add_text(session, map, key, id);
    else
        cm_node_add_number(session, map, key, NAN); /* null */
}

static void add_mistake(cm_session *session, cm_node *map, const cm_case *c, const cm_mistake *m)
{
    cm_node_add_text(session, map, "kind", cm_mistake_name(m->kind));
    add_id(session, map, "plane", m->plane >= 0 ? c->planes[m->plane].id : NULL);
    if (m->other_plane >= 0)
        cm_node_add_text(session, map, "other_plane", c->planes[m->other_plane].id);
    if (m->sensor >= 0)
        cm_node_add_text(session, map, "sensor", c->sensors[m->sensor].id);
    if (m->other_sensor >= 0)
        cm_node_add_text(session, map, "other_sensor", c->sensors[m->other_sensor].id);
}

/* A shift in degrees of the case's phase convention, else a factor. */
static double user_value(const cm_case *c, const cm_explanation *e)
{
    bool shift = e->mistake.kind == CM_PHASE_REFERENCE_MOVED;
    return shift ? e->value * (c->phase_lag ? -1 : 1) * 180 / CM_PI : e->value;
}

void cm_tree_explanations(cm_session *session, cm_node *map, const cm_case *c, const cm_run_test *test)
{
    cm_node *list = cm_node_add_list(session, map, "explanations");
    for (int i = 0; i < test->explanation_count; i++) {
        const cm_explanation *e = &test->explanations[i];
        cm_node *entry = cm_node_add_map(session, list, NULL);
        add_mistake(session, entry, c, &e->mistake);
        cm_node_add_number(session, entry, "likelihood", e->likelihood);
        cm_node_add_number(session, entry, "value", user_value(c, e));
        cm_node_add_number(session, entry, "left", e->left);
        if (e->has_second)
            add_mistake(session, cm_node_add_map(session, entry, "and"), c, &e->second);
    }
}
