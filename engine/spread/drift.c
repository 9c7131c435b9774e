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
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#undef I

typedef struct cm_question_of_drift {
    cm_session *session;
    const cm_job *job;
    const cm_runs *other;    /* the runs with the other setting */
    const cm_influence *fit; /* of these; NULL: not made yet */
    cm_drift_report *out;
    double complex *x; /* planes */
} cm_question_of_drift;

/* What each row tells of its drift. */
typedef struct cm_row_drift {
    double complex *change;
    double *std;
    unsigned char *told;
} cm_row_drift;

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

/* Returns the fit with drift. */
static const cm_influence *put_estimates(cm_session *session, const cm_runs *with, const cm_row_drift *row,
                                         cm_drift_report *out)
{
    const cm_influence *fit = cm_fit_level(session, with, with->levels - 1, row->change, row->std, row->told);
    double sum = 0, most = 0, dof = INFINITY;
    int count = 0;
    out->largest = -1;
    for (int i = 0; i < with->rows; i++) {
        if (!row->told[i])
            continue;
        out->told++;
        if (with->shares && with->shares[i] != i)
            continue;
        double apart = cabs(row->change[i]) / row->std[i];
        sum += apart * apart;
        count++;
        dof = fmin(dof, fit->dof[i] > 0 ? fit->dof[i] : INFINITY);
        out->assumed |= fit->scatter_source[i] == CM_SCATTER_ASSUMED;
        if (out->largest < 0 || apart > most) {
            most = apart;
            out->largest = i;
        }
    }
    out->change = row->change;
    out->std = row->std;
    out->row_told = row->told;
    out->deviations = count ? sqrt(sum / count) : NAN;
    out->chance = count ? cm_sum_tail(count, sum, dof) : NAN;
    return fit;
}

/* Fits and solves with the other setting. */
static void answer_otherwise(void *data)
{
    cm_question_of_drift *q = data;
    const cm_problem *own = q->job->problem;
    const cm_influence *influence = q->fit ? q->fit : cm_fit_runs(q->session, q->other);
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

static void compare(cm_question_of_drift *q)
{
    const cm_job *job = q->job;
    cm_drift_report *out = q->out;
    out->outcome = CM_UNDETERMINED;
    out->plane = -1;
    out->apart = NAN;
    if (!cm_attempt(q->session, answer_otherwise, q) || out->outcome != CM_OPTIMAL)
        return;
    out->x = q->x;
    for (int j = 0; job->answer && job->answer->outcome == CM_OPTIMAL && j < job->problem->planes; j++) {
        double apart = cabs(q->x[j] - job->answer->x[j]);
        if (out->plane >= 0 && apart <= out->apart)
            continue;
        out->apart = apart;
        out->plane = j;
    }
}

/* The report's arrays are made first, so that the fits and the answer can be released. */
static const cm_drift_report *report_of(cm_session *session, const cm_job *job)
{
    const cm_runs *runs = job->runs;
    cm_drift_report *out = CM_NEW(session, 1, cm_drift_report);
    cm_row_drift row = {CM_NEW(session, runs->rows, double complex), CM_NEW(session, runs->rows, double),
                        CM_NEW(session, runs->rows, unsigned char)};
    cm_question_of_drift q = {.session = session, .job = job, .out = out};
    q.x = CM_NEW(session, job->problem->planes, double complex);
    cm_mark mark = cm_mark_of(session);
    cm_runs other = with_level(session, runs, !runs->drift_fitted);
    *out = (cm_drift_report){.size = sizeof *out, .fitted = runs->drift_fitted};
    const cm_influence *with = put_estimates(session, runs->drift_fitted ? runs : &other, &row, out);
    q.other = &other;
    q.fit = runs->drift_fitted ? NULL : with;
    compare(&q);
    cm_release_to(session, mark);
    return out;
}

cm_status cm_drift_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_drift_of", CM_HAS_RUNS | CM_HAS_PROBLEM, CM_HAS_DRIFT};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    if (job->runs->drift_level)
        job->drift = report_of(session, job);
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
