/* SPDX-License-Identifier: MIT */
/* The cones, as often as it takes: solve, look at the proof, solve again around the point found, at last the careful way; then
 * the last digits. */
#include "optimise/climb.h"

#include "optimise/complete.h"
#include "optimise/conic.h"
#include "optimise/feasible.h"
#include "optimise/inner.h"
#include "optimise/mend.h"
#include "optimise/zero.h"

#include <math.h>
#include <string.h>

/* A proof this close needs no second attempt. */
#define FLAW_WANTED 1e-9
/* Solutions around the best point so far, before the slow way. */
#define RESTARTS 5
/* What a disc or limit may be exceeded by where the cones end: more cannot be mended. */
#define MENDABLE 1e-5
/* What may be left where mending failed, for want of anything inside ... */
#define VIOLATION_ALLOWED 1e-7
/* ... and where it did not. */
#define EXCESS_ALLOWED 1e-12

/* The best so far: u to expand around, the dual point that belongs to the answer. */
typedef struct cm_best {
    double complex *u;
    cm_certificate certificate;
} cm_best;

/* What the attempts are compared by: the gap, or what constraints are exceeded by. */
static double flaw_of(const cm_problem *p, const cm_answer *answer)
{
    return answer->x ? fmax(answer->gap, cm_recheck_violation(p, answer->x)) : INFINITY;
}

/* Towards an optimum of zero the gap stays 1 until the value counts as zero: then the lower value is the better one. */
static bool is_better(const cm_problem *p, const cm_answer *candidate, const cm_answer *answer)
{
    double flaw = flaw_of(p, candidate);
    double before = flaw_of(p, answer);
    return isfinite(candidate->value) &&
           (flaw < before || (flaw >= 1 && before >= 1 && candidate->value < answer->value));
}

/* One solution by cones, expanded around u; the best answer so far and its u are kept. True: nothing more to gain. */
static bool try_cones(cm_session *session, const cm_presolved *pre, bool orthogonal, cm_best *best,
                      cm_answer *answer)
{
    const cm_problem *p = pre->given;
    cm_conic_answer found = cm_conic_solve(session, pre, best->u, 0, orthogonal);
    answer->iterations += found.iterations;
    if (found.infeasible) {
        if (answer->x || !(cm_recheck_bound(session, p, &found.certificate, found.x) > 0))
            return false;
        cm_name_conflict(session, p, &found.certificate, answer);
        return true;
    }
    cm_pull_inside(pre, found.x);
    if (!(cm_recheck_violation(p, found.x) <= MENDABLE))
        return false;
    cm_answer candidate = *answer;
    cm_complete(session, pre, &found.certificate, found.x, &candidate);
    if (is_better(p, &candidate, answer)) {
        *answer = candidate;
        best->certificate = found.certificate;
        memcpy(best->u, found.u, (size_t)pre->n * sizeof *best->u);
    }
    return flaw_of(p, answer) <= FLAW_WANTED;
}

/* Around u; again around what was found, where the scales are better; at last by QR. */
static bool climb(cm_session *session, const cm_presolved *pre, cm_best *best, cm_answer *answer)
{
    bool done = try_cones(session, pre, false, best, answer);
    for (int again = 0; again < RESTARTS && !done && answer->x; again++)
        done = try_cones(session, pre, false, best, answer);
    return done || try_cones(session, pre, true, best, answer);
}

/* Brings the answer inside limits and discs to the last digits; where that fails there may be nothing inside. */
void cm_make_exact(cm_session *session, const cm_presolved *pre, const cm_certificate *certificate,
                   cm_answer *answer)
{
    const cm_problem *p = pre->given;
    if (cm_recheck_violation(p, answer->x) <= EXCESS_ALLOWED)
        return;
    double complex *x = CM_NEW(session, p->planes, double complex);
    memcpy(x, answer->x, (size_t)p->planes * sizeof *x);
    if (!cm_mend(session, pre, x)) {
        const cm_answer *inner = cm_inner_point(session, pre);
        memcpy(x, answer->x, (size_t)p->planes * sizeof *x);
        if (inner)
            cm_move_inside(pre, inner, x);
    }
    if (cm_recheck_violation(p, x) <= EXCESS_ALLOWED) {
        cm_complete(session, pre, certificate, x, answer);
        return;
    }
    if (cm_recheck_violation(p, answer->x) > VIOLATION_ALLOWED)
        answer->x = NULL;
    cm_settle_barely(session, p, answer);
}

void cm_climb(cm_session *session, const cm_presolved *pre, double complex *u, cm_answer *answer)
{
    cm_best best = {.u = u};
    cm_first_guess(session, pre, u);
    answer->x = NULL;
    bool done = climb(session, pre, &best, answer);
    if (!done && !answer->x) {
        const cm_answer *inner = cm_inner_point(session, pre);
        if (inner) {
            cm_unknowns_of(pre, inner->x, u);
            done = climb(session, pre, &best, answer);
        }
    }
    if (answer->x) {
        cm_make_exact(session, pre, &best.certificate, answer);
        if (answer->outcome == CM_OPTIMAL)
            cm_try_fewer_planes(session, pre, answer);
        if (answer->outcome == CM_OPTIMAL)
            cm_try_nothing_left(session, pre, answer);
    } else if (!done)
        cm_settle_barely(session, pre->given, answer);
}
