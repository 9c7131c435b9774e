/* SPDX-License-Identifier: MIT */
/* Problem: min τ with ½|ρ_i|² ≤ τ, ρ = c + B w, and ½|w_j|² ≤ ½ on planes with a disc; columns of B scaled by the radius, so
 * that w counts in discs; planes without one by the norm of their column. max |c_i| is scaled to 1.
 *
 * Method: primal-dual Newton with Mehrotra's corrector on the smooth problem. Multipliers λ_i of the rows (Lawson's weights) and
 * μ_j of the discs, slacks s_i = τ - ½|ρ_i|², s_j = ½(1 - |w_j|²):
 *     Σ λ_i γ_i + μ∘w = 0,  γ_i = B_iᴴ ρ_i,     Σ λ_i = 1,     λ_i s_i = μ_j s_j = target.
 * With dλ = (t - λ (dτ - Re γᴴdw))/s eliminated a step solves
 *     Σ (λ_i B_iᴴB_i dw + (λ_i/s_i) (γ_i, -1) ⟨(γ_i, -1), (dw, dτ)⟩) + discs likewise = right-hand side,
 * a real symmetric matrix of N = 2n + 1. In the frame of e_i = ρ_i/|ρ_i| every row adds two outer products,
 *     along  √(λ + λ|ρ|²/s) (B_iᴴe, -β),  β = (λ|ρ|/s)/(λ + λ|ρ|²/s),      across  √λ (i B_iᴴe, 0),
 * and λ/(s + |ρ|²) for τ: 2 m N² flops, N³/3 for the Cholesky factor, 24 m n for products with B; 10 to 20 iterations.
 * The predictor aims at targets of zero: then its right-hand side is zero but for τ, where it is -1.
 * Slacks are carried along (s += α ds - ½α²|dρ|²): differences of nearly equal numbers would lose them near the end.
 *
 * Source: Lawson's weights as multipliers and the smooth form are folklore; the corrector after Mehrotra 1992; from memory. */
#include "optimise/minmax.h"

#include "linalg/dense.h"
#include "linalg/real.h"
#include "linalg/triangle.h"

#include <math.h>
#include <string.h>

#define STEPS_ALLOWED 24 /* more mean that it is stuck: the cones take over */
#define STEP_SHARE 0.995
#define SHORT_STEP                                                                                           \
    0.1 /* a corrected step that ends this early is taken without the corrector, towards the middle */
#define CENTRING 0.5     /* ... at this share of the complementarity */
#define GAP_WANTED 2e-12 /* Σ λ s + Σ μ s, relative to τ */
#define SLOPE_WANTED 1e-11
#define START_SPARE 1.2 /* τ at the start, in units of the largest ½|ρ|² */
#define TINY 1e-300

/* A bound: a row or a disc. */
typedef struct cm_slack {
    double s, ds;      /* slack, its first-order step */
    double dual, step; /* multiplier, its step */
    double turn;       /* |dρ|² or |dw|² of the step */
} cm_slack;

typedef struct cm_minmax {
    cm_session *session;
    int m, n, size; /* rows, unknowns, N = 2n + 1 */
    int discs;
    double *re, *im;        /* m × n, row by row: scaled B */
    double complex *rho;    /* m */
    double complex *drho;   /* m */
    double complex *w, *dw; /* n */
    cm_slack *row;          /* m */
    cm_slack *disc;         /* n; used where capped */
    unsigned char *capped;  /* n */
    double tau, dtau;
    double *unit;          /* n: size of an unknown */
    double scale;          /* max |c_i| */
    double *outer;         /* N × 2m */
    double *matrix, *side; /* N × N, N */
} cm_minmax;

bool cm_minmax_fits(const cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    if (p->objective != CM_MIN_MAX || p->within_limits || p->keeps || !pre->plane || pre->n == 0)
        return false;
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            return false;
    for (int i = 0; i < pre->disc_count; i++)
        for (int k = i + 1; k < pre->disc_count; k++)
            if (p->discs[pre->disc[i]].plane == p->discs[pre->disc[k]].plane)
                return false;
    return true;
}

static cm_minmax allocate(cm_session *session, int m, int n)
{
    cm_minmax k = {.session = session, .m = m, .n = n, .size = 2 * n + 1};
    k.re = CM_NEW(session, m * n, double);
    k.im = CM_NEW(session, m * n, double);
    k.rho = CM_NEW(session, m, double complex);
    k.drho = CM_NEW(session, m, double complex);
    k.w = CM_NEW(session, n, double complex);
    k.dw = CM_NEW(session, n, double complex);
    k.row = CM_NEW(session, m, cm_slack);
    k.disc = CM_NEW(session, n, cm_slack);
    k.capped = CM_NEW(session, n, unsigned char);
    k.unit = CM_NEW(session, n, double);
    k.outer = CM_NEW(session, 2 * m * k.size, double);
    k.matrix = CM_NEW(session, k.size * k.size, double);
    k.side = CM_NEW(session, k.size, double);
    return k;
}

/* ---- set-up ---- */

/* Units of the unknowns; u0: the centres of the discs, where w is 0. */
static void find_units(const cm_presolved *pre, const double complex *b, double complex *u0, cm_minmax *k)
{
    const cm_problem *p = pre->given;
    for (int j = 0; j < k->n; j++) {
        double norm = cm_norm2(k->m, b + (size_t)j * (size_t)k->m);
        k->unit[j] = norm > 0 ? k->scale / norm : 1;
        u0[j] = 0;
        for (int i = 0; i < pre->disc_count; i++) {
            const cm_disc *disc = &p->discs[pre->disc[i]];
            if (disc->plane != pre->plane[j])
                continue;
            k->capped[j] = 1;
            k->discs++;
            k->unit[j] = disc->radius;
            u0[j] = disc->centre - p->base[disc->plane] - pre->z0[disc->plane];
        }
    }
}

static void scale_rows(const double complex *b, const double complex *c, const double complex *u0,
                       cm_minmax *k)
{
    for (int i = 0; i < k->m; i++)
        k->rho[i] = c[i] / k->scale;
    for (int j = 0; j < k->n; j++)
        for (int i = 0; i < k->m; i++) {
            double complex at = b[i + j * k->m];
            double complex scaled = at * (k->unit[j] / k->scale);
            k->re[j + i * k->n] = creal(scaled);
            k->im[j + i * k->n] = cimag(scaled);
            if (u0[j] != 0)
                k->rho[i] += at * (u0[j] / k->scale);
        }
}

static void begin(cm_minmax *k)
{
    double most = TINY;
    for (int i = 0; i < k->m; i++)
        most = fmax(most, cm_abs2(k->rho[i]));
    k->tau = START_SPARE * most / 2;
    double level = 0;
    for (int i = 0; i < k->m; i++) {
        k->row[i] = (cm_slack){.s = k->tau - cm_abs2(k->rho[i]) / 2, .dual = 1.0 / k->m};
        level += k->row[i].s * k->row[i].dual / k->m;
    }
    for (int j = 0; j < k->n; j++)
        k->disc[j] = (cm_slack){.s = 0.5, .dual = k->capped[j] ? 2 * level : 0};
}

/* ---- products with B ---- */

/* drho := B dw. */
static void forward(cm_minmax *k)
{
    for (int i = 0; i < k->m; i++) {
        const double *re = k->re + (size_t)i * (size_t)k->n;
        const double *im = k->im + (size_t)i * (size_t)k->n;
        double sum_re = 0;
        double sum_im = 0;
        for (int j = 0; j < k->n; j++) {
            double x = creal(k->dw[j]);
            double y = cimag(k->dw[j]);
            sum_re += re[j] * x - im[j] * y;
            sum_im += re[j] * y + im[j] * x;
        }
        k->drho[i] = cm_pack(sum_re, sum_im);
    }
}

/* side -= Bᴴ v, v given row by row. */
static void subtract_adjoint(cm_minmax *k, int row, double complex v)
{
    const double *re = k->re + (size_t)row * (size_t)k->n;
    const double *im = k->im + (size_t)row * (size_t)k->n;
    double x = creal(v);
    double y = cimag(v);
    for (int j = 0; j < k->n; j++) {
        k->side[2 * j] -= re[j] * x + im[j] * y;
        k->side[2 * j + 1] -= re[j] * y - im[j] * x;
    }
}

/* ---- the matrix ---- */

/* The two outer products of a row; returns what it adds for τ alone. */
static double fill_row(cm_minmax *k, int row)
{
    const double *re = k->re + (size_t)row * (size_t)k->n;
    const double *im = k->im + (size_t)row * (size_t)k->n;
    double *along = k->outer + (size_t)(2 * row) * (size_t)k->size;
    double *across = along + k->size;
    double dual = k->row[row].dual;
    double slack = k->row[row].s;
    double modulus = sqrt(cm_abs2(k->rho[row]));
    double stiff = dual + dual * modulus * modulus / slack;
    double a = sqrt(stiff);
    double c = sqrt(dual);
    double ex = modulus > 0 ? creal(k->rho[row]) / modulus : 1;
    double ey = modulus > 0 ? cimag(k->rho[row]) / modulus : 0;
    for (int j = 0; j < k->n; j++) {
        double x = re[j] * ex + im[j] * ey; /* conj(B) e */
        double y = re[j] * ey - im[j] * ex;
        along[2 * j] = a * x;
        along[2 * j + 1] = a * y;
        across[2 * j] = -c * y;
        across[2 * j + 1] = c * x;
    }
    along[2 * k->n] = -dual * modulus / slack / a;
    across[2 * k->n] = 0;
    return dual / (slack + modulus * modulus);
}

static void add_disc(cm_minmax *k, int plane)
{
    double x = creal(k->w[plane]);
    double y = cimag(k->w[plane]);
    double dual = k->disc[plane].dual;
    double stiff = dual / k->disc[plane].s;
    double *at = k->matrix + 2 * plane + 2 * plane * k->size;
    at[0] += dual + stiff * x * x;
    at[k->size] += stiff * x * y;
    at[k->size + 1] += dual + stiff * y * y;
}

static bool factor(cm_minmax *k)
{
    double tau_alone = 0;
    for (int i = 0; i < k->m; i++)
        tau_alone += fill_row(k, i);
    cm_real_outer(k->size, 2 * k->m, k->outer, k->matrix);
    k->matrix[k->size * k->size - 1] += tau_alone;
    for (int j = 0; j < k->n; j++)
        if (k->capped[j])
            add_disc(k, j);
    return cm_real_cholesky(k->session, k->size, k->matrix);
}

/* ---- a step ---- */

/* Multiplier and first-order slack that go with the step of a bound; `along`: Re of gradient·step. */
static void follow(cm_slack *slack, double target, double dtau, double along, double turn)
{
    slack->ds = dtau - along;
    slack->step = (target - slack->dual * slack->ds) / slack->s;
    slack->turn = turn;
}

/* Solves for the side that was put together; targets of the bounds are in `step`. */
static void take(cm_minmax *k)
{
    cm_real_solve(k->size, k->matrix, k->side);
    for (int j = 0; j < k->n; j++)
        k->dw[j] = cm_pack(k->side[2 * j], k->side[2 * j + 1]);
    k->dtau = k->side[2 * k->n];
    forward(k);
    for (int i = 0; i < k->m; i++)
        follow(&k->row[i], k->row[i].step, k->dtau, creal(conj(k->rho[i]) * k->drho[i]), cm_abs2(k->drho[i]));
    for (int j = 0; j < k->n; j++)
        if (k->capped[j])
            follow(&k->disc[j], k->disc[j].step, 0, creal(conj(k->w[j]) * k->dw[j]), cm_abs2(k->dw[j]));
}

static void predict(cm_minmax *k)
{
    memset(k->side, 0, (size_t)k->size * sizeof *k->side);
    k->side[2 * k->n] = -1;
    for (int i = 0; i < k->m; i++)
        k->row[i].step = -k->row[i].dual * k->row[i].s;
    for (int j = 0; j < k->n; j++)
        k->disc[j].step = -k->disc[j].dual * k->disc[j].s;
    for (int j = 0; j < k->n; j++)
        if (!k->capped[j])
            k->disc[j].step = 0;
    take(k);
}

/* μ - λ s - dλ ds + ½ λ |dρ|², the products of the predictor. */
static double corrected_target(const cm_slack *slack, double mu)
{
    double second = slack->ds - slack->turn / 2;
    return mu - slack->dual * slack->s - slack->step * second + slack->dual * slack->turn / 2;
}

static void correct(cm_minmax *k, double mu)
{
    double sum = 0;
    double missing = 1;
    memset(k->side, 0, (size_t)k->size * sizeof *k->side);
    for (int i = 0; i < k->m; i++) {
        cm_slack *row = &k->row[i];
        double target = corrected_target(row, mu);
        double share = target / row->s;
        subtract_adjoint(k, i, k->rho[i] * (row->dual + share) + k->drho[i] * row->step);
        sum += share;
        missing -= row->dual;
        row->step = target;
    }
    for (int j = 0; j < k->n; j++) {
        cm_slack *disc = &k->disc[j];
        if (!k->capped[j])
            continue;
        double target = corrected_target(disc, mu);
        double complex v = k->w[j] * (disc->dual + target / disc->s) + k->dw[j] * disc->step;
        k->side[2 * j] -= creal(v);
        k->side[2 * j + 1] -= cimag(v);
        disc->step = target;
    }
    k->side[2 * k->n] = sum - missing;
    take(k);
}

/* A Newton step towards `mu` without the predictor's products. */
static void recentre(cm_minmax *k, double mu)
{
    for (int i = 0; i < k->m; i++)
        k->row[i].step = k->row[i].turn = 0;
    for (int j = 0; j < k->n; j++)
        k->disc[j].step = k->disc[j].turn = 0;
    correct(k, mu);
}

/* Largest share of a step that keeps slack and multiplier from going below zero. */
static double reach_of(const cm_slack *slack)
{
    double root = sqrt(slack->ds * slack->ds + 2 * slack->s * slack->turn);
    double end = slack->ds < 0     ? 2 * slack->s / (root - slack->ds)
                 : slack->turn > 0 ? (root + slack->ds) / slack->turn
                                   : INFINITY;
    return slack->step < 0 ? fmin(end, -slack->dual / slack->step) : end;
}

static double reach(const cm_minmax *k)
{
    double share = INFINITY;
    for (int i = 0; i < k->m; i++)
        share = fmin(share, reach_of(&k->row[i]));
    for (int j = 0; j < k->n; j++)
        if (k->capped[j])
            share = fmin(share, reach_of(&k->disc[j]));
    return share;
}

static void move(cm_slack *slack, double share)
{
    slack->s += share * slack->ds - share * share * slack->turn / 2;
    slack->dual += share * slack->step;
}

static void advance(cm_minmax *k, double share)
{
    for (int i = 0; i < k->m; i++) {
        k->rho[i] += share * k->drho[i];
        move(&k->row[i], share);
    }
    for (int j = 0; j < k->n; j++) {
        k->w[j] += share * k->dw[j];
        if (k->capped[j])
            move(&k->disc[j], share);
    }
    k->tau += share * k->dtau;
}

/* ---- the walk ---- */

/* Σ λ s + Σ μ s. */
static double gap_of(const cm_minmax *k)
{
    double sum = 0;
    for (int i = 0; i < k->m; i++)
        sum += k->row[i].dual * k->row[i].s;
    for (int j = 0; j < k->n; j++)
        if (k->capped[j])
            sum += k->disc[j].dual * k->disc[j].s;
    return sum;
}

/* |Σ λ γ + μ∘w| and |1 - Σ λ|. */
static double slope_of(cm_minmax *k)
{
    double missing = 1;
    memset(k->side, 0, (size_t)k->size * sizeof *k->side);
    for (int i = 0; i < k->m; i++) {
        subtract_adjoint(k, i, k->rho[i] * k->row[i].dual);
        missing -= k->row[i].dual;
    }
    for (int j = 0; j < k->n; j++) {
        k->side[2 * j] -= k->disc[j].dual * creal(k->w[j]);
        k->side[2 * j + 1] -= k->disc[j].dual * cimag(k->w[j]);
    }
    k->side[2 * k->n] = missing;
    return sqrt(cm_real_dot(k->size, k->side, k->side));
}

static int iterate(cm_minmax *k)
{
    begin(k);
    for (int steps = 0; steps < STEPS_ALLOWED; steps++) {
        cm_ask_stop(k->session);
        double gap = gap_of(k);
        if (!isfinite(gap))
            return 0;
        if (gap <= GAP_WANTED * k->tau && slope_of(k) <= SLOPE_WANTED * sqrt(k->tau))
            return steps + 1;
        if (!factor(k))
            return 0;
        predict(k);
        double left = 1 - fmin(1, reach(k));
        correct(k, left * left * left * gap / (k->m + k->discs));
        if (reach(k) < SHORT_STEP)
            recentre(k, CENTRING * gap / (k->m + k->discs));
        advance(k, fmin(1, STEP_SHARE * reach(k)));
    }
    return 0;
}

int cm_minmax_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                    const double complex *c, double complex *u, double *share)
{
    cm_mark mark = cm_mark_of(session);
    cm_minmax k = allocate(session, m, pre->n);
    for (int i = 0; i < m; i++)
        k.scale = fmax(k.scale, cabs(c[i]));
    int steps = 0;
    if (k.scale > 0) {
        find_units(pre, b, u, &k);
        scale_rows(b, c, u, &k);
        steps = iterate(&k);
    }
    for (int j = 0; j < k.n; j++)
        u[j] += k.unit[j] * k.w[j];
    for (int i = 0; i < m; i++)
        share[i] = k.row[i].dual;
    cm_release_to(session, mark);
    return steps;
}

/* ---- the proof ---- */

/* y := the part of y that the columns of planes without a disc cannot reach: their gradient must vanish. */
static void free_of_uncapped(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                             double complex *y)
{
    const cm_problem *p = pre->given;
    int count = 0;
    int *uncapped = CM_NEW(session, pre->n, int);
    for (int j = 0; j < pre->n; j++) {
        bool capped = false;
        for (int i = 0; i < pre->disc_count; i++)
            capped |= p->discs[pre->disc[i]].plane == pre->plane[j];
        if (!capped)
            uncapped[count++] = j;
    }
    if (count == 0 || count > m)
        return;
    cm_triangle t = cm_triangle_new(session, m, count, 1);
    for (int k = 0; k < count; k++)
        cm_triangle_put(&t, k, b + (size_t)uncapped[k] * (size_t)m);
    cm_triangle_put(&t, count, y);
    cm_triangle_factor(&t);
    cm_triangle_residual(&t, 0, y);
}

void cm_minmax_certificate(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                           const double complex *c, const double complex *u, const double *share,
                           cm_certificate *certificate)
{
    const cm_problem *p = pre->given;
    double complex *y = CM_NEW(session, m, double complex);
    memcpy(y, c, (size_t)m * sizeof *y);
    cm_matvec(false, m, pre->n, 1, b, m, u, 1, y);
    for (int i = 0; i < m; i++)
        y[i] *= share[i];
    free_of_uncapped(session, pre, m, b, y);
    for (int i = 0; i < m; i++)
        certificate->row_objective[pre->row[i]] = p->weight[pre->row[i]] * y[i];
    for (int i = 0; i < pre->disc_count; i++) {
        int plane = p->discs[pre->disc[i]].plane;
        double complex g = 0;
        for (int k = 0; k < m; k++)
            g += conj(p->a[pre->row[k] + plane * p->rows]) * certificate->row_objective[pre->row[k]];
        certificate->disc[pre->disc[i]] = -g;
    }
}
