/* SPDX-License-Identifier: MIT */
/* What caps and limits are worth to the objective's value, as a tree. */
#include "page/worth.h"

#include "page/orbits.h"

#include <math.h>

static void add_other(cm_session *session, cm_node *list, const char *kind, double worth)
{
    if (isnan(worth))
        return;
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "kind", kind);
    cm_node_add_number(session, map, "per_unit_mass", worth);
}

static void add_caps(cm_session *session, cm_node *map, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, map, "caps");
    for (int j = 0; j < job->problem->planes; j++) {
        double worth = cm_worth_of_cap(job, j, CM_CAP_MASS), force = cm_worth_of_cap(job, j, CM_CAP_FORCE),
               change = cm_worth_of_cap(job, j, CM_CAP_CHANGE);
        if (isnan(worth) && isnan(force) && isnan(change))
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[j].id);
        cm_node_add_number(session, entry, "per_unit_mass", worth);
        cm_node *others = cm_node_add_list(session, entry, "others");
        add_other(session, others, "cap_force", force);
        add_other(session, others, "change_cap", change);
    }
}

static void add_limits(cm_session *session, cm_node *map, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, map, "limits");
    for (int i = 0; i < job->problem->rows; i++) {
        double worth = cm_worth_of_limit(job, i);
        if (isnan(worth))
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_tree_row(session, entry, job, i);
        cm_node_add_number(session, entry, "per_percent", worth);
    }
    for (int k = 0; k < job->problem->pair_count; k++) {
        double worth = cm_worth_of_orbit(job, k);
        if (isnan(worth))
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_tree_orbit(session, entry, job, k);
        cm_node_add_number(session, entry, "per_percent", worth);
    }
}

void cm_tree_worth(cm_session *session, cm_node *tree, const cm_job *job)
{
    if (!cm_worth_is_told(job)) {
        cm_node_add_text(session, tree, "sensitivities", NULL);
        return;
    }
    cm_node *map = cm_node_add_map(session, tree, "sensitivities");
    add_caps(session, map, job);
    add_limits(session, map, job);
}
