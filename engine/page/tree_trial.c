/* SPDX-License-Identifier: MIT */
/* The result of `trial` as a tree. Masses and angles as the case counts them; force in N, speed in m/s,
 * energy in J. */
#include "page/start_common.h"
#include "page/tree_common.h"

#include <math.h>

static const double DEGREES = 180 / 3.14159265358979323846;

static void add_bound(cm_session *session, cm_node *list, const cm_job *job, const cm_trial_bound *bound)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "kind", cm_bound_name(bound->kind));
    cm_node_add_number(session, map, "mass", cm_user_kilograms(job, bound->mass));
    if (bound->row >= 0) {
        cm_tree_row(session, map, job, bound->row);
        cm_node_add_number(session, map, "ceiling", cm_user_amplitude(job, bound->row, bound->ceiling));
        cm_node_add_text(session, map, "ceiling_from", cm_ceiling_name(bound->source));
    }
    if (bound->bearing >= 0)
        cm_node_add_text(session, map, "bearing", job->given->rotor.bearings[bound->bearing].id);
}

static void add_alternatives(cm_session *session, cm_node *parent, const cm_job *job, const cm_trial *trial)
{
    if (trial->possible) {
        cm_node_add_text(session, parent, "alternatives", NULL);
        return;
    }
    cm_node *map = cm_node_add_map(session, parent, "alternatives");
    cm_node_add_number(session, map, "runs_of_each_state", trial->repeats > 0 ? trial->repeats : NAN);
    if (trial->angle_known) {
        cm_size_angle u = {cm_user_kilograms(job, cabs(trial->correction)),
                           cm_mass_angle_to_user(job->given, trial->plane, trial->correction)};
        cm_tree_polar(session, map, "correction", "mass", "angle", u);
    } else {
        cm_node_add_text(session, map, "correction", NULL);
    }
    cm_node_add_boolean(session, map, "correction_as_trial", trial->correction_safe);
    cm_node *list = cm_node_add_list(session, map, "pairs");
    for (int i = 0; i < trial->pair_count; i++) {
        cm_node *pair = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, pair, "plane", job->given->planes[trial->pairs[i].other].id);
        cm_node_add_boolean(session, pair, "opposed", trial->pairs[i].opposed);
        cm_node_add_number(session, pair, "lower", cm_user_kilograms(job, trial->pairs[i].lower));
        cm_node_add_number(session, pair, "upper", cm_user_kilograms(job, trial->pairs[i].upper));
    }
}

static void add_visible(cm_session *session, cm_node *map, const cm_job *job, const cm_trial *trial)
{
    cm_node_add_number(session, map, "lower",
                       trial->visible_row >= 0 ? cm_user_kilograms(job, trial->lower) : NAN);
    if (trial->visible_row >= 0)
        cm_tree_row(session, cm_node_add_map(session, map, "visible"), job, trial->visible_row);
    else
        cm_node_add_text(session, map, "visible", NULL);
    cm_node_add_boolean(session, map, "assumed_scatter", trial->assumed_scatter);
    cm_node_add_number(session, map, "unguarded_readings", trial->untold);
}

static void add_pieces(cm_session *session, cm_node *map, const cm_job *job, const cm_trial *trial)
{
    const cm_plane *plane = &job->given->planes[trial->plane];
    if (!trial->pieces) {
        cm_node_add_text(session, map, "pieces", NULL);
        return;
    }
    cm_node *list = cm_node_add_list(session, map, "pieces");
    for (int k = 0; k < plane->piece_count; k++)
        if (trial->pieces[k]) {
            cm_node *piece = cm_node_add_map(session, list, NULL);
            cm_node_add_number(session, piece, "mass", cm_user_kilograms(job, plane->pieces[k].mass));
            cm_node_add_number(session, piece, "count", trial->pieces[k]);
        }
}

static void add_trial(cm_session *session, cm_node *list, const cm_job *job, const cm_trial *trial)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "plane", job->given->planes[trial->plane].id);
    cm_node_add_boolean(session, map, "possible", trial->possible);
    cm_node_add_number(session, map, "mass", cm_user_kilograms(job, trial->mass));
    cm_node_add_number(session, map, "angle",
                       trial->possible && trial->angle_known
                           ? cm_mass_angle_to_user(job->given, trial->plane, trial->direction)
                           : NAN);
    cm_node_add_number(session, map, "angle_radius", trial->angle_radius * DEGREES);
    add_pieces(session, map, job, trial);
    cm_node_add_number(session, map, "upper", cm_user_kilograms(job, trial->upper));
    add_visible(session, map, job, trial);
    cm_node *bounds = cm_node_add_list(session, map, "bounds");
    for (int i = 0; i < trial->bound_count; i++)
        add_bound(session, bounds, job, &trial->bounds[i]);
    cm_node_add_number(session, map, "force", trial->force);
    cm_node_add_number(session, map, "rim_speed", trial->rim_speed);
    cm_node_add_number(session, map, "energy", trial->energy);
    cm_node_add_boolean(session, map, "overhung", trial->overhung);
    cm_node_add_boolean(session, map, "unloaded", trial->unloaded);
    add_alternatives(session, map, job, trial);
}

cm_node *cm_tree_trial(cm_session *session, const cm_job *job)
{
    const cm_trials *trials = job->trials;
    cm_node *tree = cm_tree_open(session, "trial", job);
    cm_node_add_boolean(session, tree, "possible", trials->possible);
    cm_node *list = cm_node_add_list(session, tree, "planes");
    for (int i = 0; i < trials->count; i++)
        add_trial(session, list, job, &trials->items[i]);
    cm_node_add_number(session, tree, "speed", trials->omega / job->given->speed_unit->factor);
    cm_node_add_number(session, tree, "overspeed", trials->overspeed / job->given->speed_unit->factor);
    cm_node_add_boolean(session, tree, "overspeed_assumed", trials->overspeed_assumed);
    cm_tree_sources(session, tree, cm_trial_sources());
    return tree;
}
