/* SPDX-License-Identifier: MIT */
/* Dense complex linear algebra on LAPACKE and CBLAS. The `_work` calls take their workspace from the arena. */
#include "linalg/dense.h"
#include "linalg/lapack.h"

#include <lapacke.h>
#include <cblas.h>

#include <math.h>
#include <string.h>

#undef I

static int least(int a, int b)
{
    return a < b ? a : b;
}

static int most(int a, int b)
{
    return a > b ? a : b;
}

static void demand(cm_session *session, lapack_int info, const char *what)
{
    if (!cm_lapack_worked(session, (int)info, what))
        cm_fail(session, CM_NUMERICS, "%s did not succeed (code %d)", what, (int)info);
}

/* Workspace as LAPACK's query asks for it. */
static double complex *workspace(cm_session *session, double complex asked, lapack_int *length)
{
    *length = (lapack_int)creal(asked);
    return CM_NEW(session, most(1, *length), double complex);
}

void cm_qr(cm_session *session, int m, int n, double complex *a, int ld, double complex *tau)
{
    if (m == 0 || n == 0)
        return;
    cm_mark mark = cm_mark_of(session);
    lapack_int length = n;
    double complex *work = CM_NEW(session, length, double complex);
    demand(session, LAPACKE_zgeqr2_work(LAPACK_COL_MAJOR, m, n, a, ld, tau, work), "QR factorisation");
    cm_release_to(session, mark);
}

/* LAPACK works in blocks of 32 reflectors or more (its ILAENV). The space that blocks need is 66 kB, to be cleared for
 * every product. */
enum { UNBLOCKED = 32 };

static void times_q(cm_session *session, char form, int m, int k, int reflectors, const double complex *a,
                    int ld, const double complex *tau, double complex *c, int ldc)
{
    if (m == 0 || k == 0 || reflectors == 0)
        return;
    cm_mark mark = cm_mark_of(session);
    double complex asked = k; /* few reflectors are applied one by one, and that needs no more */
    lapack_int length;
    if (reflectors > UNBLOCKED)
        demand(session,
               LAPACKE_zunmqr_work(LAPACK_COL_MAJOR, 'L', form, m, k, reflectors, a, ld, tau, c, ldc, &asked,
                                   -1),
               "product with Q");
    double complex *work = workspace(session, asked, &length);
    demand(
        session,
        LAPACKE_zunmqr_work(LAPACK_COL_MAJOR, 'L', form, m, k, reflectors, a, ld, tau, c, ldc, work, length),
        "product with Q");
    cm_release_to(session, mark);
}

void cm_qr_times_qh(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                    const double complex *tau, double complex *c, int ldc)
{
    times_q(session, 'C', m, k, reflectors, a, ld, tau, c, ldc);
}

void cm_qr_times_q(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                   const double complex *tau, double complex *c, int ldc)
{
    times_q(session, 'N', m, k, reflectors, a, ld, tau, c, ldc);
}

void cm_tri_solve(int n, int k, const double complex *r, int ld, bool adjoint, double complex *b, int ldb)
{
    const double complex one = 1;
    if (n == 0 || k == 0)
        return;
    cblas_ztrsm(CblasColMajor, CblasLeft, CblasUpper, adjoint ? CblasConjTrans : CblasNoTrans, CblasNonUnit,
                n, k, &one, r, ld, b, ldb);
}

/* V from the conjugate transpose that LAPACK returns, in place. */
static void adjoint_in_place(int n, double complex *v)
{
    for (int j = 0; j < n; j++)
        for (int i = 0; i <= j; i++) {
            double complex upper = v[i + j * n];
            v[i + j * n] = conj(v[j + i * n]);
            v[j + i * n] = conj(upper);
        }
}

/* Columns that LAPACK takes at a time (its ILAENV). The workspace for that is known beforehand: asking for it costs as much
 * as decomposing a small matrix. Where blocks are larger, less workspace only makes them smaller. */
enum { SVD_BLOCK = 32 };

void cm_svd(cm_session *session, int m, int n, double complex *a, int ld, double *s, double complex *u,
            double complex *v)
{
    if (m == 0 || n == 0) {
        for (int j = 0; v && j < n; j++)
            v[j + j * n] = 1;
        for (int j = 0; u && j < m; j++)
            u[j + j * m] = 1;
        return;
    }
    cm_mark mark = cm_mark_of(session);
    int small = least(m, n);
    double *real_work = CM_NEW(session, 5 * most(1, small), double);
    lapack_int length = small * small + (2 * SVD_BLOCK + 2) * most(m, n);
    double complex *work = cm_take(session, (size_t)length, sizeof *work);
    char jobu = u ? 'A' : 'N';
    char jobv = v ? 'A' : 'N';
    demand(session,
           LAPACKE_zgesvd_work(LAPACK_COL_MAJOR, jobu, jobv, m, n, a, ld, s, u, most(1, m), v, most(1, n),
                               work, length, real_work),
           "singular value decomposition");
    cm_release_to(session, mark);
    if (v)
        adjoint_in_place(n, v);
}

void cm_eigen(cm_session *session, int n, double complex *a, int ld, double *values)
{
    if (n == 0)
        return;
    cm_mark mark = cm_mark_of(session);
    double *real_work = CM_NEW(session, most(1, 3 * n - 2), double);
    lapack_int length = most(1, 34 * n);
    double complex *work = CM_NEW(session, length, double complex);
    demand(session, LAPACKE_zheev_work(LAPACK_COL_MAJOR, 'V', 'L', n, a, ld, values, work, length, real_work),
           "eigenvalue decomposition");
    cm_release_to(session, mark);
}

bool cm_cholesky(cm_session *session, int n, double complex *a, int ld)
{
    return n == 0 || cm_lapack_worked(session, LAPACKE_zpotrf_work(LAPACK_COL_MAJOR, 'L', n, a, ld),
                                      "Cholesky factorisation");
}

void cm_multiply(bool a_adjoint, bool b_adjoint, int m, int n, int k, double complex alpha,
                 const double complex *a, int lda, const double complex *b, int ldb, double complex beta,
                 double complex *c, int ldc)
{
    if (m == 0 || n == 0)
        return;
    cblas_zgemm(CblasColMajor, a_adjoint ? CblasConjTrans : CblasNoTrans,
                b_adjoint ? CblasConjTrans : CblasNoTrans, m, n, k, &alpha, a, most(1, lda), b, most(1, ldb),
                &beta, c, ldc);
}

void cm_matvec(bool adjoint, int m, int n, double complex alpha, const double complex *a, int lda,
               const double complex *x, double complex beta, double complex *y)
{
    int length = adjoint ? n : m;
    if (length == 0)
        return;
    if (m == 0 || n == 0) {
        for (int i = 0; i < length; i++)
            y[i] *= beta;
        return;
    }
    cblas_zgemv(CblasColMajor, adjoint ? CblasConjTrans : CblasNoTrans, m, n, &alpha, a, lda, x, 1, &beta, y,
                1);
}

double cm_norm2(int n, const double complex *x)
{
    return n > 0 ? cblas_dznrm2(n, x, 1) : 0;
}

/* ---- rank and least squares on scaled columns ---- */

/* Copies a with unit columns; scale receives the norms, 1 for a zero column. */
static double complex *scaled_copy(cm_session *session, int m, int n, const double complex *a, int ld,
                                   double *scale)
{
    double complex *copy = CM_NEW(session, most(1, m * n), double complex);
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

int cm_scaled_rank(cm_session *session, int m, int n, const double complex *a, int ld, double *scale,
                   double complex *null)
{
    cm_mark mark = cm_mark_of(session);
    double *norms = scale ? scale : CM_NEW(session, most(1, n), double);
    double complex *copy = scaled_copy(session, m, n, a, ld, norms);
    double *s = CM_NEW(session, most(1, least(m, n)), double);
    double complex *v = null ? CM_NEW(session, most(1, n * n), double complex) : NULL;
    cm_svd(session, m, n, copy, most(1, m), s, NULL, v);
    int rank = count_rank(least(m, n), s);
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
    d.s = CM_NEW(session, most(1, least(m, n)), double);
    d.u = CM_NEW(session, most(1, m * m), double complex);
    d.v = CM_NEW(session, n * n, double complex);
    cm_svd(session, m, n, copy, most(1, m), d.s, d.u, d.v);
    d.rank = count_rank(least(m, n), d.s);
    return d;
}

/* x := D⁻¹ V S⁻¹ Uᴴ b over the first `rank` singular triples: one solution of full least-squares accuracy. */
static void solve_by_svd(cm_session *session, const cm_decomposed *d, int k, const double complex *b, int ldb,
                         double complex *x, int ldx)
{
    int rank = d->rank;
    double complex *c = CM_NEW(session, most(1, rank * k), double complex);
    cm_multiply(true, false, rank, k, d->m, 1, d->u, d->m, b, ldb, 0, c, most(1, rank));
    for (int j = 0; j < k; j++)
        for (int i = 0; i < rank; i++)
            c[i + j * rank] /= d->s[i];
    cm_multiply(false, false, d->n, k, rank, 1, d->v, d->n, c, most(1, rank), 0, x, ldx);
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
    cm_decomposed d = decompose(session, m, n, a, ld);
    solve_shortest(session, &d, k, b, ldb, x, ldx);
    if (d.rank > 0 && d.rank < n)
        refine(session, &d, k, a, ld, b, ldb, x, ldx);
    cm_release_to(session, mark);
    return d.rank;
}
