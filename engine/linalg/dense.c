/* SPDX-License-Identifier: MIT */
/* Dense complex linear algebra on LAPACKE and CBLAS. The `_work` calls take their workspace from the arena. */
#include "linalg/dense.h"
#include "linalg/lapack.h"

#include <lapacke.h>
#include <cblas.h>

#include <math.h>
#include <string.h>

#undef I

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
    int small = cm_least(m, n);
    double *real_work = CM_NEW(session, 5 * cm_most(1, small), double);
    lapack_int length = small * small + (2 * SVD_BLOCK + 2) * cm_most(m, n);
    double complex *work = cm_take(session, (size_t)length, sizeof *work);
    char jobu = u ? 'A' : 'N';
    char jobv = v ? 'A' : 'N';
    cm_lapack_demand(session,
                     LAPACKE_zgesvd_work(LAPACK_COL_MAJOR, jobu, jobv, m, n, a, ld, s, u, cm_most(1, m), v,
                                         cm_most(1, n), work, length, real_work),
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
    double *real_work = CM_NEW(session, cm_most(1, 3 * n - 2), double);
    lapack_int length = cm_most(1, 34 * n);
    double complex *work = CM_NEW(session, length, double complex);
    cm_lapack_demand(
        session, LAPACKE_zheev_work(LAPACK_COL_MAJOR, 'V', 'L', n, a, ld, values, work, length, real_work),
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
                b_adjoint ? CblasConjTrans : CblasNoTrans, m, n, k, &alpha, a, cm_most(1, lda), b,
                cm_most(1, ldb), &beta, c, ldc);
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
