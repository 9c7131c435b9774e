/* SPDX-License-Identifier: MIT */
/*
 * Rank and least squares, min |b - a x|, on columns scaled to unit norm: a D⁻¹, D the norms of the columns.
 *
 * Method: QR of a D⁻¹ first. Where the smallest singular value is safely above the rank tolerance (its lower bound is
 * 1/|R⁻¹|), the rank is n and R gives x. Else singular values decide the rank, a D⁻¹ = U S Vᴴ, and give the shortest x.
 * Source: Golub & Van Loan, Matrix Computations, chapter 5 (from memory).
 */
#include "linalg/dense.h"
#include "linalg/triangle.h"

#include <string.h>

#undef I

/* Copies a with unit columns; scale receives the norms, 1 for a zero column. */
static double complex *scaled_copy(cm_session *session, int m, int n, const double complex *a, int ld,
                                   double *scale)
{
    double complex *copy = CM_NEW(session, cm_most(1, m * n), double complex);
    for (int j = 0; j < n; j++) {
        const double complex *from = a + (size_t)j * (size_t)ld;
        double norm = cm_norm2(m, from);
        scale[j] = norm > 0 ? norm : 1;
        for (int i = 0; i < m; i++)
            copy[i + j * m] = from[i] / scale[j];
    }
    return copy;
}

static int count_rank(int n, const double *s)
{
    int rank = 0;
    while (rank < n && s[rank] > 0 && s[rank] >= CM_RANK_TOLERANCE * s[0])
        rank++;
    return rank;
}

/* QR of a with the k right-hand sides of b behind it; false when the rank is not clearly n. */
static bool factor_full(cm_session *session, int m, int n, int k, const double complex *a, int ld,
                        const double complex *b, int ldb, cm_triangle *t)
{
    if (m < n)
        return false;
    *t = cm_triangle_new(session, m, n, k);
    for (int j = 0; j < n; j++)
        cm_triangle_put(t, j, a + (size_t)j * (size_t)ld);
    for (int j = 0; j < k; j++)
        cm_triangle_put(t, n + j, b + (size_t)j * (size_t)ldb);
    cm_triangle_factor(t);
    return cm_triangle_is_full(session, t);
}

static bool is_clearly_full(cm_session *session, int m, int n, const double complex *a, int ld, double *scale)
{
    cm_mark mark = cm_mark_of(session);
    cm_triangle t;
    bool full = factor_full(session, m, n, 0, a, ld, NULL, 0, &t);
    if (full && scale)
        memcpy(scale, t.scale, (size_t)n * sizeof *scale);
    cm_release_to(session, mark);
    return full;
}

/* A wide matrix whose m rows are clearly independent: QR of (a D⁻¹)ᴴ, whose complement is the null space. `copy`: a D⁻¹. */
static bool has_full_rows(cm_session *session, int m, int n, const double complex *copy, double complex *null)
{
    if (m >= n || m == 0)
        return false;
    cm_triangle t = cm_triangle_new(session, n, m, null ? n - m : 0);
    double complex *row = CM_NEW(session, n, double complex);
    for (int i = 0; i < m; i++) {
        for (int j = 0; j < n; j++)
            row[j] = conj(copy[i + j * m]);
        cm_triangle_put(&t, i, row);
    }
    cm_triangle_factor(&t);
    if (!cm_triangle_is_full_unscaled(session, &t))
        return false;
    if (null)
        cm_triangle_complement(&t, null);
    return true;
}

int cm_scaled_rank(cm_session *session, int m, int n, const double complex *a, int ld, double *scale,
                   double complex *null)
{
    if (is_clearly_full(session, m, n, a, ld, scale))
        return n;
    cm_mark mark = cm_mark_of(session);
    double *norms = scale ? scale : CM_NEW(session, cm_most(1, n), double);
    double complex *copy = scaled_copy(session, m, n, a, ld, norms);
    if (has_full_rows(session, m, n, copy, null)) {
        cm_release_to(session, mark);
        return m;
    }
    double *s = CM_NEW(session, cm_most(1, cm_least(m, n)), double);
    double complex *v = null ? CM_NEW(session, cm_most(1, n * n), double complex) : NULL;
    cm_svd(session, m, n, copy, cm_most(1, m), s, NULL, v);
    int rank = count_rank(cm_least(m, n), s);
    for (int j = rank; null && j < n; j++)
        memcpy(null + (size_t)(j - rank) * (size_t)n, v + (size_t)j * (size_t)n, (size_t)n * sizeof *null);
    cm_release_to(session, mark);
    return rank;
}

/* a D⁻¹ = U S Vᴴ, D the norms of the columns. */
typedef struct cm_decomposed {
    int m, n, rank;
    double *scale;     /* n: D */
    double *s;         /* min(m, n) */
    double complex *u; /* m × m */
    double complex *v; /* n × n */
} cm_decomposed;

static cm_decomposed decompose(cm_session *session, int m, int n, const double complex *a, int ld)
{
    cm_decomposed d = {.m = m, .n = n};
    d.scale = CM_NEW(session, n, double);
    double complex *copy = scaled_copy(session, m, n, a, ld, d.scale);
    d.s = CM_NEW(session, cm_most(1, cm_least(m, n)), double);
    d.u = CM_NEW(session, cm_most(1, m * m), double complex);
    d.v = CM_NEW(session, n * n, double complex);
    cm_svd(session, m, n, copy, cm_most(1, m), d.s, d.u, d.v);
    d.rank = count_rank(cm_least(m, n), d.s);
    return d;
}

/* x := D⁻¹ V S⁻¹ Uᴴ b over the first `rank` singular triples: one solution of full least-squares accuracy. */
static void solve_by_svd(cm_session *session, const cm_decomposed *d, int k, const double complex *b, int ldb,
                         double complex *x, int ldx)
{
    int rank = d->rank;
    double complex *c = CM_NEW(session, cm_most(1, rank * k), double complex);
    cm_multiply(true, false, rank, k, d->m, 1, d->u, d->m, b, ldb, 0, c, cm_most(1, rank));
    for (int j = 0; j < k; j++)
        for (int i = 0; i < rank; i++)
            c[i + j * rank] /= d->s[i];
    cm_multiply(false, false, d->n, k, rank, 1, d->v, d->n, c, cm_most(1, rank), 0, x, ldx);
    for (int j = 0; j < k; j++)
        for (int i = 0; i < d->n; i++)
            x[i + j * ldx] /= d->scale[i];
}

/* Takes the part of x in the null space of a away: the shortest of all solutions. `null` spans the null space in scaled
 * coordinates; D⁻¹·null spans it in plain ones, where it is made orthonormal first. */
static void shorten(cm_session *session, int n, int k, int nullity, const double complex *null,
                    const double *scale, double complex *x, int ldx)
{
    double complex *basis = CM_NEW(session, n * nullity, double complex);
    for (int j = 0; j < nullity; j++)
        for (int i = 0; i < n; i++)
            basis[i + j * n] = null[i + j * n] / scale[i];
    double complex *tau = CM_NEW(session, nullity, double complex);
    cm_qr(session, n, nullity, basis, n, tau);
    double complex *c = CM_NEW(session, n * k, double complex);
    for (int j = 0; j < k; j++)
        memcpy(c + (size_t)j * (size_t)n, x + (size_t)j * (size_t)ldx, (size_t)n * sizeof *c);
    cm_qr_times_qh(session, n, k, nullity, basis, n, tau, c, n);
    for (int j = 0; j < k; j++)
        memset(c + (size_t)j * (size_t)n, 0, (size_t)nullity * sizeof *c);
    cm_qr_times_q(session, n, k, nullity, basis, n, tau, c, n);
    for (int j = 0; j < k; j++)
        memcpy(x + (size_t)j * (size_t)ldx, c + (size_t)j * (size_t)n, (size_t)n * sizeof *c);
}

static void solve_shortest(cm_session *session, const cm_decomposed *d, int k, const double complex *b,
                           int ldb, double complex *x, int ldx)
{
    solve_by_svd(session, d, k, b, ldb, x, ldx);
    if (d->rank < d->n)
        shorten(session, d->n, k, d->n - d->rank, d->v + (size_t)d->rank * (size_t)d->n, d->scale, x, ldx);
}

/* Where columns differ by 1e8, making x short costs half its digits; once more for what is left brings them back. */
static void refine(cm_session *session, const cm_decomposed *d, int k, const double complex *a, int ld,
                   const double complex *b, int ldb, double complex *x, int ldx)
{
    double complex *left = CM_NEW(session, d->m * k, double complex);
    double complex *change = CM_NEW(session, d->n * k, double complex);
    for (int j = 0; j < k; j++)
        memcpy(left + (size_t)j * (size_t)d->m, b + (size_t)j * (size_t)ldb, (size_t)d->m * sizeof *left);
    cm_multiply(false, false, d->m, k, d->n, -1, a, ld, x, ldx, 1, left, d->m);
    solve_shortest(session, d, k, left, d->m, change, d->n);
    for (int j = 0; j < k; j++)
        for (int i = 0; i < d->n; i++)
            x[i + j * ldx] += change[i + j * d->n];
}

int cm_least_squares(cm_session *session, int m, int n, int k, const double complex *a, int ld,
                     const double complex *b, int ldb, double complex *x, int ldx)
{
    if (n == 0)
        return 0;
    cm_mark mark = cm_mark_of(session);
    cm_triangle t;
    if (factor_full(session, m, n, k, a, ld, b, ldb, &t)) {
        for (int j = 0; j < k; j++)
            cm_triangle_solve(&t, j, x + (size_t)j * (size_t)ldx);
        cm_release_to(session, mark);
        return n;
    }
    cm_decomposed d = decompose(session, m, n, a, ld);
    solve_shortest(session, &d, k, b, ldb, x, ldx);
    if (d.rank > 0 && d.rank < n)
        refine(session, &d, k, a, ld, b, ldb, x, ldx);
    cm_release_to(session, mark);
    return d.rank;
}
