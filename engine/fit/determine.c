/* SPDX-License-Identifier: MIT */
/* Problem: which rows can be predicted over the masses that are allowed?
 *
 * Allowed: z = z0 + Z u (held planes and ties). Row i reads y_i + a_iᵀ z. The runs tell it iff the functionals (0 Zᵀ),
 * (0 z0ᵀ) and, when no base run read the row, (1 bᵀ) vanish on what its runs and priors leave open: appending them to
 * the fit's matrix does not raise its rank. So planes tried only together may be used together.
 *
 * For the others: the planes that the missing direction touches, and further runs that would settle all counted rows.
 * Those are sought greedily among the base state, a trial mass on one plane, and a trial on the combination that ties
 * make of it; then runs are merged or left out while everything stays settled.
 */
#include "fit/determine.h"
#include "fit/fit.h"
#include "fit/missing.h"
#include "fit/pair_spread.h"
#include "linalg/dense.h"
#include "model/counts.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#undef I

/* ---- what is asked ---- */

/* Appends the functional (head, massᵀ) in scaled lines and of unit norm, unless it is zero. */
static void ask(const double *scale, int planes, double complex head, const double complex *mass,
                cm_missing *missing)
{
    double complex *f = missing->ask + (size_t)missing->asked * (size_t)missing->lines;
    f[0] = head;
    for (int j = 0; j < planes; j++)
        f[j + 1] = mass[j] / scale[j + 1];
    double norm = cm_norm2(missing->lines, f);
    for (int l = 0; l < missing->lines && norm > 0; l++)
        f[l] /= norm;
    missing->asked += norm > 0;
}

/* z0 of the allowed masses, entries that are zero made so. */
static double complex *start_of(cm_session *session, const cm_problem *problem, const cm_affine *allowed)
{
    double complex *z0 = CM_NEW(session, problem->planes, double complex);
    for (int j = 0; j < problem->planes; j++) {
        z0[j] = allowed->origin[j] - problem->base[j];
        if (cabs(z0[j]) <= problem->mass_zero)
            z0[j] = 0;
    }
    return z0;
}

static cm_missing missing_of(cm_session *session, const cm_influence *influence, const cm_problem *problem,
                             const cm_affine *allowed, const double complex *z0, int row)
{
    int planes = influence->planes, lines = planes + 1;
    size_t cells = (size_t)lines * (size_t)lines;
    cm_missing missing = {.lines = lines, .open = influence->null_count[row]};
    missing.null = CM_NEW(session, cells, double complex);
    memcpy(missing.null, influence->null_space + (size_t)row * cells, cells * sizeof *missing.null);
    missing.ask = CM_NEW(session, (size_t)lines * (size_t)(allowed->unknowns + 2), double complex);
    for (int u = 0; u < allowed->unknowns; u++)
        ask(influence->column_scale, planes, 0, allowed->basis + (size_t)u * (size_t)planes, &missing);
    ask(influence->column_scale, planes, 0, z0, &missing);
    if (influence->base_runs[row] == 0)
        ask(influence->column_scale, planes, 1, problem->base, &missing);
    cm_find_missing(session, &missing);
    return missing;
}

static void mark_planes(const cm_missing *missing, int row, int rows, unsigned char *unknown)
{
    for (int r = 0; r < missing->rank; r++)
        for (int l = 1; l < missing->lines; l++) {
            double complex entry = 0;
            for (int d = 0; d < missing->open; d++)
                entry += missing->null[l + d * missing->lines] * missing->row_space[d + r * missing->open];
            if (cabs(entry) > CM_OPEN)
                unknown[row + (l - 1) * rows] = 1;
        }
}

/* ---- further runs ---- */

typedef struct cm_plan {
    const cm_problem *problem;
    const double *scale;
    int planes;
    int open_rows;
    cm_missing *open; /* one of each kind of counted row that is not told */
    int candidates;
    double complex *change; /* planes × candidates: masses of a candidate run on top of the base state */
    int chosen;
    double complex *run; /* planes × chosen */
} cm_plan;

/* A size and angle that no run had by chance: else a state already run could be taken for a new one. */
static double complex trial_factor(int number)
{
    return cm_pack(0.61 + 0.017 * number, 0.37 - 0.011 * number);
}

static void functional(const cm_plan *plan, const double complex *change, double complex *f)
{
    f[0] = 1;
    for (int j = 0; j < plan->planes; j++)
        f[j + 1] = (plan->problem->base[j] + change[j]) / plan->scale[j + 1];
    double norm = cm_norm2(plan->planes + 1, f);
    for (int l = 0; l <= plan->planes; l++)
        f[l] /= norm;
}

static double complex *next_candidate(cm_plan *plan)
{
    return plan->change + (size_t)plan->candidates++ * (size_t)plan->planes;
}

/* The combination that ties make of a unit mass on the plane, scaled to trial masses; false when it is that plane alone. */
static bool tied_combination(const cm_plan *plan, const cm_affine *allowed, int plane, double complex *change)
{
    double most = 0;
    int touched = 0;
    for (int j = 0; j < plan->planes; j++) {
        change[j] = 0;
        for (int u = 0; u < allowed->unknowns; u++)
            change[j] +=
                allowed->basis[j + u * plan->planes] * conj(allowed->basis[plane + u * plan->planes]);
        if (cabs(change[j]) <= CM_OPEN)
            change[j] = 0;
        touched += cabs(change[j]) > 0;
        most = fmax(most, cabs(change[j]) / plan->scale[j + 1]);
    }
    for (int j = 0; j < plan->planes && most > 0; j++)
        change[j] *= trial_factor(plane) / most;
    return touched > 1;
}

static void list_candidates(cm_session *session, const cm_affine *allowed, cm_plan *plan)
{
    plan->change = CM_NEW(session, (size_t)plan->planes * (size_t)(2 * plan->planes + 2), double complex);
    next_candidate(plan);
    for (int held = 0; held <= 1; held++)
        for (int j = 0; j < plan->planes; j++)
            if ((plan->problem->held && plan->problem->held[j]) == held)
                next_candidate(plan)[j] = trial_factor(j) * plan->scale[j + 1];
    for (int j = 0; j < plan->planes; j++)
        if (!tied_combination(plan, allowed, j, next_candidate(plan)))
            plan->candidates--;
}

static bool same_kind(const cm_missing *a, const cm_missing *b)
{
    size_t bytes = (size_t)a->lines * (size_t)a->open * sizeof *a->null;
    return a->open == b->open && a->asked == b->asked && memcmp(a->null, b->null, bytes) == 0;
}

static void keep_kind(const cm_missing *missing, cm_plan *plan)
{
    for (int k = 0; k < plan->open_rows; k++)
        if (same_kind(&plan->open[k], missing))
            return;
    plan->open[plan->open_rows++] = *missing;
}

static bool settled(const cm_missing *state, int count)
{
    for (int k = 0; k < count; k++)
        if (state[k].rank > 0)
            return false;
    return true;
}

static cm_missing *copy_states(cm_session *session, const cm_plan *plan)
{
    cm_missing *state = CM_NEW(session, plan->open_rows, cm_missing);
    for (int k = 0; k < plan->open_rows; k++)
        state[k] = cm_copy_missing(session, &plan->open[k]);
    return state;
}

static void take_run(cm_session *session, const cm_plan *plan, const double complex *change,
                     cm_missing *state)
{
    double complex *f = CM_NEW(session, plan->planes + 1, double complex);
    functional(plan, change, f);
    for (int k = 0; k < plan->open_rows; k++)
        cm_add_run(session, &state[k], f);
}

/* Things settled count first, things told second; -1 when no candidate tells anything. */
static int best_candidate(cm_session *session, const cm_plan *plan, const cm_missing *state)
{
    int best = -1;
    double most = 0;
    double complex *f = CM_NEW(session, plan->planes + 1, double complex);
    for (int c = 0; c < plan->candidates; c++) {
        double score = 0;
        functional(plan, plan->change + (size_t)c * (size_t)plan->planes, f);
        for (int k = 0; k < plan->open_rows; k++) {
            int gain = cm_gain(session, &state[k], f);
            score += gain == 2 ? 1e3 : gain;
        }
        if (score > most) {
            most = score;
            best = c;
        }
    }
    return best;
}

static void choose_runs(cm_session *session, cm_plan *plan)
{
    int most = 2 * plan->planes + 2;
    plan->run = CM_NEW(session, (size_t)plan->planes * (size_t)most, double complex);
    cm_missing *state = copy_states(session, plan);
    while (!settled(state, plan->open_rows) && plan->chosen < most) {
        int best = best_candidate(session, plan, state);
        if (best < 0)
            return;
        const double complex *change = plan->change + (size_t)best * (size_t)plan->planes;
        memcpy(plan->run + (size_t)plan->chosen++ * (size_t)plan->planes, change,
               (size_t)plan->planes * sizeof *change);
        take_run(session, plan, change, state);
    }
}

/* Do the chosen runs without number `without`, and with `instead` (may be NULL) in place of number `replaced`, settle all? */
static bool would_settle(cm_session *session, const cm_plan *plan, int without, int replaced,
                         const double complex *instead)
{
    cm_mark mark = cm_mark_of(session);
    cm_missing *state = copy_states(session, plan);
    for (int r = 0; r < plan->chosen; r++)
        if (r != without)
            take_run(session, plan, r == replaced ? instead : plan->run + (size_t)r * (size_t)plan->planes,
                     state);
    bool all = settled(state, plan->open_rows);
    cm_release_to(session, mark);
    return all;
}

static void leave_out(cm_plan *plan, int run)
{
    size_t planes = (size_t)plan->planes;
    plan->chosen--;
    memmove(plan->run + (size_t)run * planes, plan->run + (size_t)(run + 1) * planes,
            (size_t)(plan->chosen - run) * planes * sizeof *plan->run);
}

/* One run fewer: left out, or merged with an earlier one. */
static bool shorten(cm_session *session, cm_plan *plan)
{
    double complex *both = CM_NEW(session, plan->planes, double complex);
    for (int r = plan->chosen - 1; r >= 0; r--) {
        const double complex *later = plan->run + (size_t)r * (size_t)plan->planes;
        if (would_settle(session, plan, r, -1, NULL)) {
            leave_out(plan, r);
            return true;
        }
        for (int q = 0; q < r; q++) {
            double complex *earlier = plan->run + (size_t)q * (size_t)plan->planes;
            for (int j = 0; j < plan->planes; j++)
                both[j] = earlier[j] + later[j];
            if (would_settle(session, plan, r, q, both)) {
                memcpy(earlier, both, (size_t)plan->planes * sizeof *both);
                leave_out(plan, r);
                return true;
            }
        }
    }
    return false;
}

/* A run settles at most one thing of a row: no plan can be shorter than this. */
static int least_runs(const cm_plan *plan)
{
    int least = 1;
    for (int k = 0; k < plan->open_rows; k++)
        if (plan->open[k].rank > least)
            least = plan->open[k].rank;
    return least;
}

static void put_runs(cm_session *session, const cm_plan *plan, cm_determination *out)
{
    unsigned char *planes = CM_NEW(session, (size_t)plan->chosen * (size_t)plan->planes, unsigned char);
    for (int r = 0; r < plan->chosen * plan->planes; r++)
        planes[r] = cabs(plan->run[r]) > 0;
    out->run_count = plan->chosen;
    out->run_planes = planes;
}

/* ---- all together ---- */

static bool pair_is_told(const cm_pair *pair, const unsigned char *determined)
{
    return pair->weight > 0 && determined[pair->forward] &&
           (pair->backward < 0 || determined[pair->backward]);
}

static int mark_dropped(const cm_problem *problem, const unsigned char *determined, unsigned char *dropped)
{
    int left = 0;
    for (int k = 0; k < problem->pair_count; k++)
        left += pair_is_told(&problem->pairs[k], determined);
    for (int i = 0; i < problem->rows; i++) {
        dropped[i] = cm_row_is_needed(problem, i) && !determined[i];
        left += problem->weight[i] > 0 && determined[i];
    }
    if (left == 0)
        memset(dropped, 0, (size_t)problem->rows);
    return left > 0;
}

static void plan_runs(cm_session *session, const cm_affine *allowed, cm_plan *plan, cm_determination *out)
{
    if (plan->open_rows > 0) {
        list_candidates(session, allowed, plan);
        choose_runs(session, plan);
        while (plan->chosen > least_runs(plan) && shorten(session, plan))
            continue;
    }
    put_runs(session, plan, out);
}

const cm_determination *cm_find_determination(cm_session *session, const cm_influence *influence,
                                              const cm_problem *problem)
{
    int rows = problem->rows, planes = problem->planes;
    cm_determination *out = CM_NEW(session, 1, cm_determination);
    unsigned char *determined = CM_NEW(session, rows, unsigned char);
    unsigned char *unknown = CM_NEW(session, (size_t)rows * (size_t)planes, unsigned char);
    unsigned char *dropped = CM_NEW(session, rows, unsigned char);
    cm_affine allowed = cm_affine_set(session, planes, problem->tie_count, problem->ties, problem->tie_value,
                                      problem->held, problem->held_value, influence->column_scale + 1);
    const double complex *z0 = start_of(session, problem, &allowed);
    cm_plan plan = {.problem = problem,
                    .scale = influence->column_scale,
                    .planes = planes,
                    .open = CM_NEW(session, rows, cm_missing)};
    for (int i = 0; i < rows; i++) {
        determined[i] = 1;
        if (influence->null_count[i] == 0)
            continue;
        cm_missing missing = missing_of(session, influence, problem, &allowed, z0, i);
        determined[i] = missing.rank == 0;
        mark_planes(&missing, i, rows, unknown);
        if (determined[i] || !cm_row_is_needed(problem, i))
            continue;
        out->counted++;
        keep_kind(&missing, &plan);
    }
    out->size = sizeof *out;
    out->determined = determined;
    out->unknown = unknown;
    out->dropped = dropped;
    out->anything_left = mark_dropped(problem, determined, dropped);
    plan_runs(session, &allowed, &plan, out);
    return out;
}

/* Is what a unit of each direction does orthogonal to all that the runs leave open? */
static const unsigned char *told_columns(cm_session *session, const cm_influence *influence,
                                         const cm_problem *problem)
{
    int rows = problem->rows, planes = problem->planes, lines = planes + 1;
    unsigned char *told = CM_NEW(session, (size_t)rows * (size_t)problem->column_count, unsigned char);
    cm_missing asked = {.ask = CM_NEW(session, lines, double complex)};
    for (int c = 0; c < problem->column_count; c++) {
        asked.asked = 0;
        asked.lines = lines;
        ask(influence->column_scale, planes, 0, problem->columns + (size_t)c * (size_t)planes, &asked);
        for (int i = 0; i < rows; i++) {
            told[i + c * rows] = 1;
            for (int d = 0; d < influence->null_count[i]; d++) {
                double complex open = 0;
                const double complex *null =
                    influence->null_space + ((size_t)i * (size_t)lines + (size_t)d) * (size_t)lines;
                for (int l = 0; l < lines; l++)
                    open += asked.ask[l] * null[l];
                told[i + c * rows] &= cabs(open) <= CM_OPEN;
            }
        }
    }
    return told;
}

/* ---- runs used up by levels ---- */

typedef struct cm_fewer_levels {
    cm_session *session;
    cm_runs runs;
    const cm_problem *problem;
    const cm_determination *found;
} cm_fewer_levels;

static void determine_with_fewer(void *data)
{
    cm_fewer_levels *q = data;
    q->found = cm_find_determination(q->session, cm_fit_runs(q->session, &q->runs), q->problem);
}

/* Rows that are told when only `count` levels from number `first` on stay in the fit. */
static const unsigned char *told_with(cm_session *session, const cm_job *job, int first, int count)
{
    cm_fewer_levels q = {session, *job->runs, job->problem, NULL};
    q.runs.levels = count;
    q.runs.level += (size_t)first * (size_t)q.runs.runs;
    q.runs.base_level += first;
    return cm_attempt(session, determine_with_fewer, &q) ? q.found->determined : NULL;
}

/* Drift and groups each cost a run: of every row that is not told, which of them took it. */
static const unsigned char *find_taken_up(cm_session *session, const cm_job *job,
                                          const cm_determination *found)
{
    if (!job->runs || job->runs->levels == 0 || found->counted == 0)
        return NULL;
    int rows = job->problem->rows, drift = job->runs->drift_fitted != 0, groups = job->runs->levels - drift;
    const unsigned char *told[] = {
        [CM_TAKEN_BY_DRIFT] = drift ? told_with(session, job, 0, groups) : NULL,
        [CM_TAKEN_BY_GROUPS] = groups ? told_with(session, job, groups, drift) : NULL,
        [CM_TAKEN_BY_BOTH] = drift && groups ? told_with(session, job, 0, 0) : NULL,
    };
    unsigned char *taken = CM_NEW(session, rows, unsigned char);
    for (int i = 0; i < rows; i++)
        for (int by = CM_TAKEN_BY_BOTH; by >= CM_TAKEN_BY_DRIFT && !found->determined[i]; by--)
            if (told[by] && told[by][i])
                taken[i] = (unsigned char)by;
    return taken;
}

/* Planes that counted rows do not tell enough of, where the others can be used without them. Ties are left alone: without
 * one of their planes they say something else. */
static const unsigned char *find_spared(cm_session *session, const cm_influence *influence,
                                        const cm_problem *problem, const cm_determination *found)
{
    int planes = problem->planes, used = 0;
    unsigned char *spared = CM_NEW(session, planes, unsigned char);
    unsigned char *held = CM_NEW(session, planes, unsigned char);
    double complex *value = CM_NEW(session, planes, double complex);
    if (found->counted == 0 || problem->tie_count > 0)
        return NULL;
    for (int j = 0; j < planes; j++) {
        bool is_held = problem->held && problem->held[j];
        for (int i = 0; i < problem->rows; i++)
            spared[j] |= !is_held && !found->determined[i] && cm_row_is_needed(problem, i) &&
                         found->unknown[i + j * problem->rows];
        held[j] = is_held || spared[j];
        value[j] = is_held ? problem->held_value[j] : problem->now[j];
        used += !held[j];
    }
    cm_problem part = *problem;
    part.held = held;
    part.held_value = value;
    return used > 0 && cm_find_determination(session, influence, &part)->counted == 0 ? spared : NULL;
}

cm_status cm_determine(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_determine", CM_HAS_INFLUENCE | CM_HAS_PROBLEM,
                                     CM_HAS_PROBLEM | CM_HAS_DETERMINATION};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    cm_refuse_ties(session, job);
    cm_problem *problem = CM_NEW(session, 1, cm_problem);
    *problem = *job->problem;
    cm_determination *found = CM_NEW(session, 1, cm_determination);
    *found = *cm_find_determination(session, job->influence, problem);
    found->taken_up = find_taken_up(session, job, found);
    found->spared = find_spared(session, job->influence, problem, found);
    problem->determined = found->determined;
    problem->coefficient_determined = job->influence->determined;
    problem->column_determined = told_columns(session, job->influence, problem);
    cm_put_pair_spreads(session, job->influence, problem);
    job->determination = found;
    job->problem = problem;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
