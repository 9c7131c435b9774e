/* SPDX-License-Identifier: MIT */
/* Problem: rounding leaves an answer 1e-11 outside a limit or a disc of a tied plane. Bring it inside.
 *
 * Method: let x' have |r_i| ≤ t' limit_i and |x_j - c| ≤ t' radius with the least t' there is: a min-max problem whose rows
 * are limits and discs. Limits and discs are convex, so x + θ(x' - x) exceeds none of them when x exceeds them by
 * a share of e at most and θ = e/(e + 1 - t'). Ties and held planes hold on the way. The value moves by θ times the
 * difference between the two, which is charged to the gap like everything else. */
#include "optimise/inner.h"

#include "optimise/pairs.h"
#include "optimise/proof.h"
#include "optimise/solve.h"

#include <math.h>

/* What the masses end up inside by, so that rounding does not put them out again. */
#define CLEARANCE 1e-14

static bool has_limit(const cm_presolved *pre, int row)
{
    return !isinf(pre->given->limit[row]);
}

/* Rows of the min-max problem: every counted row with a limit (all rows are kept, the others weigh nothing), then the discs. */
static void fill_rows(const cm_presolved *pre, int rows, double complex *y, double complex *a, double *weight)
{
    const cm_problem *p = pre->given;
    for (int i = 0; i < p->rows; i++) {
        y[i] = p->y[i];
        for (int j = 0; j < p->planes; j++)
            a[i + j * rows] = p->a[i + j * p->rows];
    }
    for (int i = 0; i < pre->row_count && cm_limits_bind(p); i++)
        if (has_limit(pre, pre->row[i]))
            weight[pre->row[i]] = 1 / p->limit[pre->row[i]];
    for (int i = 0; i < pre->disc_count; i++) {
        const cm_disc *disc = &p->discs[pre->disc[i]];
        y[p->rows + i] = p->base[disc->plane] - disc->centre;
        a[p->rows + i + disc->plane * rows] = 1;
        weight[p->rows + i] = 1 / disc->radius;
    }
}

static cm_pair *limited_pairs(cm_session *session, const cm_problem *p)
{
    cm_pair *pairs = CM_NEW(session, p->pair_count, cm_pair);
    for (int k = 0; k < p->pair_count; k++) {
        pairs[k] = p->pairs[k];
        bool binds = cm_limits_bind(p) && cm_pair_is_judged(&pairs[k]);
        pairs[k].weight = binds ? 1 / pairs[k].limit : 0;
    }
    return pairs;
}

/* Planes in discs of radius 0 are held at the centre. */
static double complex *standing(cm_session *session, const cm_presolved *pre)
{
    double complex *value = CM_NEW(session, pre->given->planes, double complex);
    double complex *zero = CM_NEW(session, pre->n, double complex);
    cm_presolved_masses(pre, zero, value);
    return value;
}

static bool has_bounds(const cm_presolved *pre)
{
    bool any = pre->disc_count > 0;
    for (int i = 0; i < pre->row_count && cm_limits_bind(pre->given); i++)
        any |= has_limit(pre, pre->row[i]);
    for (int k = 0; k < pre->given->pair_count && cm_limits_bind(pre->given); k++)
        any |= cm_pair_is_judged(&pre->given->pairs[k]);
    return any;
}

const cm_answer *cm_inner_point(cm_session *session, const cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    if (!has_bounds(pre))
        return NULL;
    int rows = p->rows + pre->disc_count;
    double complex *y = CM_NEW(session, rows, double complex);
    double complex *a = CM_NEW(session, (size_t)rows * (size_t)p->planes, double complex);
    double *weight = CM_NEW(session, rows, double);
    double *limit = CM_NEW(session, rows, double);
    for (int i = 0; i < rows; i++)
        limit[i] = INFINITY;
    fill_rows(pre, rows, y, a, weight);
    cm_problem *inner = CM_NEW(session, 1, cm_problem);
    *inner = *p;
    inner->objective = CM_MIN_MAX;
    inner->within_limits = 0;
    inner->keeps = 0;
    inner->rows = rows;
    inner->y = y;
    inner->a = a;
    inner->weight = weight;
    inner->limit = limit;
    inner->held = pre->still;
    inner->held_value = standing(session, pre);
    inner->disc_count = 0;
    inner->pairs = limited_pairs(session, p);
    inner->spread = NULL;
    inner->determined = NULL;
    const cm_answer *answer = cm_solve_problem(session, inner);
    return answer->outcome == CM_OPTIMAL ? answer : NULL;
}

/* The factor's proof read as a contradiction of the discs: row by row the same phasors, ties and caps of zero anew. */
static const cm_proof *proof_of_discs(cm_session *session, const cm_presolved *pre, const cm_answer *inner)
{
    cm_certificate certificate = cm_certificate_new(session, pre->given);
    certificate.infeasibility = true;
    for (int i = 0; i < pre->disc_count; i++)
        certificate.disc[pre->disc[i]] =
            inner->proof->row_objective[pre->given->rows + i] / inner->proof->norm;
    cm_presolved_ties(session, pre, &certificate);
    return cm_proof_of(session, pre->given, &certificate);
}

void cm_conflict_of_caps(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    cm_problem caps = *pre->given;
    cm_presolved alone = *pre;
    caps.objective = CM_LEAST_SQUARES;
    caps.within_limits = 0;
    alone.given = &caps;
    const cm_answer *inner = cm_inner_point(session, &alone);
    if (!inner || !(inner->bound > 1))
        return;
    unsigned char *planes = CM_NEW(session, caps.planes, unsigned char);
    for (int i = 0; i < pre->disc_count; i++)
        if (inner->row_multiplier[caps.rows + i] > CM_CONFLICT_SHARE * inner->value)
            planes[caps.discs[pre->disc[i]].plane] = 1;
    answer->conflict_planes = planes;
    answer->conflict_rows = CM_NEW(session, caps.rows, unsigned char);
    answer->proof = proof_of_discs(session, pre, inner);
}

void cm_move_inside(const cm_presolved *pre, const cm_answer *inner, double complex *x)
{
    double excess = cm_recheck_violation(pre->given, x) + CLEARANCE;
    double room = 1 - inner->value;
    double share = room > 0 ? fmin(1, excess / (excess + room)) : 1;
    for (int j = 0; j < pre->given->planes; j++)
        if (!pre->still[j])
            x[j] += share * (inner->x[j] - x[j]);
}

void cm_unknowns_of(const cm_presolved *pre, const double complex *x, double complex *u)
{
    const cm_problem *p = pre->given;
    for (int k = 0; k < pre->n; k++) {
        u[k] = 0;
        for (int j = 0; j < p->planes; j++) {
            double complex z = x[j] - p->base[j] - pre->z0[j];
            if (pre->plane)
                u[k] += pre->plane[k] == j ? z : 0;
            else
                u[k] += conj(pre->basis[j + k * p->planes]) * z;
        }
    }
}
