/* SPDX-License-Identifier: MIT */
/* Problem: how far may the prescribed masses be from those that the true influence would prescribe, when caps bind or
 * the objective is not a sum of squares, so that the masses are no smooth function of the readings?
 *
 * Method: the job is repeated in numbers. Every reading gets an error with the scatter of its row, every earlier
 * coefficient one with its uncertainty (its shared part in common for the rows of one plane and speed), the influence
 * is fitted again and the problem solved again. With x the answer and x_k that of repetition k,
 *
 *     std²  = mean |x_k - x|²        size² = mean (|x_k| - |x|)²        angle² = mean (arg x_k / x)²
 *
 * (parametric bootstrap; Efron and Tibshirani, An Introduction to the Bootstrap, 1993, value from memory). The seed is
 * fixed, so the same case gives the same figures. With K repetitions a figure is itself uncertain by 1/sqrt(2K).
 */
#include "spread/simulate.h"
#include "fit/fit.h"
#include "fit/pair_spread.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "optimise/solve.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#undef I

enum { SEED = 20, SAMPLES = 200 };

/* One job that is repeated over and over. */
typedef struct cm_repetition {
    cm_session *session;
    const cm_job *job;
    cm_random random;
    cm_runs runs; /* the job's, with readings and known of our own */
    double complex *readings;
    double *delta; /* runs: errors of the angles that their phases were turned back by */
    cm_known *known;
    double complex *shared; /* blocks × planes: errors in common */
    double complex *x;      /* planes: answer of the last repetition */
    bool answered;
} cm_repetition;

typedef struct cm_sums {
    int count;
    double *square, *size, *angle; /* planes */
} cm_sums;

bool cm_needs_simulation(const cm_job *job)
{
    const cm_answer *answer = job->answer;
    if (!answer || answer->outcome != CM_OPTIMAL || answer->rank < answer->unknowns || !job->spread)
        return false;
    for (int j = 0; j < job->problem->planes; j++)
        if (!job->problem->held[j] && isnan(job->spread->mass_std[j]))
            return true;
    return false;
}

static int block_count(const cm_runs *runs)
{
    int count = 0;
    for (int i = 0; i < runs->rows; i++)
        count = runs->block[i] >= count ? runs->block[i] + 1 : count;
    return count;
}

static cm_repetition start(cm_session *session, const cm_job *job)
{
    const cm_runs *runs = job->runs;
    size_t cells = (size_t)runs->rows * (size_t)runs->runs;
    cm_repetition r = {.session = session, .job = job, .random = cm_seed(SEED), .runs = *runs};
    r.readings = CM_NEW(session, cells, double complex);
    r.delta = CM_NEW(session, runs->runs, double);
    r.known = CM_NEW(session, runs->known_count, cm_known);
    r.shared =
        CM_NEW(session, (size_t)block_count(runs) * (size_t)(runs->planes + runs->set_count), double complex);
    r.x = CM_NEW(session, runs->planes, double complex);
    if (runs->known_count)
        memcpy(r.known, runs->known, (size_t)runs->known_count * sizeof *r.known);
    r.runs.readings = r.readings;
    r.runs.known = r.known;
    r.runs.repeatability = job->influence->scatter; /* the scatter in use, not estimated anew */
    return r;
}

static void disturb_readings(cm_repetition *r)
{
    const cm_runs *given = r->job->runs;
    for (int k = 0; k < given->runs; k++)
        for (int i = 0; i < given->rows; i++) {
            int at = i + k * given->rows;
            double weight = given->reading_weight ? given->reading_weight[at] : 1;
            if (given->repeats[at] > 0)
                r->readings[at] = given->readings[at] +
                                  r->job->influence->scatter[i] / sqrt(weight) * cm_normal(&r->random);
        }
}

/* Angles that phases were turned back by are found from the disturbed readings: v e^(-i delta) = v - i v delta. */
static void disturb_angles(cm_repetition *r)
{
    const cm_runs *given = r->job->runs;
    size_t cells = (size_t)given->rows * (size_t)given->runs;
    for (int k = 0; given->moved && k < given->runs; k++) {
        if (given->moved_of[k] < 0)
            continue;
        const cm_complex *gain = given->moved_gain + cells * (size_t)given->moved_of[k];
        double delta = 0;
        for (size_t at = 0; at < cells; at++)
            if (given->repeats[at] > 0)
                delta += cimag(conj(gain[at]) * (r->readings[at] - given->readings[at]));
        r->delta[k] = delta;
    }
    for (int k = 0; given->moved && k < given->runs; k++)
        for (int i = 0; i < given->rows; i++)
            r->readings[i + k * given->rows] -=
                cm_pack(0, r->delta[k]) * given->moved_reading[i + k * given->rows];
}

/* Planes, then sets. */
static int key_of(const cm_runs *runs, const cm_known *known)
{
    return known->set > 0 ? runs->planes + known->set - 1 : known->plane;
}

/* e = u (sqrt(1 - c) h + sqrt(c) (a/|a|) g): g in common for the rows of one plane and block. */
static void disturb_known(cm_repetition *r)
{
    const cm_runs *given = r->job->runs;
    int blocks = block_count(given);
    for (int b = 0; b < blocks * (given->planes + given->set_count); b++)
        r->shared[b] = cm_normal(&r->random);
    for (int k = 0; k < given->known_count; k++) {
        const cm_known *known = &given->known[k];
        double size = cabs(known->value), common = size > 0 ? known->common : 0;
        double complex turn = size > 0 ? known->value / size : 0;
        double complex together = r->shared[given->block[known->row] + key_of(given, known) * blocks];
        r->known[k].value = known->value + known->uncertainty * (sqrt(1 - common) * cm_normal(&r->random) +
                                                                 sqrt(common) * turn * together);
    }
}

/* With the slow roll that rows judged as read keep. */
static const cm_complex *judged_readings(cm_repetition *r, const cm_influence *influence)
{
    double complex *y = CM_NEW(r->session, influence->rows, double complex);
    for (int i = 0; i < influence->rows; i++)
        y[i] = influence->y[i] + r->job->problem->offset[i];
    return y;
}

/* Fits and solves the disturbed job. */
static void repeat(void *data)
{
    cm_repetition *r = data;
    const cm_influence *influence = cm_fit_runs(r->session, &r->runs);
    cm_problem problem = *r->job->problem;
    problem.y = r->job->problem->offset ? judged_readings(r, influence) : influence->y;
    problem.a = influence->a;
    problem.spread = problem.spread ? influence->factor : NULL;
    if (problem.spread && problem.pair_count > 0)
        cm_put_pair_spreads(r->session, influence, &problem);
    const cm_answer *answer = cm_solve_asked(r->session, &problem);
    r->answered = answer->outcome == CM_OPTIMAL;
    if (r->answered)
        memcpy(r->x, answer->x, (size_t)problem.planes * sizeof *r->x);
}

static void add(const cm_repetition *r, cm_sums *sums)
{
    sums->count++;
    for (int j = 0; j < r->runs.planes; j++) {
        double complex x = r->job->answer->x[j];
        double size = cabs(r->x[j]) - cabs(x), angle = carg(r->x[j] * conj(x));
        sums->square[j] += cm_abs2(r->x[j] - x);
        sums->size[j] += size * size;
        sums->angle[j] += angle * angle;
    }
}

static cm_sums repeat_all(cm_session *session, const cm_job *job, int samples)
{
    cm_repetition r = start(session, job);
    cm_sums sums = {.square = CM_NEW(session, r.runs.planes, double),
                    .size = CM_NEW(session, r.runs.planes, double),
                    .angle = CM_NEW(session, r.runs.planes, double)};
    for (int k = 0; k < samples; k++) {
        cm_mark mark = cm_mark_of(session);
        cm_ask_stop(session);
        disturb_readings(&r);
        disturb_angles(&r);
        disturb_known(&r);
        r.answered = false;
        if (cm_attempt(session, repeat, &r) && r.answered)
            add(&r, &sums);
        cm_release_to(session, mark);
    }
    return sums;
}

/* Radii rest on the fewest degrees of freedom behind a counted reading. */
static double radius_factor(const cm_job *job)
{
    double dof = INFINITY;
    for (int i = 0; i < job->problem->rows; i++)
        if (job->problem->weight[i] > 0 && job->influence->dof[i] > 0)
            dof = fmin(dof, job->influence->dof[i]);
    return cm_radius_factor(0.1, dof);
}

const cm_spread *cm_simulate_masses(cm_session *session, const cm_job *job, int samples)
{
    int planes = job->problem->planes;
    cm_spread *spread = CM_NEW(session, 1, cm_spread);
    *spread = *job->spread;
    cm_sums sums = repeat_all(session, job, samples);
    if (2 * sums.count < samples)
        return spread;
    double *factor = CM_NEW(session, planes, double);
    for (int j = 0; j < planes; j++) {
        bool some = cabs(job->answer->x[j]) > job->problem->mass_zero;
        factor[j] = radius_factor(job);
        sums.square[j] = sqrt(sums.square[j] / sums.count);
        sums.size[j] = some ? sqrt(sums.size[j] / sums.count) : NAN;
        sums.angle[j] = some ? sqrt(sums.angle[j] / sums.count) : NAN;
    }
    spread->simulated = sums.count;
    spread->mass_std = sums.square;
    spread->size_std = sums.size;
    spread->angle_std = sums.angle;
    spread->mass_factor = factor;
    return spread;
}

cm_status cm_spread_by_repetition(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {
        "cm_spread_by_repetition",
        CM_HAS_RUNS | CM_HAS_INFLUENCE | CM_HAS_PROBLEM | CM_HAS_ANSWER | CM_HAS_SPREAD, CM_HAS_SPREAD};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    if (cm_needs_simulation(job))
        job->spread = cm_simulate_masses(session, job, SAMPLES);
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
