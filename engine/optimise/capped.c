/* SPDX-License-Identifier: MIT */
/* Problem: min ½ |c + B u|² with |w_j| ≤ 1, w_j = (x_j - centre_j)/radius_j; columns of B scaled by the radius, so that
 * du = dw; planes without a disc by the norm of their column. |c| is scaled to 1.
 *
 * Method: primal-dual Newton with Mehrotra's corrector on the smooth problem (source: the trust-region problem with one
 * multiplier per disc, Moré & Sorensen 1983; from memory). With s_j = ½ (1 - |w_j|²) and multipliers λ_j ≥ 0
 *     g + λ∘w = 0,   g = Bᴴ(c + B u),      λ_j s_j = μ.
 * A step solves
 *     (BᴴB + Λ) dw + w∘dλ = -(g + λ∘w) - [dλ∘dw],
 *     s∘dλ - λ∘Re(w̄ dw)    = μ - λ s    - [ds dλ - ½ λ |dw|²],      ds = -Re(w̄ dw) - ½ |dw|²,
 * the brackets being the corrector. dλ is eliminated; what is left is a real symmetric 2n × 2n matrix:
 * (2n)³/3 flops for its Cholesky factor and 16 m n for the gradient, each iteration; 8 to 12 iterations.
 * BᴴB serves for the steps only: the gradient is taken from the residual, and the answer is judged by its bound. */
#include "optimise/capped.h"

#include "linalg/dense.h"
#include "linalg/real.h"

#include <math.h>
#include <string.h>

#define STEPS_ALLOWED 24 /* more mean that it is stuck: the cones take over */
#define STEP_SHARE 0.995
#define SHORT_STEP                                                                                           \
    0.1 /* a corrected step that ends this early is taken without the corrector, towards the middle */
#define CENTRING 0.5                 /* ... at this share of the complementarity */
#define COMPLEMENTARITY_WANTED 1e-12 /* Σ λ s, relative to |r|² */
#define GRADIENT_WANTED 1e-12        /* of g + λ∘w, relative to |r| */

typedef struct cm_capped {
    cm_session *session;
    int m, n, discs;
    double complex *b;                 /* m × n, scaled */
    double complex *gram;              /* n × n: BᴴB */
    double complex *r;                 /* m: c + B u */
    double complex *w, *dw, *rest;     /* n: position in the disc (free planes: u), step, -(g + λ∘w) */
    double *lambda, *dlambda, *s, *ds; /* n */
    double *size;                      /* n: radius, or 1/|column| for free planes */
    unsigned char *capped;             /* n */
    double *matrix, *side;             /* 2n × 2n, 2n */
} cm_capped;

bool cm_capped_fits(const cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    if (p->objective != CM_LEAST_SQUARES || p->within_limits || p->keeps || !pre->plane ||
        pre->disc_count == 0)
        return false;
    for (int i = 0; i < pre->disc_count; i++)
        for (int k = i + 1; k < pre->disc_count; k++)
            if (p->discs[pre->disc[i]].plane == p->discs[pre->disc[k]].plane)
                return false;
    return true;
}

static cm_capped allocate(cm_session *session, int m, int n)
{
    cm_capped k = {.session = session, .m = m, .n = n};
    k.b = CM_NEW(session, m * n, double complex);
    k.gram = CM_NEW(session, n * n, double complex);
    k.r = CM_NEW(session, m, double complex);
    k.w = CM_NEW(session, n, double complex);
    k.dw = CM_NEW(session, n, double complex);
    k.rest = CM_NEW(session, n, double complex);
    k.lambda = CM_NEW(session, n, double);
    k.dlambda = CM_NEW(session, n, double);
    k.s = CM_NEW(session, n, double);
    k.ds = CM_NEW(session, n, double);
    k.size = CM_NEW(session, n, double);
    k.capped = CM_NEW(session, n, unsigned char);
    k.matrix = CM_NEW(session, 4 * n * n, double);
    k.side = CM_NEW(session, 2 * n, double);
    return k;
}

/* Starts every capped plane at the centre of its disc and the others at u = 0; u0 receives the u of w = 0. */
static void set_up(const cm_presolved *pre, const double complex *b, const double complex *c,
                   double complex *u0, cm_capped *k)
{
    const cm_problem *p = pre->given;
    double scale = cm_norm2(k->m, c);
    for (int j = 0; j < k->n; j++) {
        double norm = cm_norm2(k->m, b + (size_t)j * (size_t)k->m);
        k->size[j] = norm > 0 ? scale / norm : 1;
        u0[j] = 0;
        for (int i = 0; i < pre->disc_count; i++) {
            const cm_disc *disc = &p->discs[pre->disc[i]];
            if (disc->plane != pre->plane[j])
                continue;
            k->capped[j] = 1;
            k->discs++;
            k->size[j] = disc->radius;
            u0[j] = disc->centre - p->base[disc->plane] - pre->z0[disc->plane];
        }
        for (int i = 0; i < k->m; i++)
            k->b[i + j * k->m] = b[i + j * k->m] * (k->size[j] / scale);
    }
    for (int i = 0; i < k->m; i++)
        k->r[i] = c[i] / scale;
    for (int j = 0; j < k->n; j++)
        for (int i = 0; u0[j] != 0 && i < k->m; i++)
            k->r[i] += b[i + j * k->m] * (u0[j] / scale);
    cm_multiply(true, false, k->n, k->n, k->m, 1, k->b, k->m, k->b, k->m, 0, k->gram, k->n);
}

/* rest := -(g + λ∘w); returns its largest element. */
static double gradient(cm_capped *k)
{
    double worst = 0;
    cm_matvec(true, k->m, k->n, -1, k->b, k->m, k->r, 0, k->rest);
    for (int j = 0; j < k->n; j++) {
        k->rest[j] -= k->lambda[j] * k->w[j];
        worst = fmax(worst, cabs(k->rest[j]));
    }
    return worst;
}

/* Matrix of the step: BᴴB + Λ + (λ/s) w wᵀ per plane, as real parts and imaginary parts side by side. */
static bool factor(cm_capped *k)
{
    int n = k->n;
    int ld = 2 * n;
    for (int j = 0; j < n; j++) {
        for (int i = 0; i <= j; i++) {
            double complex h = k->gram[i + j * n];
            double *at = k->matrix + 2 * i + 2 * j * ld;
            at[0] = creal(h);
            at[1] = cimag(h);
            at[ld] = -cimag(h);
            at[ld + 1] = creal(h);
        }
        if (!k->capped[j])
            continue;
        double stiff = k->lambda[j] / k->s[j];
        double *at = k->matrix + 2 * j + 2 * j * ld;
        at[0] += k->lambda[j] + stiff * creal(k->w[j]) * creal(k->w[j]);
        at[ld] += stiff * creal(k->w[j]) * cimag(k->w[j]);
        at[ld + 1] += k->lambda[j] + stiff * cimag(k->w[j]) * cimag(k->w[j]);
    }
    return cm_real_cholesky(k->session, ld, k->matrix);
}

/* Step for λ s → target_j (in ds), right-hand side `rest` (with the corrector's part in dw when `corrected`). */
static void step(cm_capped *k, double mu, bool corrected)
{
    for (int j = 0; j < k->n; j++) {
        double complex side = k->rest[j];
        double target = mu - k->lambda[j] * k->s[j];
        if (corrected) {
            side -= k->dlambda[j] * k->dw[j];
            target -= k->ds[j] * k->dlambda[j] - k->lambda[j] * cm_abs2(k->dw[j]) / 2;
        }
        k->ds[j] = k->capped[j] ? target : 0;
        if (k->capped[j])
            side -= k->w[j] * (target / k->s[j]);
        k->side[2 * j] = creal(side);
        k->side[2 * j + 1] = cimag(side);
    }
    cm_real_solve(2 * k->n, k->matrix, k->side);
    for (int j = 0; j < k->n; j++) {
        k->dw[j] = cm_pack(k->side[2 * j], k->side[2 * j + 1]);
        if (!k->capped[j])
            continue;
        double along = creal(conj(k->w[j]) * k->dw[j]);
        k->dlambda[j] = (k->ds[j] + k->lambda[j] * along) / k->s[j];
        k->ds[j] = -along - cm_abs2(k->dw[j]) / 2;
    }
}

/* Largest share of the step that keeps |w_j| ≤ 1 and λ_j ≥ 0. */
static double reach(const cm_capped *k)
{
    double share = INFINITY;
    for (int j = 0; j < k->n; j++) {
        if (!k->capped[j])
            continue;
        double along = creal(conj(k->w[j]) * k->dw[j]);
        double square = cm_abs2(k->dw[j]);
        double root = sqrt(along * along + 2 * k->s[j] * square);
        double end = along > 0    ? 2 * k->s[j] / (root + along)
                     : square > 0 ? (root - along) / square
                                  : INFINITY;
        share = fmin(share, end);
        if (k->dlambda[j] < 0)
            share = fmin(share, -k->lambda[j] / k->dlambda[j]);
    }
    return share;
}

static double complementarity(const cm_capped *k)
{
    double sum = 0;
    for (int j = 0; j < k->n; j++)
        sum += k->lambda[j] * k->s[j];
    return sum / k->discs;
}

static void advance(cm_capped *k, double share)
{
    for (int j = 0; j < k->n; j++) {
        k->dw[j] *= share;
        if (k->capped[j]) { /* 1 - |w|² would lose the slack near the edge */
            k->lambda[j] += share * k->dlambda[j];
            k->s[j] -= creal(conj(k->w[j]) * k->dw[j]) + cm_abs2(k->dw[j]) / 2;
        }
        k->w[j] += k->dw[j];
    }
    cm_matvec(false, k->m, k->n, 1, k->b, k->m, k->dw, 1, k->r);
}

static void begin(cm_capped *k)
{
    double worst = gradient(k);
    for (int j = 0; j < k->n; j++)
        if (k->capped[j]) {
            k->s[j] = 0.5;
            k->lambda[j] = fmax(worst, 1e-8);
        }
}

static int iterate(cm_capped *k)
{
    begin(k);
    for (int steps = 1; steps <= STEPS_ALLOWED; steps++) {
        cm_ask_stop(k->session);
        double slope = gradient(k);
        double mu = complementarity(k);
        double size = cm_norm2(k->m, k->r);
        if (mu * k->discs <= COMPLEMENTARITY_WANTED * size * size && slope <= GRADIENT_WANTED * size)
            return steps;
        if (!isfinite(mu) || !factor(k))
            return 0;
        step(k, 0, false);
        double left = 1 - fmin(1, reach(k));
        step(k, left * left * left * mu, true);
        if (reach(k) < SHORT_STEP)
            step(k, CENTRING * mu, false);
        advance(k, fmin(1, STEP_SHARE * reach(k)));
    }
    return 0;
}

int cm_capped_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                    const double complex *c, double complex *u)
{
    if (!(cm_norm2(m, c) > 0))
        return 0;
    cm_mark mark = cm_mark_of(session);
    cm_capped k = allocate(session, m, pre->n);
    set_up(pre, b, c, u, &k);
    int steps = iterate(&k);
    for (int j = 0; j < k.n; j++)
        u[j] += k.size[j] * k.w[j];
    cm_release_to(session, mark);
    return steps;
}

void cm_capped_certificate(const cm_presolved *pre, const double complex *x, cm_certificate *certificate)
{
    const cm_problem *p = pre->given;
    for (int i = 0; i < pre->row_count; i++) {
        int row = pre->row[i];
        double complex r = p->y[row];
        for (int j = 0; j < p->planes; j++)
            r += p->a[row + j * p->rows] * (x[j] - p->base[j]);
        certificate->row_objective[row] = p->weight[row] * p->weight[row] * r;
    }
    for (int i = 0; i < pre->disc_count; i++) {
        int plane = p->discs[pre->disc[i]].plane;
        double complex g = 0;
        for (int k = 0; k < pre->row_count; k++)
            g += conj(p->a[pre->row[k] + plane * p->rows]) * certificate->row_objective[pre->row[k]];
        certificate->disc[pre->disc[i]] = -g;
    }
}
