/* SPDX-License-Identifier: MIT */
/* Problem: how do the masses of a least-squares job scatter when the errors are too large for first order?
 *
 *     min |c + dc + (B + dB) u|      for many draws of dB and dc
 *
 * Method: one QR, [B | c] = Q T with T triangular, (n + 1) × (n + 1). Errors of equal size in all rows look the same after
 * Qᴴ, so T is perturbed instead of [B | c], at the cost of an (n + 1) × n factorisation per draw whatever m is. The residual
 * stays in T's last row: without it the answer's second part, (BᴴB)⁻¹ dBᴴ r, would be lost. What the errors do outside the
 * range of [B | c] is of second order and is left out.
 */
#include "fit/resample.h"
#include "linalg/statistics.h"
#include "linalg/triangle.h"

#include <string.h>

#undef I

/* T, (n + 1) × (n + 1), zero below the diagonal. */
static double complex *reduce(cm_session *session, int m, int n, const double complex *b,
                              const double complex *c)
{
    int k = n + 1;
    double complex *full = CM_NEW(session, (size_t)m * (size_t)k, double complex);
    double complex *tau = CM_NEW(session, k, double complex);
    double complex *t = CM_NEW(session, (size_t)k * (size_t)k, double complex);
    memcpy(full, b, (size_t)m * (size_t)n * sizeof *full);
    memcpy(full + (size_t)m * (size_t)n, c, (size_t)m * sizeof *full);
    cm_qr(session, m, k, full, m, tau);
    for (int j = 0; j < k; j++)
        for (int i = 0; i <= j; i++)
            t[i + j * k] = full[i + j * m];
    return t;
}

static void draw_column(int k, const double complex *centre, double std, double sign, cm_random *random,
                        double complex *out)
{
    for (int i = 0; i < k; i++)
        out[i] = sign * (centre[i] + std * cm_normal(random));
}

void cm_resample(cm_session *session, int m, int n, const double complex *b, const double complex *c,
                 const double *b_std, double c_std, int samples, uint64_t seed, double complex *u)
{
    int k = n + 1;
    if (m <= n)
        cm_fail(session, CM_BAD_INPUT, "resampling needs more rows than unknowns");
    cm_mark mark = cm_mark_of(session);
    const double complex *t = reduce(session, m, n, b, c);
    double complex *column = CM_NEW(session, k, double complex);
    cm_triangle triangle = cm_triangle_new(session, k, n, 1);
    cm_random random = cm_seed(seed);
    for (int s = 0; s < samples; s++) {
        for (int j = 0; j < n; j++) {
            draw_column(k, t + (size_t)j * (size_t)k, b_std[j], 1, &random, column);
            cm_triangle_put(&triangle, j, column);
        }
        draw_column(k, t + (size_t)n * (size_t)k, c_std, -1, &random, column);
        cm_triangle_put(&triangle, n, column);
        cm_triangle_factor(&triangle);
        cm_triangle_solve(&triangle, 0, u + (size_t)s * (size_t)n);
    }
    cm_release_to(session, mark);
}
