/* SPDX-License-Identifier: MIT */
/* The result of `place` as a tree; docs/results.md describes the fields. */
#include "page/tree_common.h"

#include "countermass/place.h"

#include <math.h>

static const char *status_name(const cm_placement *placement)
{
    static const char *const names[] = {[CM_PLACED] = "optimal",
                                        [CM_NOTHING_FITS] = "nothing-fits",
                                        [CM_NOT_WITHIN] = "infeasible",
                                        [CM_NOT_FOUND] = "not-found",
                                        [CM_PLACE_UNDETERMINED] = "undetermined"};
    return placement->outcome == CM_PLACED && !placement->proven ? "best-found" : names[placement->outcome];
}

static const char *kind_name(cm_fit_kind kind)
{
    static const char *const names[] = {[CM_FIT_ADD] = "add",
                                        [CM_FIT_TAKE_OUT] = "take-out",
                                        [CM_FIT_EXCHANGE] = "exchange",
                                        [CM_FIT_DRILL] = "drill"};
    return names[kind];
}

static void add_size(cm_session *session, cm_node *map, const cm_job *job, const char *key, double metres)
{
    cm_node_add_number(session, map, key, metres / job->given->length_unit->factor);
}

static void add_pieces(cm_session *session, cm_node *map, const cm_job *job, const cm_fit_entry *entry)
{
    cm_node *list = cm_node_add_list(session, map, "pieces");
    for (int i = 0; i < entry->piece_count; i++) {
        const cm_fit_piece *piece = &entry->pieces[i];
        cm_node *one = cm_node_add_map(session, list, NULL);
        cm_node_add_number(session, one, "mass", cm_user_kilograms(job, piece->mass));
        cm_node_add_number(session, one, "count", piece->count);
        if (piece->replaces > 0)
            cm_node_add_number(session, one, "replaces", cm_user_kilograms(job, piece->replaces));
    }
}

static void add_entry(cm_session *session, cm_node *list, const cm_job *job, const cm_fit_entry *entry)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "plane", job->given->planes[entry->plane].id);
    if (entry->site < 0)
        cm_node_add_text(session, map, "site", NULL);
    else
        cm_node_add_number(session, map, "site", entry->number);
    cm_node_add_number(session, map, "angle",
                       cm_mass_angle_to_user(job->given, entry->plane, entry->direction));
    cm_node_add_number(session, map, "mass", cm_user_kilograms(job, entry->mass));
    add_pieces(session, map, job, entry);
    cm_node_add_text(session, map, "action", kind_name(entry->kind));
    cm_node_add_number(session, map, "screw", cm_user_kilograms(job, entry->screw));
    add_size(session, map, job, "radius", entry->radius);
    cm_tree_polar(session, map, "reduced", "mass", "angle", cm_user_mass(job, entry->plane, entry->reduced));
    cm_tree_polar(session, map, "running_total", "mass", "angle",
                  cm_user_mass(job, entry->plane, entry->running));
    cm_node_add_number(session, map, "piece_force", entry->piece_force);
    cm_node_add_number(session, map, "force", entry->force);
    cm_node_add_number(session, map, "rim_speed", entry->rim_speed);
    if (entry->kind == CM_FIT_DRILL) {
        add_size(session, map, job, "depth", entry->depth);
        add_size(session, map, job, "full_depth", entry->full_depth);
    }
}

static void add_entries(cm_session *session, cm_node *parent, const cm_job *job, const cm_fitting *fitting)
{
    cm_node *list = cm_node_add_list(session, parent, "placements");
    for (int i = 0; i < fitting->entry_count; i++)
        add_entry(session, list, job, &fitting->entries[i]);
}

static void add_objective(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_placement *placement = job->placement;
    cm_node *map = cm_node_add_map(session, tree, "objective");
    cm_node_add_text(session, map, "minimise", cm_objective_name(job->problem->objective));
    cm_node_add_number(session, map, "value", placement->value);
    cm_node_add_number(session, map, "bound", placement->bound);
    cm_node_add_number(session, map, "gap", placement->gap);
}

/* Total masses of all planes with these pieces. */
static void add_totals(cm_session *session, cm_node *tree, const cm_job *job, const cm_complex *x)
{
    cm_node *list = cm_node_add_list(session, tree, "totals");
    for (int j = 0; x && j < job->problem->planes; j++) {
        cm_size_angle total = cm_user_mass(job, j, x[j]);
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "plane", job->given->planes[j].id);
        cm_node_add_number(session, map, "mass", total.size);
        cm_node_add_number(session, map, "angle", total.angle);
        if (job->placement->continuous_x)
            cm_tree_polar(session, map, "continuous", "mass", "angle",
                          cm_user_mass(job, j, job->placement->continuous_x[j]));
    }
}

static void add_slips(cm_session *session, cm_node *tree, const cm_job *job)
{
    static const char *const names[] = {
        [CM_SLIP_POSITION] = "one-position", [CM_SLIP_ANGLE] = "2-degrees", [CM_SLIP_MASS] = "2-percent"};
    cm_node *list = cm_node_add_list(session, tree, "fitting_tolerance");
    for (int i = 0; job->placement->slips && i < CM_SLIP_COUNT; i++) {
        const cm_slip *slip = &job->placement->slips[i];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "slip", names[slip->kind]);
        cm_node_add_text(session, map, "worst_plane",
                         slip->plane < 0 ? NULL : job->given->planes[slip->plane].id);
        cm_node_add_number(session, map, "largest_ratio", slip->ratio);
        cm_node_add_number(session, map, "all_planes", slip->all);
    }
}

static void add_offer(cm_session *session, cm_node *map, const cm_job *job, const cm_fitting *offer)
{
    cm_node_add_number(session, map, "value", offer->value);
    cm_node_add_number(session, map, "largest_ratio", offer->largest_ratio);
    cm_node_add_number(session, map, "pieces", offer->pieces);
    add_entries(session, map, job, offer);
}

static void add_offers(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_placement *placement = job->placement;
    cm_node *list = cm_node_add_list(session, tree, "offers");
    for (int i = 0; i < placement->offer_count; i++) {
        add_offer(session, cm_node_add_map(session, list, NULL), job, &placement->offers[i]);
    }
    cm_node_add_boolean(session, tree, "offers_proven", placement->offers_proven);
    if (placement->fewer.x)
        add_offer(session, cm_node_add_map(session, tree, "fewer_pieces"), job, &placement->fewer);
    else
        cm_node_add_text(session, tree, "fewer_pieces", NULL);
}

static void add_search(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_placement *placement = job->placement;
    cm_node *map = cm_node_add_map(session, tree, "search");
    cm_node_add_boolean(session, map, "proven", placement->proven);
    cm_node_add_boolean(session, map, "timed_out", placement->timed_out);
    cm_node_add_boolean(session, map, "stopped", placement->stopped);
    cm_node_add_number(session, map, "looked_at", placement->looked_at);
    cm_node *list = cm_node_add_list(session, map, "planes");
    for (int j = 0; placement->sums && j < job->problem->planes; j++) {
        cm_node *one = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, one, "plane", job->given->planes[j].id);
        cm_node_add_number(session, one, "different_masses", placement->sums[j]);
        cm_node_add_boolean(session, one, "near_optimum_only", placement->windowed[j]);
        cm_node_add_boolean(session, one, "sampled", placement->partial[j]);
    }
}

static void add_cost(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_placement *placement = job->placement;
    cm_node *map = cm_node_add_map(session, tree, "rounding");
    cm_node_add_number(session, map, "continuous_value", placement->continuous);
    cm_node_add_number(session, map, "value_now", placement->before);
    cm_node_add_number(session, map, "largest_ratio", placement->best.largest_ratio);
    cm_node_add_number(session, map, "largest_ratio_now", placement->before_ratio);
}

/* ---- splitting and merging ---- */

static void add_plane_name(cm_session *session, cm_node *map, const cm_job *job, int plane)
{
    cm_node_add_text(session, map, "plane", plane < 0 ? NULL : job->given->planes[plane].id);
}

static const char *reason_name(cm_split_reason reason)
{
    static const char *const names[] = {[CM_SPLIT_POSSIBLE] = NULL,
                                        [CM_SPLIT_ONE_LINE] = "one-line",
                                        [CM_SPLIT_NO_FREE] = "no-free-positions",
                                        [CM_SPLIT_NO_WAY] = "nothing-to-add-or-drill"};
    return names[reason];
}

static void add_split(cm_session *session, cm_node *list, const cm_job *job, const cm_split *split)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_size_angle mass = cm_user_mass(job, split->plane, split->mass);
    add_plane_name(session, map, job, split->plane);
    cm_node_add_number(session, map, "mass", mass.size);
    cm_node_add_number(session, map, "angle", mass.angle);
    cm_node_add_boolean(session, map, "possible", split->possible);
    cm_node_add_text(session, map, "reason", reason_name(split->reason));
    cm_node *parts = cm_node_add_list(session, map, "parts");
    for (int i = 0; i < split->parts; i++) {
        cm_node *part = cm_node_add_map(session, parts, NULL);
        if (split->positions)
            cm_node_add_number(session, part, "site", split->number[i]);
        else
            cm_node_add_text(session, part, "site", NULL);
        cm_node_add_number(session, part, "angle",
                           cm_mass_angle_to_user(job->given, split->plane, split->direction[i]));
        cm_node_add_number(session, part, "mass", cm_user_kilograms(job, split->part[i]));
        cm_node_add_text(session, part, "action", split->part[i] < 0 ? "take-away" : "add");
    }
}

static void add_merge(cm_session *session, cm_node *list, const cm_job *job, const cm_merge *merge)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_size_angle sum = cm_user_mass(job, merge->plane, merge->sum);
    add_plane_name(session, map, job, merge->plane);
    cm_node_add_boolean(session, map, "on_the_rotor", merge->old);
    cm_node *masses = cm_node_add_list(session, map, "masses");
    for (int i = 0; i < merge->count; i++) {
        cm_size_angle one = cm_user_mass(job, merge->plane, merge->masses[i]);
        cm_node *part = cm_node_add_map(session, masses, NULL);
        cm_node_add_number(session, part, "mass", one.size);
        cm_node_add_number(session, part, "angle", one.angle);
    }
    cm_node_add_number(session, map, "mass", sum.size);
    cm_node_add_number(session, map, "angle", sum.angle);
}

static void add_hand_work(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *splits = cm_node_add_list(session, tree, "splits"),
            *merges = cm_node_add_list(session, tree, "merges");
    for (int i = 0; job->hand_work && i < job->hand_work->split_count; i++)
        add_split(session, splits, job, &job->hand_work->splits[i]);
    for (int i = 0; job->hand_work && i < job->hand_work->merge_count; i++)
        add_merge(session, merges, job, &job->hand_work->merges[i]);
}

cm_node *cm_tree_place(cm_session *session, const cm_job *job)
{
    const cm_placement *placement = job->placement;
    cm_node *tree = cm_tree_open(session, "place", job);
    cm_node_add_text(session, tree, "status", status_name(placement));
    add_entries(session, tree, job, &placement->best);
    add_objective(session, tree, job);
    if (placement->outcome == CM_PLACE_UNDETERMINED) {
        cm_node_add_list(session, tree, "predicted");
        cm_tree_missing(session, tree, job);
        return tree;
    }
    cm_tree_predictions(session, tree, job);
    add_totals(session, tree, job, placement->best.x);
    add_cost(session, tree, job);
    add_slips(session, tree, job);
    add_offers(session, tree, job);
    add_search(session, tree, job);
    add_hand_work(session, tree, job);
    cm_tree_findings(session, tree, "warnings", job);
    return tree;
}
