/* SPDX-License-Identifier: MIT */
/*
 * Question: do the readings drift from run to run, and what would the answer be if that were judged the other way?
 *
 * With drift in the fit, v_kt = … + q_k e, q_k from -1 at the run farthest back to 0 at the last one, each row i tells e_i, what
 * its reading changed by over the job, with standard deviation s_i. If nothing drifts,
 *
 *     Q = sum |e_i|²/s_i²    over the n rows that tell it
 *
 * is a sum of n squared standard errors, whose tail tells how likely scatter alone makes that much. The answer of the other
 * setting is found by fitting and solving once more. Rows that share coefficients share e and count once.
 */
#include "fit/determine.h"
#include "fit/fit.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "optimise/solve.h"

#include "countermass/job.h"

#include <math.h>
#include <string.h>

#undef I

typedef struct cm_question_of_drift {
    cm_session *session;
    const cm_job *job;
    cm_runs other; /* the runs with the other setting */
    cm_drift_report *out;
    double complex *x; /* planes */
} cm_question_of_drift;

/* The runs with `drift` as their last level, or without it. */
static cm_runs with_level(cm_session *session, const cm_runs *runs, bool drift)
{
    cm_runs out = *runs;
    out.levels = runs->levels + (drift ? 1 : -1);
    double *level = CM_NEW(session, (size_t)out.levels * (size_t)runs->runs, double);
    int kept = drift ? runs->levels : out.levels;
    if (kept > 0)
        memcpy(level, runs->level, (size_t)kept * (size_t)runs->runs * sizeof *level);
    for (int k = 0; drift && k < runs->runs; k++)
        level[k + kept * runs->runs] = runs->drift_level[k];
    out.level = level;
    out.base_level = CM_NEW(session, out.levels, double); /* levels count from the last run */
    out.drift_fitted = drift;
    return out;
}

static void put_estimates(cm_session *session, const cm_runs *with, cm_drift_report *out)
{
    int rows = with->rows;
    double complex *change = CM_NEW(session, rows, double complex);
    double *std = CM_NEW(session, rows, double);
    unsigned char *told = CM_NEW(session, rows, unsigned char);
    const cm_influence *fit = cm_fit_level(session, with, with->levels - 1, change, std, told);
    double sum = 0, most = 0, dof = INFINITY;
    int count = 0;
    out->largest = -1;
    for (int i = 0; i < rows; i++) {
        if (!told[i])
            continue;
        out->told++;
        if (with->shares && with->shares[i] != i)
            continue;
        double apart = cabs(change[i]) / std[i];
        sum += apart * apart;
        count++;
        dof = fmin(dof, fit->dof[i] > 0 ? fit->dof[i] : INFINITY);
        out->assumed |= fit->scatter_source[i] == CM_SCATTER_ASSUMED;
        if (out->largest < 0 || apart > most) {
            most = apart;
            out->largest = i;
        }
    }
    out->change = change;
    out->std = std;
    out->row_told = told;
    out->deviations = count ? sqrt(sum / count) : NAN;
    out->chance = count ? cm_sum_tail(count, sum, dof) : NAN;
}

/* Fits and solves with the other setting. */
static void answer_otherwise(void *data)
{
    cm_question_of_drift *q = data;
    const cm_problem *own = q->job->problem;
    const cm_influence *influence = cm_fit_runs(q->session, &q->other);
    double complex *y = CM_NEW(q->session, own->rows, double complex);
    for (int i = 0; i < own->rows; i++)
        y[i] = influence->y[i] + (own->offset ? own->offset[i] : 0);
    cm_problem problem = *own;
    problem.y = y;
    problem.a = influence->a;
    problem.spread = problem.spread ? influence->factor : NULL;
    const cm_determination *told = cm_find_determination(q->session, influence, &problem);
    problem.determined = told->determined;
    q->out->outcome = CM_UNDETERMINED;
    if (told->counted > 0)
        return;
    const cm_answer *answer = cm_solve_problem(q->session, &problem);
    q->out->outcome = answer->outcome;
    if (answer->outcome == CM_OPTIMAL)
        memcpy(q->x, answer->x, (size_t)problem.planes * sizeof *q->x);
}

static void compare(cm_session *session, const cm_job *job, const cm_runs *other, cm_drift_report *out)
{
    cm_question_of_drift q = {session, job, *other, out,
                              CM_NEW(session, job->problem->planes, double complex)};
    out->outcome = CM_UNDETERMINED;
    out->plane = -1;
    out->apart = NAN;
    if (!cm_attempt(session, answer_otherwise, &q) || out->outcome != CM_OPTIMAL)
        return;
    out->x = q.x;
    for (int j = 0; job->answer && job->answer->outcome == CM_OPTIMAL && j < job->problem->planes; j++) {
        double apart = cabs(q.x[j] - job->answer->x[j]);
        if (out->plane >= 0 && apart <= out->apart)
            continue;
        out->apart = apart;
        out->plane = j;
    }
}

cm_status cm_drift_of(cm_session *session, cm_job *job)
{
    CM_ENTER(session);
    if (!job->runs || !job->problem)
        cm_fail(session, CM_BAD_INPUT, "the report on drift needs the runs and the problem");
    const cm_runs *runs = job->runs;
    if (runs->drift_level) {
        cm_drift_report *out = CM_NEW(session, 1, cm_drift_report);
        *out = (cm_drift_report){.size = sizeof *out, .fitted = runs->drift_fitted};
        cm_runs other = with_level(session, runs, !runs->drift_fitted);
        put_estimates(session, runs->drift_fitted ? runs : &other, out);
        compare(session, job, &other, out);
        job->drift = out;
    }
    return cm_leave(session);
}
