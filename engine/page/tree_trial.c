/* SPDX-License-Identifier: MIT */
/* The result of `trial` as a tree. Masses and angles as the case counts them; force in N, speed in m/s,
 * energy in J. */
#include "page/start_common.h"
#include "base/constants.h"
#include "page/tree_common.h"

#include <math.h>

static const double DEGREES = 180 / CM_PI;

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
    if (bound->plane >= 0)
        cm_node_add_text(session, map, "plane", job->given->planes[bound->plane].id);
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

static void add_pieces(cm_session *session, cm_node *map, const cm_job *job, const cm_trial_part *part)
{
    const cm_plane *plane = &job->given->planes[part->plane];
    if (!part->pieces) {
        cm_node_add_text(session, map, "pieces", NULL);
        return;
    }
    cm_node *list = cm_node_add_list(session, map, "pieces");
    for (int k = 0; k < plane->piece_count; k++)
        if (part->pieces[k]) {
            cm_node *piece = cm_node_add_map(session, list, NULL);
            cm_node_add_number(session, piece, "mass", cm_user_kilograms(job, plane->pieces[k].mass));
            cm_node_add_number(session, piece, "count", part->pieces[k]);
        }
}

/* The hardest of all parts, one by one. */
static cm_trial_part hardest(const cm_trial *trial)
{
    cm_trial_part most = trial->parts[0];
    for (int k = 1; k < trial->part_count; k++) {
        const cm_trial_part *part = &trial->parts[k];
        most.force = isnan(part->force) || part->force > most.force ? part->force : most.force;
        most.rim_speed =
            isnan(part->rim_speed) || part->rim_speed > most.rim_speed ? part->rim_speed : most.rim_speed;
        most.energy = isnan(part->energy) || part->energy > most.energy ? part->energy : most.energy;
        most.overhung |= part->overhung;
        most.unloaded |= part->unloaded;
    }
    return most;
}

static void add_hazard(cm_session *session, cm_node *map, const cm_trial_part *part)
{
    cm_node_add_number(session, map, "force", part->force);
    cm_node_add_number(session, map, "rim_speed", part->rim_speed);
    cm_node_add_number(session, map, "energy", part->energy);
    cm_node_add_boolean(session, map, "overhung", part->overhung);
    cm_node_add_boolean(session, map, "unloaded", part->unloaded);
}

/* What each plane of a set carries; a plane by itself: its pieces. */
static void add_parts(cm_session *session, cm_node *parent, const cm_job *job, const cm_trial *trial)
{
    if (trial->set < 0) {
        add_pieces(session, parent, job, &trial->parts[0]);
        cm_node_add_text(session, parent, "masses", NULL);
        return;
    }
    cm_node_add_text(session, parent, "pieces", NULL);
    cm_node *list = cm_node_add_list(session, parent, "masses");
    for (int k = 0; k < trial->part_count; k++) {
        const cm_trial_part *part = &trial->parts[k];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "plane", job->given->planes[part->plane].id);
        cm_node_add_number(session, map, "mass", trial->possible ? cm_user_kilograms(job, part->mass) : NAN);
        cm_node_add_number(
            session, map, "angle",
            trial->possible && trial->angle_known
                ? cm_mass_angle_to_user(job->given, part->plane, trial->direction * part->share)
                : NAN);
        add_pieces(session, map, job, part);
        add_hazard(session, map, part);
    }
}

static void add_trial(cm_session *session, cm_node *list, const cm_job *job, const cm_trial *trial)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "plane",
                     trial->set < 0 ? job->given->planes[trial->plane].id : job->given->sets[trial->set].id);
    cm_node_add_boolean(session, map, "possible", trial->possible);
    cm_node_add_number(session, map, "mass", cm_user_kilograms(job, trial->mass));
    cm_node_add_number(session, map, "angle",
                       trial->possible && trial->angle_known
                           ? cm_mass_angle_to_user(job->given, trial->plane, trial->direction)
                           : NAN);
    cm_node_add_number(session, map, "angle_radius", trial->angle_radius * DEGREES);
    add_parts(session, map, job, trial);
    cm_node_add_number(session, map, "upper", cm_user_kilograms(job, trial->upper));
    add_visible(session, map, job, trial);
    cm_node *bounds = cm_node_add_list(session, map, "bounds");
    for (int i = 0; i < trial->bound_count; i++)
        add_bound(session, bounds, job, &trial->bounds[i]);
    const cm_trial_part most = hardest(trial);
    add_hazard(session, map, &most);
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
