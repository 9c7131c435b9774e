/* SPDX-License-Identifier: MIT */
/* Problem: what would one more repeated run, or one more unit of mass on a plane at its cap, add to the confidence?
 *
 * Method: both are done, not estimated. A repeat of a run that reads what its first making read changes no coefficient,
 * only their spread: every reading of that run counts once more in the fit (its weight rises by 1), with the scatter in
 * use, and the problem is solved again with that spread. A unit of mass more is added to the radius of
 * every disc of the plane. Planes that are not at a cap gain nothing: the answer would be the same. */
#include "countermass/job.h"
#include "fit/fit.h"
#include "fit/pair_spread.h"
#include "model/counts.h"
#include "optimise/solve.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

enum { MOST_RUNS = 40 };

typedef struct cm_trial_change {
    cm_session *session;
    const cm_job *job;
    int run, plane; /* -1: not this */
    double value;   /* NAN: no answer */
} cm_trial_change;

static const cm_influence *fit_with_repeat(cm_session *session, const cm_job *job, int run)
{
    cm_runs runs = *job->runs;
    int cells = runs.rows * runs.runs;
    double *weight = CM_NEW(session, cells, double);
    for (int i = 0; i < cells; i++)
        weight[i] = job->runs->reading_weight ? job->runs->reading_weight[i] : 1;
    for (int i = 0; i < runs.rows; i++)
        weight[i + run * runs.rows] += 1;
    runs.reading_weight = weight;
    runs.repeatability = job->influence->scatter;
    return cm_fit_runs(session, &runs);
}

static const cm_disc *wider_discs(cm_session *session, const cm_problem *p, int plane)
{
    cm_disc *discs = CM_NEW(session, p->disc_count, cm_disc);
    for (int d = 0; d < p->disc_count; d++) {
        discs[d] = p->discs[d];
        discs[d].radius += discs[d].plane == plane ? p->mass_unit : 0;
    }
    return discs;
}

static void solve_changed(void *data)
{
    cm_trial_change *t = data;
    cm_problem *p = CM_NEW(t->session, 1, cm_problem);
    *p = *t->job->problem;
    p->then = 0;
    if (t->run >= 0) {
        const cm_influence *influence = fit_with_repeat(t->session, t->job, t->run);
        p->spread = influence->factor;
        cm_put_pair_spreads(t->session, influence, p);
    }
    if (t->plane >= 0)
        p->discs = wider_discs(t->session, p, t->plane);
    const cm_answer *answer = cm_solve_problem(t->session, p);
    t->value = answer->outcome == CM_OPTIMAL ? answer->value : NAN;
}

static double value_after(cm_session *session, const cm_job *job, int run, int plane)
{
    cm_trial_change t = {session, job, run, plane, NAN};
    cm_mark mark = cm_mark_of(session);
    bool solved = cm_attempt(session, solve_changed, &t);
    cm_release_to(session, mark);
    return solved ? t.value : NAN;
}

/* Reads something, and no earlier run had the same masses: these two would gain the same. */
static bool is_first_of_state(const cm_runs *runs, int run)
{
    bool read = false;
    for (int i = 0; i < runs->rows; i++)
        read |= runs->repeats[i + run * runs->rows] > 0;
    for (int k = 0; k < run && read; k++) {
        double apart = 0;
        for (int j = 0; j < runs->planes; j++)
            apart = fmax(apart, cabs(runs->masses[run + j * runs->runs] - runs->masses[k + j * runs->runs]));
        if (apart < runs->mass_zero || apart == 0)
            return false;
    }
    return read;
}

static void add_runs(cm_session *session, const cm_job *job, cm_kappa_gains *out)
{
    cm_kappa_gain *list = CM_NEW(session, job->runs->runs, cm_kappa_gain);
    for (int k = job->runs->runs - 1; k >= 0 && out->run_count < MOST_RUNS; k--)
        if (is_first_of_state(job->runs, k))
            list[out->run_count++] = (cm_kappa_gain){k, -1, value_after(session, job, k, -1)};
    out->runs = list;
}

static void add_masses(cm_session *session, const cm_job *job, cm_kappa_gains *out)
{
    const cm_problem *p = job->problem;
    cm_kappa_gain *list = CM_NEW(session, p->planes, cm_kappa_gain);
    for (int j = 0; j < p->planes; j++) {
        bool capped = false;
        for (int d = 0; d < p->disc_count; d++)
            capped |= p->discs[d].plane == j && isfinite(p->discs[d].radius);
        if (!capped || (p->held && p->held[j]))
            continue;
        double value = job->answer->at_cap[j] ? value_after(session, job, -1, j) : out->value;
        list[out->mass_count++] = (cm_kappa_gain){-1, j, value};
    }
    out->masses = list;
}

/* How many complex errors the guarantee rests on: P(all within) ≥ 1 - count·exp(-kappa²). */
static int count_errors(const cm_problem *p)
{
    int count = 0;
    for (int i = 0; i < p->rows; i++)
        count += p->weight[i] > 0 && isfinite(p->limit[i]);
    for (int k = 0; k < p->pair_count; k++)
        count += cm_pair_is_judged(&p->pairs[k]) ? cm_pair_part_count(&p->pairs[k]) : 0;
    return count;
}

cm_status cm_gains_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_gains_of", CM_HAS_INFLUENCE | CM_HAS_PROBLEM | CM_HAS_ANSWER,
                                     CM_HAS_GAINS};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_answer *answer = job->answer;
    bool asked =
        job->problem->objective == CM_CONFIDENCE && answer->outcome == CM_OPTIMAL && !job->problem->then;
    if (!asked || !isfinite(answer->value) || !job->runs)
        return cm_leave(session);
    cm_kappa_gains *out = CM_NEW(session, 1, cm_kappa_gains);
    *out =
        (cm_kappa_gains){.size = sizeof *out, .value = answer->value, .errors = count_errors(job->problem)};
    add_runs(session, job, out);
    add_masses(session, job, out);
    job->gains = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
