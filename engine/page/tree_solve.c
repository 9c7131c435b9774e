/* SPDX-License-Identifier: MIT */
/* The result of `solve` as a tree; docs/results.md describes the fields. */
#include "page/tree_common.h"

#include "page/drops.h"
#include "page/gains.h"
#include "page/load_range.h"
#include "model/counts.h"
#include "model/judged.h"
#include "model/overspeed.h"
#include "page/tree_proof.h"
#include "page/words.h"
#include "page/worth.h"
#include "standards/hazard.h"

#include <math.h>
#include <string.h>

static const char *status_name(cm_outcome outcome)
{
    static const char *const names[] = {
        [CM_OPTIMAL] = "optimal", [CM_INFEASIBLE] = "infeasible", [CM_UNDETERMINED] = "undetermined"};
    return names[outcome];
}

/* What the page says of mounting these masses; NULL: there are none. */
static const char *mount_word(const cm_job *job)
{
    if (job->answer->outcome != CM_OPTIMAL)
        return NULL;
    for (int i = 0; job->findings && i < job->findings->count; i++)
        if (strcmp(job->findings->items[i].code, "over-alarm") == 0)
            return "over-alarm";
    return cm_last_run_missed(job) ? "not-yet" : "yes";
}

static void add_then(cm_session *session, cm_node *map, const cm_job *job, bool optimal)
{
    const cm_answer *answer = job->answer;
    cm_objective second = job->problem->second;
    cm_node *then = cm_node_add_map(session, map, "then");
    cm_node_add_text(session, then, "minimise", cm_objective_name(second));
    cm_node_add_number(session, then, "value",
                       optimal ? cm_user_value(job, second, answer->then_value) : NAN);
    cm_node_add_number(session, then, "bound",
                       optimal ? cm_user_value(job, second, answer->then_bound) : NAN);
    cm_node_add_number(session, then, "gap", optimal ? answer->then_gap : NAN);
}

static void add_objective(cm_session *session, cm_node *tree, const cm_job *job)
{
    bool optimal = job->answer->outcome == CM_OPTIMAL;
    cm_node *map = cm_node_add_map(session, tree, "objective");
    cm_node_add_text(session, map, "minimise", cm_objective_name(job->problem->objective));
    cm_node_add_number(session, map, "value", optimal ? cm_user_objective(job, job->answer->value) : NAN);
    cm_node_add_number(session, map, "bound", optimal ? cm_user_objective(job, job->answer->bound) : NAN);
    cm_node_add_number(session, map, "gap", optimal ? job->answer->gap : NAN);
    if (job->problem->then)
        add_then(session, map, job, optimal);
}

static void add_correction(cm_session *session, cm_node *list, const cm_job *job, int plane)
{
    const cm_plane *where = &job->given->planes[plane];
    double complex x = job->answer->x[plane];
    cm_size_angle total = cm_user_mass(job, plane, x);
    bool assumed;
    double omega = cm_overspeed_of(job->given, &assumed);
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "plane", where->id);
    cm_node_add_number(session, map, "mass", total.size);
    cm_node_add_number(session, map, "angle", total.angle);
    cm_node_add_boolean(session, map, "at_cap", job->answer->at_cap[plane] && !job->problem->held[plane]);
    cm_tree_polar(session, map, "change", "mass", "angle",
                  cm_user_mass(job, plane, x - job->problem->now[plane]));
    cm_node_add_number(session, map, "spread90", cm_mass_radius(job, plane));
    cm_node_add_number(session, map, "angle_spread90",
                       total.size > 0 ? cm_mass_angle_width(job, plane) : NAN);
    cm_node_add_number(session, map, "force", cm_centrifugal_force(cabs(x), where->radius, omega));
    cm_node_add_number(session, map, "rim_speed", cm_rim_speed(where->radius, omega));
}

static void add_corrections(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "corrections");
    for (int j = 0; job->answer->outcome == CM_OPTIMAL && j < job->problem->planes; j++)
        add_correction(session, list, job, j);
}

static void add_reading(cm_session *session, cm_node *map, const char *key, const cm_job *job, int row,
                        bool told, double complex reading)
{
    if (told)
        cm_tree_polar(session, map, key, "amplitude", "phase", cm_user_reading(job, row, reading));
    else
        cm_node_add_text(session, map, key, NULL);
}

/* What the limit is held against, and the overall level by the rule of squares. */
static void add_judged(cm_session *session, cm_node *map, const cm_job *job, int row,
                       const double complex *before, const double complex *after)
{
    const cm_problem *p = job->problem;
    double rest = p->rest ? cm_user_amplitude(job, row, p->rest[row]) : NAN;
    bool as_read = p->offset && cm_sensor_of(job, row)->judge == CM_JUDGE_AS_READ;
    cm_node_add_text(session, map, "judged",
                     cm_judges_overall(p, row) ? "overall"
                     : as_read                 ? "as-read"
                                               : "compensated");
    cm_node *level = cm_node_add_map(session, map, "level");
    cm_node_add_number(session, level, "before", before ? cm_level(job, row, *before) : NAN);
    cm_node_add_number(session, level, "after", after ? cm_level(job, row, *after) : NAN);
    cm_node *overall = cm_node_add_map(session, map, "overall");
    cm_node_add_number(session, overall, "before", before ? cm_overall(job, row, *before) : NAN);
    cm_node_add_number(session, overall, "after", after ? cm_overall(job, row, *after) : NAN);
    cm_node_add_number(session, overall, "not_once_per_turn", rest);
}

static void add_prediction(cm_session *session, cm_node *list, const cm_job *job, int row)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    double complex before;
    bool told = cm_before(job, row, &before);
    bool predicted = cm_is_predicted(job, row);
    cm_tree_row(session, map, job, row);
    cm_node_add_text(session, map, "unit", cm_sensor_of(job, row)->unit->name);
    cm_node_add_number(session, map, "limit", cm_user_limit(job, row));
    add_reading(session, map, "before", job, row, told, before);
    add_reading(session, map, "after", job, row, predicted, cm_after(job, row));
    cm_node_add_number(session, map, "spread90", predicted ? cm_after_radius(job, row) : NAN);
    cm_node_add_number(session, map, "within",
                       predicted && job->spread && job->spread->within ? job->spread->within[row] : NAN);
    double complex after = cm_after(job, row);
    add_judged(session, map, job, row, told ? &before : NULL, predicted ? &after : NULL);
}

/* By speed: the readings of the sensors, then the orbits. */
void cm_tree_predictions(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "predicted");
    for (int s = 0; job->answer->outcome == CM_OPTIMAL && s < job->given->speed_count; s++) {
        for (int i = 0; i < job->problem->rows; i++)
            if (job->given->row_speed[i] == s)
                add_prediction(session, list, job, i);
        cm_tree_orbits_at(session, list, job, s);
    }
}

static void add_spread(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_spread *spread = job->spread;
    cm_node *map = cm_node_add_map(session, tree, "spread");
    cm_node_add_number(session, map, "within_all", spread ? spread->within_all : NAN);
    cm_node_add_number(session, map, "samples", spread ? spread->samples : 0);
    cm_node_add_boolean(session, map, "simulated", spread && spread->simulated);
    cm_node_add_boolean(session, map, "assumed", spread && spread->assumed);
}

static void add_conflict(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_answer *answer = job->answer;
    cm_node_add_number(session, tree, "limits_factor", answer->limits_factor);
    cm_node *list = cm_node_add_list(session, tree, "conflict");
    for (int i = 0; answer->conflict_rows && i < job->problem->rows; i++)
        if (answer->conflict_rows[i])
            cm_tree_row(session, cm_node_add_map(session, list, NULL), job, i);
    for (int k = 0; answer->conflict_pairs && k < job->problem->pair_count; k++)
        if (answer->conflict_pairs[k])
            cm_tree_orbit(session, cm_node_add_map(session, list, NULL), job, k);
    for (int j = 0; answer->conflict_planes && j < job->problem->planes; j++)
        if (answer->conflict_planes[j])
            cm_node_add_text(session, cm_node_add_map(session, list, NULL), "plane",
                             job->given->planes[j].id);
}

static void add_plane_names(cm_session *session, cm_node *map, const char *key, const cm_job *job,
                            const unsigned char *chosen, int stride)
{
    cm_node *list = cm_node_add_list(session, map, key);
    for (int j = 0; j < job->given->plane_count; j++)
        if (chosen[(size_t)j * (size_t)stride])
            cm_node_add_text(session, list, NULL, job->given->planes[j].id);
}

/* A further run: planes for trial masses; none: the reference run made once more. */
static void fill_run(cm_session *session, cm_node *map, const cm_job *job, int index)
{
    const cm_determination *d = job->determination;
    add_plane_names(session, map, "trial_on", job,
                    d->run_planes + (size_t)index * (size_t)job->given->plane_count, 1);
    cm_node_add_text(session, map, "message", cm_further_run(session, job, index));
}

static void add_runs(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "further_runs");
    for (int k = 0; k < job->determination->run_count; k++)
        fill_run(session, cm_node_add_map(session, list, NULL), job, k);
}

void cm_tree_missing(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_determination *d = job->determination;
    int rows = job->problem->rows;
    cm_node *missing = cm_node_add_list(session, tree, "undetermined");
    cm_node *run = cm_node_add_map(session, tree, "run");
    for (int i = 0; i < rows; i++) {
        if (d->determined[i] || !cm_row_is_needed(job->problem, i))
            continue;
        cm_node *map = cm_node_add_map(session, missing, NULL);
        cm_tree_row(session, map, job, i);
        add_plane_names(session, map, "planes", job, d->unknown + i, rows);
    }
    if (d->run_count > 0)
        fill_run(session, run, job, 0);
    cm_node_add(tree, "drop_rows", cm_drop_list(session, job));
    add_runs(session, tree, job);
}

static void add_trade_off(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "trade_off");
    for (int k = 0; k < job->trade_off->count; k++) {
        const cm_trade_point *point = &job->trade_off->points[k];
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_number(session, map, "largest_ratio", point->largest_ratio);
        cm_node_add_number(session, map, "total_mass", cm_user_kilograms(job, point->total_mass));
        cm_node_add_number(session, map, "bound", cm_user_kilograms(job, point->bound));
        cm_node_add_number(session, map, "gap", point->gap);
        cm_node_add_boolean(session, map, "proven", point->gap <= 1e-8);
    }
}

cm_node *cm_tree_solve(cm_session *session, const cm_job *job)
{
    cm_node *tree = cm_tree_open(session, "solve", job);
    cm_node_add_text(session, tree, "status", status_name(job->answer->outcome));
    add_objective(session, tree, job);
    add_corrections(session, tree, job);
    cm_tree_predictions(session, tree, job);
    cm_tree_condition(session, tree, job);
    cm_tree_findings(session, tree, "warnings", job);
    cm_node_add_text(session, tree, "mount", mount_word(job));
    cm_tree_runs(session, tree, job);
    cm_tree_drift(session, tree, job);
    if (job->answer->outcome == CM_OPTIMAL) {
        add_spread(session, tree, job);
        cm_tree_worth(session, tree, job);
    }
    if (job->trade_off)
        add_trade_off(session, tree, job);
    cm_tree_load_range(session, tree, job);
    cm_tree_gains(session, tree, job);
    if (job->show_proof && job->answer->outcome != CM_UNDETERMINED)
        cm_tree_proof(session, tree, job);
    if (job->answer->outcome == CM_INFEASIBLE)
        add_conflict(session, tree, job);
    if (job->answer->outcome == CM_UNDETERMINED)
        cm_tree_missing(session, tree, job);
    return tree;
}
