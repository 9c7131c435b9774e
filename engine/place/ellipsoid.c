/* SPDX-License-Identifier: MIT */
/*
 * The smallest ellipsoid around what is still of interest.
 *
 * Let v be a largest reading that is known to be possible. Better choices lie in the intersection of |w_i r_i(x)| ≤ v for
 * all readings and |x_k - o_k| ≤ rho_k for all planes. Each is a form of size at most v, f_i(x) = g_i + b_i x, the discs
 * scaled by v/rho_k. For any shares l ≥ 0 with sum 1 the set
 *
 *   E(l) = {x: sum l_i |f_i(x)|² ≤ v²}
 *
 * holds the intersection. The search looks through E, so its volume counts:
 *
 *   log volume = n log(v² - m(l)) - log det H(l) + const,   H = sum l_i b_iᴴ b_i,   m(l) = min_x sum l_i |f_i(x)|²
 *
 * Minimum by the multiplicative rule for D-optimal designs (Titterington 1976, from memory), in homogeneous coordinates:
 *
 *   l_i := l_i (v² - m) / (n v²) · (n q_i / (v² - m) + h_i),  q_i = |f_i(x_l)|²,  h_i = b_i H⁻¹ b_iᴴ
 *
 * The new shares sum to 1 again, and the volume falls in every step. Whatever the shares are, the search stays right.
 */
#include "place/ellipsoid.h"

#include "linalg/dense.h"

#include <math.h>
#include <string.h>

enum { STEPS = 150 };

/* Share of every form at the beginning: a share of zero stays zero. */
#define BEGIN_SHARE 0.1

typedef struct cm_forms {
    int m, n;
    double complex *b; /* m × n */
    double complex *g; /* m */
    double *share;     /* m */
    double complex *q, *tau, *side, *x, *inverse;
} cm_forms;

static cm_forms new_forms(cm_session *session, const cm_board *b, const double *weight, double v)
{
    int m = b->rows + b->n, n = b->n;
    size_t size = (size_t)m * (size_t)n;
    cm_forms f = {.m = m,
                  .n = n,
                  .b = CM_NEW(session, size, double complex),
                  .g = CM_NEW(session, m, double complex),
                  .share = CM_NEW(session, m, double),
                  .q = CM_NEW(session, size, double complex),
                  .tau = CM_NEW(session, n, double complex),
                  .side = CM_NEW(session, m, double complex),
                  .x = CM_NEW(session, n, double complex),
                  .inverse = CM_NEW(session, size, double complex)};
    for (int i = 0; i < b->rows; i++) {
        f.g[i] = weight[i] * b->start[i];
        for (int k = 0; k < n; k++)
            f.b[i + m * k] = weight[i] * b->a[i + b->rows * k];
    }
    for (int k = 0; k < n; k++) {
        f.b[b->rows + k + m * k] = v / b->reach[k];
        f.g[b->rows + k] = -b->centre[k] * (v / b->reach[k]);
    }
    return f;
}

/* Shares of the multipliers, and a little of everything. */
static void begin(const cm_board *b, const double *share, const double *mu, double v, cm_forms *f)
{
    double sum = 0;
    for (int i = 0; i < b->rows; i++)
        sum += f->share[i] = share[i];
    for (int k = 0; k < b->n; k++)
        sum += f->share[b->rows + k] = mu[k] * b->reach[k] * b->reach[k] / (v * v);
    for (int i = 0; i < f->m; i++)
        f->share[i] = (1 - BEGIN_SHARE) * f->share[i] / sum + BEGIN_SHARE / f->m;
}

/* x_l, and the columns R⁻ᴴ b_iᴴ of all forms; returns m(l), or NAN when H is singular. */
static double least(cm_session *session, cm_forms *f)
{
    int m = f->m, n = f->n;
    double sum = 0;
    for (int i = 0; i < m; i++) {
        double root = sqrt(f->share[i]);
        f->side[i] = root * f->g[i];
        for (int k = 0; k < n; k++) {
            f->q[i + m * k] = root * f->b[i + m * k];
            f->inverse[k + n * i] = conj(f->b[i + m * k]);
        }
    }
    cm_mark mark = cm_mark_of(session);
    cm_qr(session, m, n, f->q, m, f->tau);
    cm_qr_times_qh(session, m, 1, n, f->q, m, f->tau, f->side, m);
    cm_release_to(session, mark);
    for (int k = 0; k < n; k++) {
        if (!(cabs(f->q[k + m * k]) > 0))
            return NAN;
        f->x[k] = -f->side[k];
    }
    for (int i = n; i < m; i++)
        sum += cm_abs2(f->side[i]);
    cm_tri_solve(n, 1, f->q, m, false, f->x, n);
    cm_tri_solve(n, m, f->q, m, true, f->inverse, n);
    return sum;
}

static double size2_of(const cm_forms *f, int i)
{
    double complex value = f->g[i];
    for (int k = 0; k < f->n; k++)
        value += f->b[i + f->m * k] * f->x[k];
    return cm_abs2(value);
}

static double leverage(const cm_forms *f, int i)
{
    double sum = 0;
    for (int k = 0; k < f->n; k++)
        sum += cm_abs2(f->inverse[k + f->n * i]);
    return sum;
}

static bool step(cm_session *session, double v2, cm_forms *f)
{
    double room = v2 - least(session, f), sum = 0;
    if (!(room > 0))
        return false;
    for (int i = 0; i < f->m; i++)
        sum += f->share[i] *= f->n * size2_of(f, i) / room + leverage(f, i);
    for (int i = 0; i < f->m; i++)
        f->share[i] /= sum;
    return true;
}

void cm_shrink_ellipsoid(cm_session *session, const cm_board *b, const double *weight, double beat2,
                         double *share, double *mu)
{
    double v = sqrt(beat2), readings = 0;
    cm_forms f = new_forms(session, b, weight, v);
    begin(b, share, mu, v, &f);
    for (int i = 0; i < STEPS; i++)
        if (!step(session, beat2, &f))
            return;
    for (int i = 0; i < b->rows; i++)
        readings += f.share[i];
    if (!(readings > 0))
        return;
    for (int i = 0; i < b->rows; i++)
        share[i] = f.share[i] / readings;
    for (int k = 0; k < b->n; k++)
        mu[k] = f.share[b->rows + k] / readings * beat2 / (b->reach[k] * b->reach[k]);
}
