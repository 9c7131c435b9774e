/* SPDX-License-Identifier: MIT */
/* Problem: the least total mass for every largest ratio to limit, from the lightest masses allowed to the min-max
 * optimum. Each point is a problem of its own, least mass within limits times the ratio, with its own proof. */
#include "countermass/job.h"
#include "optimise/certificate.h"
#include "optimise/feasible.h"
#include "optimise/solve.h"

#include <math.h>

#define STEPS 24
#define PROVEN 1e-8 /* gap up to which a point counts as proven; others are left out */
#define BREATH 5e-8 /* share by which the lowest ratio is raised: its masses are then found from inside */

/* Least mass with every limit times `ratio`; INFINITY: without limits. */
static const cm_answer *lightest(cm_session *session, const cm_problem *p, double ratio)
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
    return cm_solve_problem(session, part);
}

static void add_point(cm_trade_off *out, cm_trade_point *points, const cm_problem *p, const cm_answer *answer)
{
    if (answer->outcome != CM_OPTIMAL || !(answer->gap <= PROVEN))
        return;
    double mass = answer->gap > 0 || answer->bound > answer->value / 2 ? answer->value : 0;
    points[out->count++] =
        (cm_trade_point){cm_recheck_ratio(p, answer->x), mass, fmin(answer->bound, mass), answer->gap};
}

cm_status cm_trade_off_of(cm_session *session, cm_job *job)
{
    CM_ENTER(session);
    const cm_problem *p = job->problem;
    cm_trade_off *out = CM_NEW(session, 1, cm_trade_off);
    cm_trade_point *points = CM_NEW(session, STEPS + 1, cm_trade_point);
    *out = (cm_trade_off){.size = sizeof *out, .points = points};
    job->trade_off = out;
    if (job->answer->outcome == CM_UNDETERMINED)
        return cm_leave(session);
    const cm_answer *best = cm_nearest_to_limits(session, p);
    if (!best)
        cm_fail(session, CM_BAD_INPUT, "the trade-off needs limits; give the sensors that count a 'limit'");
    const cm_answer *nothing = lightest(session, p, INFINITY);
    if (best->outcome != CM_OPTIMAL || nothing->outcome != CM_OPTIMAL)
        return cm_leave(session);
    add_point(out, points, p, nothing);
    double from = cm_recheck_ratio(p, nothing->x), to = best->value * (1 + BREATH);
    for (int k = 1; k <= STEPS && from > to; k++)
        add_point(out, points, p, lightest(session, p, from + (to - from) * k / STEPS));
    return cm_leave(session);
}
