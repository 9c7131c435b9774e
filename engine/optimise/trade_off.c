/* SPDX-License-Identifier: MIT */
/* Problem: the least total mass for every largest ratio to limit, from the lightest masses allowed to the min-max
 * optimum. Each point is a problem of its own, least mass within limits times the ratio, with its own proof.
 *
 * Method: between the two ends the cones are the same but for what bounds the limits, so they are written once and each
 * point begins at the answer of the one before. A point whose proof is not closed that way is solved from scratch; one whose proof
 * stays open is shown with its bound and gap, not left out. */
#include "countermass/job.h"
#include "optimise/certificate.h"
#include "optimise/conic.h"
#include "optimise/feasible.h"
#include "optimise/inner.h"
#include "optimise/mend.h"
#include "optimise/solve.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#define STEPS 24
#define PROVEN 1e-8       /* gap up to which a point counts as proven */
#define FLAW_WANTED 1e-9  /* of a warm start, else the point is solved from scratch */
#define EXCESS 1e-12      /* what limits and caps may be exceeded by */
#define NOTHING_LEFT 1e-6 /* of the ratio without masses: limits below are rounding and no limits */
#define BREATH 5e-8 /* share by which the lowest ratio is raised: its masses are then found from inside */

typedef struct cm_curve {
    cm_session *session;
    const cm_problem *p;
    cm_trade_off *out;
    cm_trade_point *points;
    cm_conic_series *series;
} cm_curve;

/* Least mass with every limit times `ratio`; INFINITY: without limits. */
static const cm_problem *least_mass(cm_session *session, const cm_problem *p, double ratio)
{
    cm_problem *part = CM_NEW(session, 1, cm_problem);
    double *limit = CM_NEW(session, p->rows, double);
    cm_pair *pairs = CM_NEW(session, p->pair_count, cm_pair);
    for (int i = 0; i < p->rows; i++)
        limit[i] = p->limit[i] * ratio;
    for (int k = 0; k < p->pair_count; k++) {
        pairs[k] = p->pairs[k];
        pairs[k].limit *= ratio;
    }
    *part = *p;
    part->objective = CM_LEAST_MASS;
    part->within_limits = 0;
    part->limit = limit;
    part->pairs = pairs;
    part->spread = NULL;
    return part;
}

static void add_point(cm_curve *c, const double complex *x, double value, double bound, double gap)
{
    double mass = gap > 0 || bound > value / 2 ? value : 0;
    c->points[c->out->count++] = (cm_trade_point){cm_recheck_ratio(c->p, x), mass, fmin(bound, mass), gap};
}

static void add_answer(cm_curve *c, const cm_answer *answer)
{
    if (answer->outcome == CM_OPTIMAL)
        add_point(c, answer->x, answer->value, answer->bound, answer->gap);
}

/* The next point from the one before; false when its proof is not closed. */
static bool add_warm(cm_curve *c, double ratio)
{
    const cm_problem *part = least_mass(c->session, c->p, ratio);
    cm_conic_answer found = cm_conic_next(c->series, ratio);
    if (found.infeasible)
        return false;
    cm_presolved pre = cm_presolve(c->session, part);
    cm_pull_inside(&pre, found.x);
    if (!(cm_recheck_violation(part, found.x) <= EXCESS) &&
        !(cm_mend(c->session, &pre, found.x) && cm_recheck_violation(part, found.x) <= EXCESS))
        return false;
    double value = cm_recheck_value(part, found.x);
    double bound = cm_recheck_bound(c->session, part, &found.certificate, found.x);
    if (!(value > 0) || !(value - bound <= FLAW_WANTED * value))
        return false;
    add_point(c, found.x, value, bound, fmax(0, value - bound) / value);
    c->out->warm++;
    return true;
}

static void open_series(cm_curve *c, const cm_answer *best)
{
    cm_presolved *pre = CM_NEW(c->session, 1, cm_presolved);
    *pre = cm_presolve(c->session, least_mass(c->session, c->p, 1));
    double complex *guess = CM_NEW(c->session, pre->n, double complex);
    cm_unknowns_of(pre, best->x, guess);
    if (pre->n > 0 && !pre->shut_out)
        c->series = cm_conic_open(c->session, pre, guess);
}

static void fill_curve(cm_curve *c, double from, double to)
{
    for (int k = 1; k <= STEPS && from > to; k++) {
        double ratio = from + (to - from) * k / STEPS;
        if (!(c->series && k < STEPS && add_warm(c, ratio)))
            add_answer(c, cm_solve_problem(c->session, least_mass(c->session, c->p, ratio)));
    }
}

static const cm_trade_off *find_curve(cm_session *session, const cm_job *job)
{
    const cm_problem *p = job->problem;
    cm_curve c = {session, p, CM_NEW(session, 1, cm_trade_off), CM_NEW(session, STEPS + 1, cm_trade_point),
                  NULL};
    *c.out = (cm_trade_off){.size = sizeof *c.out, .points = c.points};
    if (job->answer->outcome == CM_UNDETERMINED)
        return c.out;
    const cm_answer *best = cm_nearest_to_limits(session, p);
    if (!best)
        cm_fail(session, CM_BAD_INPUT, "the trade-off needs limits; give the sensors that count a 'limit'");
    const cm_answer *nothing = cm_solve_problem(session, least_mass(session, p, INFINITY));
    if (best->outcome != CM_OPTIMAL || nothing->outcome != CM_OPTIMAL)
        return c.out;
    add_answer(&c, nothing);
    open_series(&c, best);
    double from = cm_recheck_ratio(p, nothing->x);
    fill_curve(&c, from, fmax(best->value * (1 + BREATH), NOTHING_LEFT * from));
    for (int k = 0; k < c.out->count; k++)
        c.out->open += !(c.points[k].gap <= PROVEN);
    return c.out;
}

cm_status cm_trade_off_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_trade_off_of", CM_HAS_PROBLEM | CM_HAS_ANSWER, CM_HAS_TRADE_OFF};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    job->trade_off = find_curve(session, job);
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
