/* SPDX-License-Identifier: MIT */
/* Problem: maximise kappa such that |r_i(z)| + kappa sd_i(z) ≤ limit_i on counted rows: the largest ratio
 *     min_i (limit_i - |r_i(z)|)/sd_i(z)
 * of concave over convex functions; quasi-concave, not concave.
 *
 * Method: for fixed kappa the least t with
 *     |r_i| + kappa sd_i(z) ≤ limit_i + (t - kappa) sd_i(z'),     z' the best masses so far,
 * is a cone programme. The masses that attain it are worth a kappa of their own, never smaller; with it and them the
 * next programme is set up (Dinkelbach 1967; Crouzeix & Ferland 1991 for the division by sd_i(z'), which makes
 * the convergence superlinear; from memory). It stops where t = kappa. The proof is the dual point of a programme at
 * a slightly larger kappa: there t > kappa, so no masses reach it. */
#include "optimise/confidence.h"

#include "optimise/conic.h"
#include "optimise/feasible.h"
#include "optimise/mend.h"

#include <math.h>
#include <string.h>

#define ROUNDS_ALLOWED 30
#define PROGRESS 1e-11 /* relative gain of kappa that is worth another round */

#define EXCESS_WANTED 1e-12
#define EXCESS_ALLOWED 1e-9
/* Of another objective that is kept: then.c asks again with that much less room. */
#define EXCESS_OF_KEPT 1e-7

typedef struct cm_climb {
    cm_session *session;
    const cm_presolved *pre;
    double complex *u; /* n: of the best masses so far */
    double kappa;
    cm_confidence_answer answer;
} cm_climb;

/* Masses of a programme, brought inside discs and limits as far as they go. */
static bool bring_inside(cm_climb *c, double complex *x)
{
    cm_pull_inside(c->pre, x);
    if (cm_recheck_violation(c->pre->given, x) > EXCESS_WANTED) {
        double complex *mended = CM_NEW(c->session, c->pre->given->planes, double complex);
        memcpy(mended, x, (size_t)c->pre->given->planes * sizeof *x);
        if (cm_mend(c->session, c->pre, mended))
            memcpy(x, mended, (size_t)c->pre->given->planes * sizeof *x);
    }
    return cm_recheck_violation(c->pre->given, x) <= (c->pre->given->keeps ? EXCESS_OF_KEPT : EXCESS_ALLOWED);
}

/* One programme at `kappa`; true when its masses are worth more than the best so far. */
static bool climb_once(cm_climb *c, double kappa, bool orthogonal, cm_conic_answer *found)
{
    *found = cm_conic_solve(c->session, c->pre, c->u, kappa, orthogonal);
    c->answer.iterations += found->iterations;
    if (found->infeasible || !bring_inside(c, found->x))
        return false;
    double reached = cm_recheck_value(c->pre->given, found->x);
    if (!(reached > c->kappa))
        return false;
    bool is_gain = reached > c->kappa + PROGRESS * fabs(c->kappa);
    c->kappa = reached;
    c->answer.x = found->x;
    memcpy(c->u, found->u, (size_t)c->pre->n * sizeof *c->u);
    return is_gain;
}

/* The smallest kappa of a few just above the best that a dual point shows to be out of reach. */
static double prove(cm_climb *c)
{
    static const double excess[] = {1e-9, 3e-9, 8e-9, 3e-8, 1e-7, 3e-7, 1e-6, 1e-5, 1e-3, 0.1, 10};
    for (size_t k = 0; k < 2 * sizeof excess / sizeof *excess; k++) {
        double kappa = c->kappa + excess[k / 2] * fmax(c->kappa, 1e-6);
        cm_conic_answer found;
        climb_once(c, kappa, k % 2 == 1, &found);
        found.certificate.infeasibility = true;
        if (cm_recheck_bound(c->session, c->pre->given, &found.certificate, found.x) > 0) {
            c->answer.certificate = found.certificate;
            return kappa;
        }
    }
    return NAN;
}

cm_confidence_answer cm_confidence_solve(cm_session *session, const cm_presolved *pre,
                                         const double complex *guess)
{
    cm_climb c = {.session = session, .pre = pre, .u = CM_NEW(session, pre->n, double complex), .kappa = -1};
    cm_conic_answer found;
    c.answer.certificate = cm_certificate_new(session, pre->given);
    memcpy(c.u, guess, (size_t)pre->n * sizeof *guess);
    climb_once(&c, 0, false, &found);
    if (!c.answer.x) {
        c.answer.last = found.x;
        c.answer.certificate = found.certificate;
        c.answer.certificate.infeasibility = true;
        return c.answer;
    }
    for (int round = 0; round < ROUNDS_ALLOWED && isfinite(c.kappa); round++)
        if (!climb_once(&c, c.kappa, false, &found) && !climb_once(&c, c.kappa, true, &found))
            break;
    c.answer.bound = isfinite(c.kappa) ? prove(&c) : c.kappa;
    return c.answer;
}
