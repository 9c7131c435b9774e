/* SPDX-License-Identifier: MIT */
/* Orbits of probe pairs in result trees: entries with "pair" and "row" in place of "sensor". */
#include "page/orbits.h"
#include "page/tree_common.h"

#include <math.h>

void cm_tree_orbit(cm_session *session, cm_node *map, const cm_job *job, int k)
{
    const cm_orbit_row *orbit = &job->given->orbits[k];
    cm_node_add_text(session, map, "speed", job->given->speeds[orbit->speed].id);
    cm_node_add_text(session, map, "pair", job->given->pairs[orbit->pair].id);
    cm_node_add_text(session, map, "row", cm_orbit_axis_name(job, k));
}

static void add_size(cm_session *session, cm_node *map, const char *key, double size)
{
    if (isnan(size)) {
        cm_node_add_text(session, map, key, NULL);
        return;
    }
    cm_node *entry = cm_node_add_map(session, map, key);
    cm_node_add_number(session, entry, "amplitude", size);
    cm_node_add_text(session, entry, "phase", NULL);
}

static void add_prediction(cm_session *session, cm_node *map, const cm_job *job, int k)
{
    double before;
    bool predicted = cm_orbit_is_predicted(job, k);
    cm_orbit_before(job, k, &before);
    cm_tree_orbit(session, map, job, k);
    cm_node_add_text(session, map, "unit", cm_orbit_unit(job, k)->name);
    cm_node_add_number(session, map, "limit", cm_orbit_limit(job, k));
    add_size(session, map, "before", before);
    add_size(session, map, "after", cm_orbit_after(job, k));
    cm_node_add_number(session, map, "spread90", predicted ? cm_orbit_radius(job, k) : NAN);
    cm_node_add_number(session, map, "within", predicted ? cm_orbit_within(job, k) : NAN);
}

void cm_tree_orbits_at(cm_session *session, cm_node *list, const cm_job *job, int speed)
{
    for (int k = 0; k < job->given->orbit_count; k++)
        if (job->given->orbits[k].speed == speed)
            add_prediction(session, cm_node_add_map(session, list, NULL), job, k);
}
