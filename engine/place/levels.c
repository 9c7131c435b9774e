/* SPDX-License-Identifier: MIT */
/*
 * The bound that the search rests on.
 *
 * Least squares: value² = sum_i |w_i r_i|². Min-max: value² = max_i |w_i r_i|² ≥ sum_i l_i |w_i r_i|² for any l ≥ 0 that
 * sum to 1; the best l are the multipliers of the optimum with masses of any size (Lawson's weights). Both are a sum of
 * squares |c + B x|², linear in the masses x.
 *
 * The points of plane k lie in a disc |x_k - o_k| ≤ rho_k. Often the readings ask for more mass than there is; then the
 * unconstrained minimum of |c + B x|² is far away and far too low a bound. With any mu_k ≥ 0
 *
 *   |c + B x|² = [|c + B x|² + sum mu_k (|x_k - o_k|² - rho_k²)] + sum mu_k (rho_k² - |x_k - o_k|²)
 *
 * and the last sum is ≥ 0 at every point and known exactly. The bracket is again a sum of squares; the multipliers of the
 * optimum within the discs make its minimum as high as it can be. QR turns it into a sum over levels (Fincke & Pohst 1985;
 * Schnorr & Euchner 1994; Agrell et al. 2002), planes in the order in which the first chosen ones cost most.
 *
 * No multiplier needs to be right for the bound to hold.
 */
#include "place/levels.h"

#include "linalg/dense.h"
#include "optimise/solve.h"
#include "place/ellipsoid.h"

#include <math.h>
#include <string.h>

/* Share of the multipliers that all readings have in common, so that no plane is without weight. */
#define COMMON_SHARE 0.02

/* ---- the optimum within the discs ---- */

typedef struct cm_relaxing {
    cm_session *session;
    const cm_board *board;
    const cm_answer *answer;
} cm_relaxing;

static void relax(void *data)
{
    cm_relaxing *job = data;
    const cm_board *b = job->board;
    cm_problem *p = CM_NEW(job->session, 1, cm_problem);
    cm_disc *discs = CM_NEW(job->session, b->n, cm_disc);
    unsigned char *held = CM_NEW(job->session, b->p->planes, unsigned char);
    *p = *b->p;
    memset(held, 1, (size_t)p->planes);
    for (int k = 0; k < b->n; k++) {
        held[b->plane[k]] = 0;
        discs[k] = (cm_disc){b->plane[k], b->centre[k], b->reach[k]};
    }
    p->held = held;
    p->held_value = b->still;
    p->discs = discs;
    p->disc_count = b->n;
    p->tie_count = p->column_count = p->within_limits = p->then = p->keeps = 0;
    job->answer = cm_solve_problem(job->session, p);
}

/* NULL when the optimiser would not have it: then the bound does without multipliers. */
static const cm_answer *relaxed(cm_session *session, const cm_board *board)
{
    cm_relaxing job = {session, board, NULL};
    if (!cm_attempt(session, relax, &job) || !job.answer || job.answer->outcome != CM_OPTIMAL)
        return NULL;
    return job.answer;
}

/* ---- multipliers ---- */

/* mu = -d value² / d rho². */
static void set_disc_multipliers(const cm_board *b, const cm_answer *answer, double *mu)
{
    for (int k = 0; answer && k < b->n; k++)
        if (b->reach[k] > 0)
            mu[k] = fmax(0, answer->value * answer->disc_multiplier[k] / b->reach[k]);
}

/* What the value owes to a row of the board; a pair's is shared by its parts. */
static double multiplier_of(const cm_board *b, const cm_answer *answer, int row)
{
    int number = b->row[row];
    if (number >= 0)
        return fmax(0, answer->row_multiplier[number]);
    return answer->pair_multiplier ? fmax(0, answer->pair_multiplier[-1 - number]) / 2 : 0;
}

/* Shares of the readings in the sum of squares: the multipliers of the largest reading, and a little of all. */
static void set_shares(const cm_board *b, const cm_answer *answer, double *share)
{
    double sum = 0;
    for (int i = 0; answer && i < b->rows; i++)
        sum += multiplier_of(b, answer, i);
    for (int i = 0; i < b->rows; i++) {
        double own = sum > 0 ? multiplier_of(b, answer, i) / sum : 1.0 / b->rows;
        share[i] = (1 - COMMON_SHARE) * own + COMMON_SHARE / b->rows;
    }
}

/* Weights of the sum of squares: w_i, or w_i sqrt(l_i) with l on the simplex. A part of a pair alone is no more than the
 * pair. */
static void set_row_weights(cm_session *session, const cm_board *b, const cm_answer *answer, double beat2,
                            double *weight, double *mu)
{
    double *share = CM_NEW(session, b->rows, double);
    memcpy(weight, b->bound_weight, (size_t)b->rows * sizeof *weight);
    if (!b->minmax)
        return;
    set_shares(b, answer, share);
    if (isfinite(beat2))
        cm_shrink_ellipsoid(session, b, weight, beat2, share, mu);
    for (int i = 0; i < b->rows; i++)
        weight[i] *= sqrt(share[i]);
}

/* ---- order of the planes ---- */

/* Takes away from every column not chosen yet what column `q` explains. */
static void deflate(int m, int n, double complex *columns, const unsigned char *chosen, int q)
{
    double size = cm_norm2(m, columns + (size_t)m * (size_t)q);
    for (int k = 0; k < n && size > 0; k++) {
        if (chosen[k])
            continue;
        double complex share = 0;
        for (int i = 0; i < m; i++)
            share += conj(columns[i + m * q]) * columns[i + m * k];
        share /= size * size;
        for (int i = 0; i < m; i++)
            columns[i + m * k] -= share * columns[i + m * q];
    }
}

/* The columns whose neighbouring points differ least go first, to the bottom of the search. */
static void choose_order(cm_session *session, const cm_board *b, int m, const double complex *matrix,
                         int *order)
{
    double complex *columns = CM_NEW(session, (size_t)m * (size_t)b->n, double complex);
    unsigned char *chosen = CM_NEW(session, b->n, unsigned char);
    memcpy(columns, matrix, (size_t)m * (size_t)b->n * sizeof *columns);
    for (int level = 0; level < b->n; level++) {
        int least = -1;
        double least_size = INFINITY;
        for (int k = 0; k < b->n; k++) {
            double size = cm_norm2(m, columns + (size_t)m * (size_t)k) * b->spacing[k];
            if (!chosen[k] && (least < 0 || (size < least_size && b->free_plane[k] == b->free_plane[least]) ||
                               b->free_plane[k] > b->free_plane[least])) {
                least = k;
                least_size = size;
            }
        }
        order[level] = least;
        chosen[least] = 1;
        deflate(m, b->n, columns, chosen, least);
    }
}

/* ---- the factor ---- */

/* [B; sqrt(mu)] and its constant part, planes in the order of the board. */
static void stack(const cm_board *b, const double *weight, const double *mu, int m, double complex *matrix,
                  double complex *side)
{
    for (int i = 0; i < b->rows; i++) {
        side[i] = weight[i] * b->start[i];
        for (int k = 0; k < b->n; k++)
            matrix[i + m * k] = weight[i] * b->a[i + b->rows * k];
    }
    for (int k = 0; k < b->n; k++) {
        matrix[b->rows + k + m * k] = sqrt(mu[k]);
        side[b->rows + k] = -sqrt(mu[k]) * b->centre[k];
    }
}

static void factor(cm_session *session, cm_levels *l, int m, const double complex *matrix,
                   double complex *side)
{
    int n = l->n;
    double complex *q = CM_NEW(session, (size_t)m * (size_t)n, double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    for (int k = 0; k < n; k++)
        memcpy(q + (size_t)m * (size_t)k, matrix + (size_t)m * (size_t)l->order[k], (size_t)m * sizeof *q);
    cm_qr(session, m, n, q, m, tau);
    cm_qr_times_qh(session, m, 1, n, q, m, tau, side, m);
    for (int k = 0; k < n; k++) {
        l->d[k] = side[k];
        for (int i = 0; i <= k; i++)
            l->r[i + n * k] = q[i + m * k];
    }
    for (int i = n; i < m; i++)
        l->constant += cm_abs2(side[i]);
}

/* Minimum of the sum over levels: masses of any size. A level without weight stays at the centre. */
static void find_best(cm_levels *l)
{
    double largest = 0;
    for (int k = 0; k < l->n; k++)
        largest = fmax(largest, cabs(l->r[k + l->n * k]));
    l->floor2 = l->constant;
    for (int k = l->n - 1; k >= 0; k--) {
        double complex above = l->d[k];
        for (int j = k + 1; j < l->n; j++)
            above += l->r[k + l->n * j] * l->best[j];
        double complex own = l->r[k + l->n * k];
        bool weighs = cabs(own) > CM_RANK_TOLERANCE * largest;
        l->best[k] = weighs ? -above / own : l->board->centre[l->order[k]];
    }
}

/* 1/[(RᴴR)⁻¹]_kk: the least growth of the sum when level k is moved and all others follow. */
static void find_growth(cm_session *session, cm_levels *l)
{
    int n = l->n;
    double complex *inverse = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    for (int k = 0; k < n; k++) {
        inverse[k + n * k] = 1;
        if (!(cabs(l->r[k + n * k]) > 0))
            return;
    }
    cm_tri_solve(n, n, l->r, n, false, inverse, n);
    for (int k = 0; k < n; k++) {
        double sum = 0;
        for (int j = k; j < n; j++)
            sum += cm_abs2(inverse[k + n * j]);
        l->grow[k] = 1 / sum;
    }
}

double cm_level_cost(const cm_levels *l, int k, double complex above, double complex x)
{
    const cm_board *b = l->board;
    int plane = l->order[k];
    double slack = b->reach[plane] * b->reach[plane] - cm_abs2(x - b->centre[plane]);
    return cm_abs2(above + l->r[k + l->n * k] * x) + l->mu[k] * fmax(0, slack);
}

int cm_level_nearest(const cm_levels *l, int k, double complex *x)
{
    const cm_points *points = &l->board->points[l->order[k]];
    double complex above = l->d[k], own = l->r[k + l->n * k];
    for (int j = k + 1; j < l->n; j++)
        above += l->r[k + l->n * j] * x[j];
    double complex aim = cabs(own) > 0 ? -above / own : l->best[k];
    int point = cm_points_nearest(points, isfinite(cabs(aim)) ? aim : l->best[k]);
    x[k] = points->x[point];
    return point;
}

cm_levels cm_levels_new(cm_session *session, const cm_board *b, double beat2)
{
    int n = b->n, m = b->rows + n;
    cm_levels l = {.board = b,
                   .n = n,
                   .order = CM_NEW(session, n, int),
                   .r = CM_NEW(session, (size_t)n * (size_t)n, double complex),
                   .d = CM_NEW(session, n, double complex),
                   .mu = CM_NEW(session, n, double),
                   .best = CM_NEW(session, n, double complex),
                   .grow = CM_NEW(session, n, double)};
    double *weight = CM_NEW(session, b->rows, double), *mu = CM_NEW(session, n, double);
    double complex *matrix = CM_NEW(session, (size_t)m * (size_t)n, double complex),
                   *side = CM_NEW(session, m, double complex);
    const cm_answer *answer = relaxed(session, b);
    set_disc_multipliers(b, answer, mu);
    set_row_weights(session, b, answer, beat2, weight, mu);
    l.row_weight = weight;
    stack(b, weight, mu, m, matrix, side);
    choose_order(session, b, m, matrix, l.order);
    factor(session, &l, m, matrix, side);
    for (int k = 0; k < n; k++) {
        l.mu[k] = mu[l.order[k]];
        l.constant -= l.mu[k] * b->reach[l.order[k]] * b->reach[l.order[k]];
    }
    find_best(&l);
    find_growth(session, &l);
    return l;
}
