/* SPDX-License-Identifier: MIT */
/* What stands around a solution: points inside the discs, conflicts in words, what limits and caps are worth.
 *
 * Sensitivities. The bound of a dual point is constant/norm, with limit_i |v_i| and radius_d |w_d| in the constant; at
 * the optimum it equals the value. So -d value/d radius_d = |w_d|/norm, -d value/d ln limit_i = limit_i |v_i|/norm,
 * and where a limit is part of the weight (W_i ~ 1/limit_i) the share Re conj(v_i) r_i/norm of the row in the value. */
#include "optimise/feasible.h"

#include "optimise/build.h"
#include "optimise/inner.h"
#include "optimise/pairs.h"
#include "optimise/proof.h"
#include "optimise/solve.h"

#include <math.h>

#define PULL_PASSES 50
#define DOUBTFUL_SHARE 1e-2 /* multipliers up to this may belong to bounds that only touch */
#define NO_DIFFERENCE 1e-5  /* share of what the factor is above 1 that may be lost without them */
#define BARELY 1e-12        /* what limits may be exceeded by */
#define TIGHT 1e-6          /* a value of zero need not be near its bound: then nothing holds it up */

static bool is_counted(const cm_problem *p, int row)
{
    return p->weight[row] > 0 && (!p->determined || p->determined[row]);
}

/* x_j := the point of the disc next to x_j. */
static void pull(const cm_disc *disc, double complex *x)
{
    double complex away = *x - disc->centre;
    double distance = cabs(away);
    if (distance <= disc->radius)
        return;
    *x = disc->centre + away * (disc->radius / distance);
    if (cabs(*x - disc->centre) > disc->radius)
        *x = disc->centre + away * (disc->radius * (1 - 4e-16) / distance);
}

void cm_pull_inside(const cm_presolved *pre, double complex *x)
{
    if (!pre->plane)
        return;
    for (int pass = 0; pass < PULL_PASSES; pass++)
        for (int i = 0; i < pre->disc_count; i++) {
            const cm_disc *disc = &pre->given->discs[pre->disc[i]];
            pull(disc, &x[disc->plane]);
        }
}

void cm_first_guess(cm_session *session, const cm_presolved *pre, double complex *u)
{
    const cm_problem *p = pre->given;
    if (p->begin) {
        cm_unknowns_of(pre, p->begin, u);
        return;
    }
    double complex *x = CM_NEW(session, p->planes, double complex);
    cm_presolved_masses(pre, u, x);
    if (pre->plane) {
        cm_pull_inside(pre, x);
        for (int k = 0; k < pre->n; k++)
            u[k] = x[pre->plane[k]] - p->base[pre->plane[k]] - pre->z0[pre->plane[k]];
        return;
    }
    double most = 1;
    for (int i = 0; i < pre->disc_count; i++) {
        const cm_disc *disc = &p->discs[pre->disc[i]];
        most = fmax(most, cabs(x[disc->plane] - disc->centre) / disc->radius);
    }
    for (int k = 0; k < pre->n; k++)
        u[k] /= most;
}

/* ---- conflicts ---- */

static double row_weight(const cm_problem *p, const cm_certificate *c, int row)
{
    return isinf(p->limit[row]) ? 0 : p->limit[row] * cabs(c->row_limit[row]);
}

/* max |A_ij|/limit_i: what a unit of mass can do to the readings, in limits. */
static double influence_size(const cm_problem *p, int plane)
{
    double most = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i]))
            most = fmax(most, cabs(p->a[i + plane * p->rows]) / p->limit[i]);
    return most;
}

/* Share of a disc in a contradiction, as radius·|w|; a cap of zero takes part by the push it takes, in limits. */
static double disc_weight(const cm_problem *p, int disc, double multiplier)
{
    if (p->discs[disc].radius > 0)
        return p->discs[disc].radius * multiplier;
    double size = influence_size(p, p->discs[disc].plane);
    return size > 0 ? multiplier / size : 0;
}

static double pair_weight(const cm_certificate *c, const cm_pair *pair, int number)
{
    double size = fmax(cabs(c->pair_limit[2 * number]), cabs(c->pair_limit[2 * number + 1]));
    return cm_pair_is_judged(pair) ? pair->limit * size : 0;
}

void cm_name_conflict(cm_session *session, const cm_problem *p, const cm_certificate *c, cm_answer *answer)
{
    unsigned char *rows = CM_NEW(session, p->rows, unsigned char);
    unsigned char *planes = CM_NEW(session, p->planes, unsigned char);
    unsigned char *pairs = CM_NEW(session, p->pair_count, unsigned char);
    double most = 0;
    for (int i = 0; i < p->rows; i++)
        most = fmax(most, row_weight(p, c, i));
    for (int d = 0; d < p->disc_count; d++)
        most = fmax(most, disc_weight(p, d, cabs(c->disc[d])));
    for (int k = 0; k < p->pair_count; k++)
        most = fmax(most, pair_weight(c, &p->pairs[k], k));
    for (int i = 0; i < p->rows; i++)
        rows[i] = row_weight(p, c, i) > CM_CONFLICT_SHARE * most;
    for (int d = 0; d < p->disc_count; d++)
        if (disc_weight(p, d, cabs(c->disc[d])) > CM_CONFLICT_SHARE * most)
            planes[p->discs[d].plane] = 1;
    for (int k = 0; k < p->pair_count; k++)
        pairs[k] = pair_weight(c, &p->pairs[k], k) > CM_CONFLICT_SHARE * most;
    answer->outcome = CM_INFEASIBLE;
    answer->conflict_rows = rows;
    answer->conflict_planes = planes;
    answer->conflict_pairs = pairs;
    answer->proof = cm_proof_of(session, p, c);
}

/* The same problem, asking for the least factor on the limits. */
static cm_problem factor_problem(cm_session *session, const cm_problem *p)
{
    cm_problem factor = *p;
    double *weight = CM_NEW(session, p->rows, double);
    cm_pair *pairs = CM_NEW(session, p->pair_count, cm_pair);
    for (int i = 0; i < p->rows; i++)
        weight[i] = is_counted(p, i) && !isinf(p->limit[i]) ? 1 / p->limit[i] : 0;
    for (int k = 0; k < p->pair_count; k++) {
        pairs[k] = p->pairs[k];
        pairs[k].weight = cm_pair_is_judged(&pairs[k]) ? 1 / pairs[k].limit : 0;
    }
    factor.objective = CM_MIN_MAX;
    factor.within_limits = 0;
    factor.keeps = 0;
    factor.weight = weight;
    factor.pairs = pairs;
    return factor;
}

static bool has_limits(const cm_problem *p)
{
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i]))
            return true;
    for (int k = 0; k < p->pair_count; k++)
        if (cm_pair_is_judged(&p->pairs[k]))
            return true;
    return false;
}

const cm_answer *cm_nearest_to_limits(cm_session *session, const cm_problem *problem)
{
    if (!has_limits(problem))
        return NULL;
    cm_problem *factor = CM_NEW(session, 1, cm_problem);
    *factor = factor_problem(session, problem);
    return cm_solve_problem(session, factor);
}

/* Multipliers up to this share are those of a row or disc that does not bind, not yet brought to 0: the solver ends at
 * a gap of 1e-8. All that are left out together stay well below what the factor is above 1. */
static double idle_share(const cm_problem *p, double factor)
{
    return fmin(1e-4, 0.1 * (1 - 1 / factor) / (p->rows + p->pair_count + p->disc_count));
}

/* The problem of the least factor without the rows and discs whose multipliers are small: they may bind by chance only. */
static const cm_answer *without_doubtful(cm_session *session, const cm_problem *p, const cm_answer *nearest)
{
    cm_problem *few = CM_NEW(session, 1, cm_problem);
    *few = factor_problem(session, p);
    double *weight = CM_NEW(session, p->rows, double);
    cm_disc *discs = CM_NEW(session, p->disc_count, cm_disc);
    double doubtful = DOUBTFUL_SHARE * nearest->value;
    bool any = false;
    for (int i = 0; i < p->rows; i++) {
        weight[i] = nearest->row_multiplier[i] > doubtful ? few->weight[i] : 0;
        any |= weight[i] > 0;
    }
    for (int d = 0; d < p->disc_count; d++) {
        discs[d] = p->discs[d];
        if (!(disc_weight(p, d, nearest->disc_multiplier[d]) > doubtful))
            discs[d].radius = INFINITY;
    }
    few->weight = weight;
    few->discs = discs;
    return any ? cm_solve_problem(session, few) : nearest;
}

/* The answer that the conflict is read from: without the doubtful ones when they make no difference. */
static const cm_answer *narrowest(cm_session *session, const cm_problem *p, const cm_answer *nearest)
{
    const cm_answer *few = without_doubtful(session, p, nearest);
    bool as_good = few->outcome == CM_OPTIMAL && few->proof &&
                   few->bound - 1 >= (1 - NO_DIFFERENCE) * (nearest->bound - 1);
    return as_good ? few : nearest;
}

static void conflict_of_factor(cm_session *session, const cm_problem *p, const cm_answer *nearest,
                               cm_answer *answer)
{
    nearest = narrowest(session, p, nearest);
    double idle = idle_share(p, nearest->value) * nearest->value;
    unsigned char *rows = CM_NEW(session, p->rows, unsigned char);
    unsigned char *planes = CM_NEW(session, p->planes, unsigned char);
    unsigned char *pairs = CM_NEW(session, p->pair_count, unsigned char);
    for (int i = 0; i < p->rows; i++)
        rows[i] = nearest->row_multiplier[i] > idle;
    for (int k = 0; k < p->pair_count; k++)
        pairs[k] = nearest->pair_multiplier[k] > idle;
    for (int d = 0; d < p->disc_count; d++)
        if (disc_weight(p, d, nearest->disc_multiplier[d]) > idle)
            planes[p->discs[d].plane] = 1;
    answer->outcome = CM_INFEASIBLE;
    answer->x = NULL;
    answer->r = NULL;
    answer->at_cap = NULL;
    answer->row_multiplier = answer->pair_multiplier = answer->disc_multiplier = NULL;
    answer->value = answer->bound = answer->gap = answer->largest_ratio = NAN;
    answer->conflict_rows = rows;
    answer->conflict_planes = planes;
    answer->conflict_pairs = pairs;
    answer->proof = cm_proof_of_factor(session, nearest->proof);
}

void cm_narrow_conflict(cm_session *session, const cm_problem *p, const cm_answer *nearest, cm_answer *answer)
{
    if (nearest->bound > 1 && nearest->gap <= 1e-6)
        conflict_of_factor(session, p, nearest, answer);
}

void cm_settle_barely(cm_session *session, const cm_problem *p, cm_answer *answer)
{
    bool asks_the_same = p->objective == CM_MIN_MAX && !p->within_limits;
    const cm_answer *nearest = asks_the_same ? NULL : cm_nearest_to_limits(session, p);
    if (!nearest && answer->x)
        return;
    if (!nearest)
        cm_fail(session, CM_NUMERICS, "no masses were found that pass the recheck");
    if (nearest->outcome == CM_INFEASIBLE) {
        answer->outcome = CM_INFEASIBLE;
        answer->x = NULL;
        answer->conflict_rows = nearest->conflict_rows;
        answer->conflict_planes = nearest->conflict_planes;
        answer->conflict_pairs = nearest->conflict_pairs;
        answer->proof = nearest->proof;
    } else if (nearest->bound > 1 && nearest->value > 1 + BARELY) {
        conflict_of_factor(session, p, nearest, answer);
    } else if (!answer->x) {
        double value = cm_recheck_value(p, nearest->x);
        answer->outcome = CM_OPTIMAL;
        answer->x = nearest->x;
        answer->r = nearest->r;
        answer->at_cap = nearest->at_cap;
        answer->largest_ratio = nearest->largest_ratio;
        answer->value = value;
        answer->bound = p->objective == CM_CONFIDENCE ? NAN : 0;
        answer->gap = 1;
    }
}

/* ---- what limits and caps are worth ---- */

static double pair_worth(const cm_problem *p, const cm_certificate *c, int number, const double complex *r)
{
    const cm_pair *pair = &p->pairs[number];
    double worth = pair_weight(c, pair, number);
    for (int k = 0; k < cm_pair_part_count(pair) && pair->weight > 0; k++)
        worth += creal(conj(c->pair_objective[2 * number + k]) * cm_pair_part_at(pair, k, r));
    return worth;
}

/* W_i² sum_j |A_ij z_j|²: the row's share in |diag(c) z|². */
static double error_square(const cm_problem *p, int row, const double complex *x)
{
    double sum = 0;
    for (int j = 0; j < p->planes; j++)
        sum = hypot(sum, p->weight[row] * cabs(p->a[row + j * p->rows] * (x[j] - p->base[j])));
    return sum * sum;
}

/* Beyond its reading a row has a share in the value through the weight of its spread or error; a norm's share in
 * itself is square/norm. */
static void add_shares(const cm_problem *p, const cm_answer *answer, double *rows)
{
    double error = 0;
    for (int i = 0; p->objective == CM_WORST_CASE && i < p->rows; i++)
        error += is_counted(p, i) ? error_square(p, i, answer->x) : 0;
    for (int i = 0; i < p->rows; i++) {
        if (!is_counted(p, i))
            continue;
        if (p->objective == CM_EXPECTED && answer->value > 0)
            rows[i] += pow(p->weight[i] * cm_spread_size(p, i, answer->x), 2) / answer->value;
        if (error > 0)
            rows[i] += p->influence_error * error_square(p, i, answer->x) / sqrt(error);
    }
}

/* d kappa: a limit with multiplier λ (what is paid for it) gives λ for each unit of it and takes λ sd for each unit of kappa. */
static double guarantee_norm(const cm_problem *p, const cm_certificate *c, const double complex *x)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i]))
            sum += cabs(c->row_limit[i]) * cm_spread_size(p, i, x);
    for (int k = 0; k < p->pair_count; k++)
        if (cm_pair_is_judged(&p->pairs[k]))
            sum += pair_weight(c, &p->pairs[k], k) / p->pairs[k].limit * cm_pair_spread(p, &p->pairs[k], x);
    return sum;
}

void cm_sensitivities(cm_session *session, const cm_problem *p, const cm_certificate *c, cm_answer *answer)
{
    double *rows = CM_NEW(session, p->rows, double);
    double *pairs = CM_NEW(session, p->pair_count, double);
    double *discs = CM_NEW(session, p->disc_count, double);
    bool guarantee = p->objective == CM_CONFIDENCE;
    double norm = guarantee ? guarantee_norm(p, c, answer->x) : cm_recheck_dual_norm(p, c);
    bool is_zero = !guarantee && answer->gap == 0 && answer->bound < answer->value * (1 - TIGHT);
    bool nothing = guarantee && !(norm > 0); /* no proof was found */
    answer->row_multiplier = nothing ? NULL : rows;
    answer->pair_multiplier = nothing ? NULL : pairs;
    answer->disc_multiplier = nothing ? NULL : discs;
    if (!(norm > 0) || is_zero)
        return;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i))
            rows[i] = (row_weight(p, c, i) + creal(conj(c->row_objective[i]) * answer->r[i])) / norm;
    for (int k = 0; k < p->pair_count; k++)
        pairs[k] = pair_worth(p, c, k, answer->r) / norm;
    for (int d = 0; d < p->disc_count; d++)
        discs[d] = cabs(c->disc[d]) / norm;
    add_shares(p, answer, rows);
}
