/* SPDX-License-Identifier: MIT */
/* Problem: min |c + B u|, u free.
 *
 * Method: QR of [B | c] with unit columns. When the smallest singular value is safely above the rank tolerance, u and the
 * residual Q (0, d₂) are the answer; (0, d₂) is orthogonal to the columns of B whatever the condition of R, so it is
 * a dual point: for every u, |c + B u| ≥ Re rᴴ(c + B u)/|r| = Re rᴴ c/|r|.
 * Else singular values decide the rank and give the shortest u (cm_least_squares); the residual is made orthogonal by
 * repeating the projection.
 */
#include "optimise/least_squares.h"

#include "linalg/triangle.h"

#include <string.h>

static bool quick(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                  const double complex *c, cm_plain *plain)
{
    int n = pre->n;
    if (m < n)
        return false;
    cm_triangle t = cm_triangle_new(session, m, n, 1);
    for (int k = 0; k < n; k++)
        cm_triangle_put(&t, k, b + (size_t)k * (size_t)m);
    cm_triangle_put(&t, n, c);
    cm_triangle_factor(&t);
    if (!cm_triangle_is_full(session, &t))
        return false;
    plain->rank = n;
    cm_triangle_solve(&t, 0, plain->u);
    for (int k = 0; k < n; k++)
        plain->u[k] = -plain->u[k];
    cm_triangle_residual(&t, 0, plain->residual);
    return true;
}

/* residual := the part of residual that B cannot reach; projecting twice leaves rounding only. */
static void project(cm_session *session, int m, int n, const double complex *b, double complex *residual)
{
    double complex *step = CM_NEW(session, n, double complex);
    for (int pass = 0; pass < 2; pass++) {
        cm_least_squares(session, m, n, 1, b, m, residual, m, step, n);
        cm_matvec(false, m, n, -1, b, m, step, 1, residual);
    }
}

/* A plane is dependent when the null space of W A Z moves it by more than rounding. */
static unsigned char *find_dependent(cm_session *session, const cm_presolved *pre, int m,
                                     const double complex *b)
{
    int n = pre->n;
    unsigned char *dependent = CM_NEW(session, pre->given->planes, unsigned char);
    double *scale = CM_NEW(session, n, double);
    double complex *null = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    int rank = cm_scaled_rank(session, m, n, b, m, scale, null);
    for (int k = 0; k < n - rank; k++) {
        double complex *direction = CM_NEW(session, pre->given->planes, double complex);
        for (int i = 0; i < n; i++)
            null[i + k * n] /= scale[i];
        double length = cm_norm2(n, null + k * n);
        for (int i = 0; i < n; i++)
            for (int j = 0; j < pre->given->planes; j++)
                direction[j] += null[i + k * n] / length *
                                (pre->plane ? (double complex)(pre->plane[i] == j)
                                            : pre->basis[j + i * pre->given->planes]);
        for (int j = 0; j < pre->given->planes; j++)
            dependent[j] |= cabs(direction[j]) > 1e-8;
    }
    return dependent;
}

cm_plain cm_plain_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                        const double complex *c)
{
    cm_plain plain = {.u = CM_NEW(session, pre->n, double complex),
                      .residual = CM_NEW(session, m, double complex)};
    if (quick(session, pre, m, b, c, &plain))
        return plain;
    int n = pre->n;
    plain.rank = cm_least_squares(session, m, n, 1, b, m, c, m, plain.u, n);
    for (int k = 0; k < n; k++)
        plain.u[k] = -plain.u[k];
    memcpy(plain.residual, c, (size_t)m * sizeof *c);
    project(session, m, n, b, plain.residual);
    if (plain.rank < n)
        plain.dependent = find_dependent(session, pre, m, b);
    return plain;
}
