/* SPDX-License-Identifier: MIT */
/* Resonances of the fitted sweeps. Speeds in the case's unit. */
#include "page/tree_common.h"

#include <math.h>

static void add_speed(cm_session *session, cm_node *map, const char *key, const cm_case *c, double omega)
{
    cm_node_add_number(session, map, key, isfinite(omega) ? omega / c->speed_unit->factor : NAN);
}

static void add_resonance(cm_session *session, cm_node *list, const cm_case *c, const cm_resonance *r)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    add_speed(session, map, "speed", c, r->omega);
    add_speed(session, map, "speed_std", c, r->omega_std);
    cm_node_add_number(session, map, "damping_ratio", r->damping);
    cm_node_add_number(session, map, "damping_ratio_std", r->damping_std);
    cm_node_add_number(session, map, "amplification", r->amplification);
    cm_node *band = cm_node_add_list(session, map, "half_power");
    add_speed(session, band, NULL, c, r->low);
    add_speed(session, band, NULL, c, r->high);
    add_speed(session, map, "peak", c, r->peak);
    cm_node_add_boolean(session, map, "inside", r->inside);
    cm_node_add_boolean(session, map, "clear", r->clear);
    cm_node_add_text(session, map, "sensor", r->sensor >= 0 ? c->sensors[r->sensor].id : "");
    cm_node *margin = cm_node_add_map(session, map, "separation");
    cm_node_add_number(session, margin, "below", r->asked_below);
    cm_node_add_number(session, margin, "above", r->asked_above);
    cm_node_add_number(session, margin, "actual", r->margin);
}

void cm_tree_sweeps(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "sweeps");
    for (int i = 0; job->sweeps && i < job->sweeps->count; i++) {
        const cm_sweep_result *sweep = &job->sweeps->items[i];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "run", job->given->runs[sweep->run].id);
        cm_node_add_number(session, map, "readings", sweep->readings);
        cm_node_add_number(session, map, "left", sweep->count ? sweep->share : NAN);
        cm_node *resonances = cm_node_add_list(session, map, "resonances");
        for (int m = 0; m < sweep->count; m++)
            add_resonance(session, resonances, job->given, &sweep->resonances[m]);
    }
}
