/* SPDX-License-Identifier: MIT */
/* From a problem to an answer, as a list of steps: presolve, the cheapest method that fits, recheck. */
#include "optimise/solve.h"

#include "linalg/dense.h"
#include "model/given.h"
#include "optimise/capped.h"
#include "optimise/climb.h"
#include "optimise/complete.h"
#include "optimise/confidence.h"
#include "optimise/feasible.h"
#include "optimise/inner.h"
#include "optimise/least_squares.h"
#include "optimise/minmax.h"
#include "optimise/pairs.h"
#include "optimise/presolve.h"
#include "optimise/proof.h"
#include "optimise/zero.h"

#include <math.h>
#include <string.h>

/* A proof this close needs no second attempt. */
#define FLAW_WANTED 1e-9
/* What rounding may leave of a tie, relative to its terms. */
#define ROUNDING 1e-13

static bool is_undetermined(const cm_problem *p)
{
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0 && p->determined && !p->determined[i])
            return true;
    for (int k = 0; k < p->pair_count && p->determined; k++)
        if (p->pairs[k].weight > 0 && !(p->determined[p->pairs[k].forward] &&
                                        (p->pairs[k].backward < 0 || p->determined[p->pairs[k].backward])))
            return true;
    return false;
}

/* Counted rows as [B | c] with r = c + B u. */
static void weighted_rows(cm_session *session, const cm_presolved *pre, double complex **b,
                          double complex **c)
{
    int m = pre->row_count;
    *b = CM_NEW(session, (size_t)m * (size_t)pre->n, double complex);
    *c = CM_NEW(session, m, double complex);
    for (int i = 0; i < m; i++)
        (*c)[i] = cm_presolved_row(pre, pre->row[i], pre->given->weight[pre->row[i]], *b + i, m);
}

static void plain_certificate(const cm_presolved *pre, const cm_plain *plain, cm_certificate *certificate)
{
    for (int i = 0; i < pre->row_count; i++)
        certificate->row_objective[pre->row[i]] = pre->given->weight[pre->row[i]] * plain->residual[i];
}

/* ---- the short cut: plain least squares when nothing binds ---- */

static cm_plain try_plain(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    double complex *b;
    double complex *c;
    weighted_rows(session, pre, &b, &c);
    cm_plain plain = cm_plain_solve(session, pre, pre->row_count, b, c);
    double complex *x = CM_NEW(session, p->planes, double complex);
    cm_presolved_masses(pre, plain.u, x);
    answer->rank = plain.rank;
    answer->dependent = plain.dependent ? plain.dependent : CM_NEW(session, p->planes, unsigned char);
    answer->x = x;
    return plain;
}

/* Least squares with nothing in its way, or a zero that no other objective of the rows can undercut. */
static bool plain_is_best(const cm_presolved *pre, const cm_answer *answer)
{
    const cm_problem *p = pre->given;
    bool is_norm =
        p->objective == CM_LEAST_SQUARES || (p->objective == CM_WORST_CASE && !(p->influence_error > 0));
    if (!is_norm && p->objective != CM_MIN_MAX && p->objective != CM_WORST_CASE)
        return false;
    if (!(cm_recheck_violation(p, answer->x) <= ROUNDING))
        return false;
    return is_norm || cm_counts_as_zero(p, cm_recheck_value(p, answer->x));
}

static void finish_plain(cm_session *session, const cm_presolved *pre, const cm_plain *plain,
                         cm_answer *answer)
{
    cm_certificate certificate = cm_certificate_new(session, pre->given);
    if (pre->given->objective != CM_MIN_MAX)
        plain_certificate(pre, plain, &certificate);
    cm_presolved_ties(session, pre, &certificate);
    cm_complete(session, pre, &certificate, answer->x, answer);
}

/* ---- caps alone ---- */

/* The quick way for least squares within caps; false when its proof is not good enough. */
static bool try_capped(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    if (!cm_capped_fits(pre))
        return false;
    double complex *b;
    double complex *c;
    weighted_rows(session, pre, &b, &c);
    double complex *u = CM_NEW(session, pre->n, double complex);
    double complex *x = CM_NEW(session, p->planes, double complex);
    cm_answer candidate = *answer;
    candidate.iterations = cm_capped_solve(session, pre, pre->row_count, b, c, u);
    if (candidate.iterations == 0)
        return false;
    cm_presolved_masses(pre, u, x);
    cm_pull_inside(pre, x);
    cm_certificate certificate = cm_certificate_new(session, p);
    cm_capped_certificate(pre, x, &certificate);
    cm_presolved_ties(session, pre, &certificate);
    cm_complete(session, pre, &certificate, x, &candidate);
    if (!(fmax(candidate.gap, cm_recheck_violation(p, x)) <= FLAW_WANTED))
        return false;
    *answer = candidate;
    return true;
}

static void solve_confidence(cm_session *session, const cm_presolved *pre, double complex *u,
                             cm_answer *answer)
{
    const cm_problem *p = pre->given;
    cm_first_guess(session, pre, u);
    cm_confidence_answer found = cm_confidence_solve(session, pre, u);
    answer->iterations = found.iterations;
    answer->x = NULL;
    if (found.x) {
        answer->bound = found.bound;
        cm_certificate none = cm_certificate_new(session, p);
        cm_complete(session, pre, &none, found.x, answer);
        cm_make_exact(session, pre, &none, answer);
        answer->proof = cm_proof_of(session, p, &found.certificate);
        cm_sensitivities(session, p, &found.certificate, answer);
    } else if (cm_recheck_bound(session, p, &found.certificate, found.last) > 0) {
        cm_name_conflict(session, p, &found.certificate, answer);
    } else {
        cm_settle_barely(session, p, answer);
    }
}

/* Nothing is better than a wrong guarantee. */
static void need_pair_spreads(cm_session *session, const cm_problem *p)
{
    bool asked = p->objective == CM_CONFIDENCE || (p->keeps && p->kept == CM_CONFIDENCE);
    for (int k = 0; k < p->pair_count && asked; k++)
        if (cm_pair_is_judged(&p->pairs[k]) && !p->pairs[k].spread)
            cm_fail(session, CM_BAD_INPUT,
                    "confidence needs the spread of the parts of pair %d; cm_determine fills it in", k + 1);
}

/* The quick way for min-max within caps; false when its proof is not good enough. */
static bool try_minmax(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    if (!cm_minmax_fits(pre))
        return false;
    double complex *b;
    double complex *c;
    weighted_rows(session, pre, &b, &c);
    double complex *u = CM_NEW(session, pre->n, double complex);
    double complex *x = CM_NEW(session, p->planes, double complex);
    double *share = CM_NEW(session, pre->row_count, double);
    cm_answer candidate = *answer;
    candidate.iterations = cm_minmax_solve(session, pre, pre->row_count, b, c, u, share);
    if (candidate.iterations == 0)
        return false;
    cm_presolved_masses(pre, u, x);
    cm_pull_inside(pre, x);
    cm_certificate certificate = cm_certificate_new(session, p);
    cm_minmax_certificate(session, pre, pre->row_count, b, c, u, share, &certificate);
    cm_presolved_ties(session, pre, &certificate);
    cm_complete(session, pre, &certificate, x, &candidate);
    if (!(fmax(candidate.gap, cm_recheck_violation(p, x)) <= FLAW_WANTED))
        return false;
    *answer = candidate;
    return true;
}

static cm_answer *new_answer(cm_session *session)
{
    cm_answer *answer = CM_NEW(session, 1, cm_answer);
    *answer = (cm_answer){.size = sizeof *answer,
                          .value = NAN,
                          .bound = NAN,
                          .gap = NAN,
                          .largest_ratio = NAN,
                          .limits_factor = NAN,
                          .then_value = NAN,
                          .then_bound = NAN,
                          .then_gap = NAN,
                          .then_best = NAN,
                          .then_best_gap = NAN};
    return answer;
}

static const cm_proof *proof_of_standstill(cm_session *session, const cm_presolved *pre)
{
    cm_certificate certificate = cm_certificate_new(session, pre->given);
    cm_presolved_contradiction(session, pre, &certificate);
    return cm_proof_of(session, pre->given, &certificate);
}

static void solve_presolved(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    answer->unknowns = pre->n;
    if (pre->shut_out) {
        answer->outcome = CM_INFEASIBLE;
        answer->conflict_planes = pre->shut_out;
        answer->conflict_rows = CM_NEW(session, pre->given->rows, unsigned char);
        answer->proof = proof_of_standstill(session, pre);
        return;
    }
    cm_plain plain = try_plain(session, pre, answer);
    if (plain_is_best(pre, answer))
        finish_plain(session, pre, &plain, answer);
    else if (cm_try_rest(session, pre, answer) || try_capped(session, pre, answer) ||
             try_minmax(session, pre, answer))
        return;
    else if (pre->given->objective == CM_CONFIDENCE)
        solve_confidence(session, pre, plain.u, answer);
    else
        cm_climb(session, pre, plain.u, answer);
}

/* The factor, and its sharper proof: a ray of the cones may carry caps and limits that the contradiction does not need,
 * the multipliers of the least factor carry only what binds. */
static void add_factor(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    bool asks_the_same = p->objective == CM_MIN_MAX && !p->within_limits;
    const cm_answer *nearest = asks_the_same ? NULL : cm_nearest_to_limits(session, p);
    if (!nearest) {
        cm_conflict_of_caps(session, pre, answer);
    } else if (nearest->outcome == CM_INFEASIBLE) {
        answer->conflict_rows = nearest->conflict_rows;
        answer->conflict_planes = nearest->conflict_planes;
        answer->conflict_pairs = nearest->conflict_pairs;
        answer->proof = nearest->proof;
    } else {
        answer->limits_factor = nearest->value;
        cm_narrow_conflict(session, p, nearest, answer);
    }
}

const cm_answer *cm_solve_problem(cm_session *session, const cm_problem *problem)
{
    cm_answer *answer = new_answer(session);
    if (is_undetermined(problem)) {
        answer->outcome = CM_UNDETERMINED;
        return answer;
    }
    need_pair_spreads(session, problem);
    cm_presolved pre = cm_presolve(session, problem);
    solve_presolved(session, &pre, answer);
    if (answer->outcome == CM_INFEASIBLE && !pre.shut_out)
        add_factor(session, &pre, answer);
    return answer;
}

cm_status cm_solve(cm_session *session, const cm_problem *problem, const cm_answer **answer)
{
    CM_ENTER(session);
    *answer = cm_solve_asked(session, cm_given_problem(session, problem));
    return cm_leave(session);
}
