/* SPDX-License-Identifier: MIT */
/* The report on drift as a tree. */
#include "model/moment.h"
#include "page/tree_common.h"

#include <math.h>

static void add_largest(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_drift_report *r = job->drift;
    if (r->largest < 0) {
        cm_node_add_text(session, map, "largest", NULL);
        return;
    }
    cm_node *at = cm_node_add_map(session, map, "largest");
    cm_tree_row(session, at, job, r->largest);
    cm_size_angle change = cm_user_reading(job, r->largest, r->change[r->largest]);
    cm_node_add_number(session, at, "amplitude", change.size);
    cm_node_add_number(session, at, "phase", change.angle);
    cm_node_add_number(session, at, "std", cm_user_amplitude(job, r->largest, r->std[r->largest]));
}

static void add_other(cm_session *session, cm_node *map, const cm_job *job)
{
    static const char *const names[] = {
        [CM_OPTIMAL] = "optimal", [CM_INFEASIBLE] = "infeasible", [CM_UNDETERMINED] = "undetermined"};
    const cm_drift_report *r = job->drift;
    cm_node *other = cm_node_add_map(session, map, "otherwise");
    cm_node_add_text(session, other, "drift", r->fitted ? "none" : "linear");
    cm_node_add_text(session, other, "status", names[r->outcome]);
    cm_node *list = cm_node_add_list(session, other, "corrections");
    for (int j = 0; r->x && j < job->problem->planes; j++) {
        cm_size_angle mass = cm_user_mass(job, j, r->x[j]);
        cm_node *one = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, one, "plane", job->given->planes[j].id);
        cm_node_add_number(session, one, "mass", mass.size);
        cm_node_add_number(session, one, "angle", mass.angle);
    }
    cm_node_add_number(session, other, "largest_mass_change", cm_user_kilograms(job, r->apart));
}

void cm_tree_drift(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_drift_report *r = job->drift;
    int odd;
    if (!r)
        return;
    cm_node *map = cm_node_add_map(session, tree, "drift");
    cm_node_add_text(session, map, "setting", r->fitted ? "linear" : "none");
    cm_node_add_text(session, map, "by", cm_times_of(job->given, &odd) == CM_TIMES_TOLD ? "time" : "order");
    cm_node_add_number(session, map, "told", r->told);
    cm_node_add_number(session, map, "standard_deviations", r->deviations);
    cm_node_add_number(session, map, "chance", r->chance);
    cm_node_add_boolean(session, map, "assumed", r->assumed);
    add_largest(session, map, job);
    add_other(session, map, job);
}
