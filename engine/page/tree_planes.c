/* SPDX-License-Identifier: MIT */
/* The result of `planes` as a tree. */
#include "page/tree_common.h"
#include "page/phrases.h"

#include "countermass/planes.h"

#include <math.h>

static const char *outcome_name(cm_outcome outcome)
{
    static const char *const names[] = {
        [CM_OPTIMAL] = "optimal", [CM_INFEASIBLE] = "infeasible", [CM_UNDETERMINED] = "undetermined"};
    return names[outcome];
}

static void add_names(cm_session *session, cm_node *map, const char *key, const cm_job *job,
                      const unsigned char *in)
{
    cm_node *list = cm_node_add_list(session, map, key);
    for (int j = 0; in && j < job->given->plane_count + job->given->set_count; j++)
        if (in[j])
            cm_node_add_text(session, list, NULL, cm_part_id(job->given, j));
}

static void add_set(cm_session *session, cm_node *list, const cm_job *job, const cm_plane_set *set)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    add_names(session, map, "planes", job, set->in);
    cm_node_add_text(session, map, "status", set->failed ? "failed" : outcome_name(set->outcome));
    cm_node_add_number(session, map, "value", cm_user_objective(job, set->value));
    cm_node_add_number(session, map, "bound", cm_user_objective(job, set->bound));
    cm_node_add_number(session, map, "largest_ratio", set->largest_ratio);
    cm_node_add_number(session, map, "total_mass", cm_user_kilograms(job, set->total_mass));
    cm_node_add_number(session, map, "condition", set->condition);
    cm_node_add_number(session, map, "expected", set->expected);
    cm_node_add_number(session, map, "trial_starts", set->starts < 0 ? (double)NAN : (double)set->starts);
    cm_node_add_boolean(session, map, "pareto", set->pareto);
    cm_node_add_boolean(session, map, "proven", set->proven);
}

static void add_shares(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "redundancy");
    for (int k = 0; k < job->comparison->share_count; k++) {
        const cm_plane_share *share = &job->comparison->shares[k];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "plane", cm_part_id(job->given, share->plane));
        cm_node_add_number(session, map, "own", share->own);
        add_names(session, map, "nearly_made_by", job, share->like);
        cm_node_add_number(session, map, "left_by_them", share->like_own);
    }
}

static void add_left_out(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "without");
    for (int k = 0; k < job->comparison->left_out_count; k++) {
        const cm_left_out *out = &job->comparison->left_out[k];
        cm_node *map = cm_node_add_map(session, list, NULL);
        if (out->sensor >= 0)
            cm_node_add_text(session, map, "sensor", job->given->sensors[out->sensor].id);
        else
            cm_node_add_text(session, map, "speed", job->given->speeds[out->speed].id);
        cm_node_add_text(session, map, "status", outcome_name(out->outcome));
        cm_node_add_number(session, map, "value", cm_user_objective(job, out->value));
        cm_node_add_number(session, map, "largest_ratio", out->largest_ratio);
        cm_node_add_number(session, map, "condition", out->condition);
    }
}

static void add_part(cm_session *session, cm_node *list, const cm_job *job, const cm_turned_part *part)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "plane", job->given->planes[part->plane].id);
    cm_node_add_number(session, map, "turns_by", 360.0 / part->positions);
    cm_node_add_text(session, map, "wanting", part->why_not);
    if (part->told)
        cm_tree_polar(session, map, "unbalance", "mass", "angle",
                      cm_user_mass(job, part->plane, *part->unbalance));
    else
        cm_node_add_text(session, map, "unbalance", NULL);
}

static void add_position(cm_session *session, cm_node *list, const cm_job *job,
                         const cm_turned_position *position)
{
    const cm_plane_comparison *found = job->comparison;
    const cm_plane_set *set = &position->answer;
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node *turned = cm_node_add_map(session, map, "turned");
    for (int p = 0; p < found->part_count; p++)
        cm_node_add_number(session, turned, job->given->planes[found->parts[p].plane].id,
                           cm_turned_degrees(job, found->parts[p].positions, position->steps[p]));
    cm_node_add_text(session, map, "status", set->failed ? "failed" : outcome_name(set->outcome));
    cm_node_add_number(session, map, "value", cm_user_objective(job, set->value));
    cm_node_add_number(session, map, "bound", cm_user_objective(job, set->bound));
    cm_node_add_number(session, map, "largest_ratio", set->largest_ratio);
    cm_node_add_number(session, map, "total_mass", cm_user_kilograms(job, set->total_mass));
    cm_node *masses = cm_node_add_list(session, map, "corrections");
    for (int j = 0; set->x && j < found->planes; j++) {
        cm_size_angle mass = cm_user_mass(job, j, set->x[j]);
        cm_node *entry = cm_node_add_map(session, masses, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[j].id);
        cm_node_add_number(session, entry, "mass", mass.size);
        cm_node_add_number(session, entry, "angle", mass.angle);
    }
}

static void add_turned(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (found->part_count == 0)
        return;
    cm_node *map = cm_node_add_map(session, tree, "turned");
    cm_node *parts = cm_node_add_list(session, map, "parts");
    for (int p = 0; p < found->part_count; p++)
        add_part(session, parts, job, &found->parts[p]);
    cm_node_add_number(session, map, "readings", found->turned_readings);
    cm_node_add_number(session, map, "misfit", found->turned_misfit);
    cm_node *positions = cm_node_add_list(session, map, "positions");
    for (int n = 0; n < found->position_count; n++)
        add_position(session, positions, job, &found->positions[n]);
}

cm_node *cm_tree_planes(cm_session *session, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    cm_node *tree = cm_tree_open(session, "planes", job);
    cm_node_add_text(session, tree, "minimise", cm_objective_name(job->problem->objective));
    cm_node_add_number(session, tree, "listed", found->listed);
    cm_node_add_number(session, tree, "total", found->total);
    cm_node_add_boolean(session, tree, "stopped", found->stopped);
    cm_node *list = cm_node_add_list(session, tree, "sets");
    for (int k = 0; k < found->listed; k++)
        add_set(session, list, job, &found->sets[k]);
    cm_node_add_number(session, tree, "value_with_all", cm_user_objective(job, found->value_all));
    add_shares(session, tree, job);
    add_left_out(session, tree, job);
    add_turned(session, tree, job);
    return tree;
}
