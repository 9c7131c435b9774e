/* SPDX-License-Identifier: MIT */
/* Dense real linear algebra on LAPACKE and CBLAS, for callers that bring their own workspace. */
#include "linalg/real.h"
#include "linalg/lapack.h"

#include <cblas.h>
#include <lapacke.h>

void cm_real_gram(int m, int n, const double *s, int ld, double *h)
{
    cblas_dsyrk(CblasColMajor, CblasUpper, CblasTrans, n, m, 1, s, ld, 0, h, n);
}

void cm_real_outer(int n, int k, const double *t, double *h)
{
    cblas_dsyrk(CblasColMajor, CblasUpper, CblasNoTrans, n, k, 1, t, n, 0, h, n);
}

void cm_real_matvec(bool transposed, int m, int n, double alpha, const double *a, int ld, const double *x,
                    double beta, double *y)
{
    cblas_dgemv(CblasColMajor, transposed ? CblasTrans : CblasNoTrans, m, n, alpha, a, ld, x, 1, beta, y, 1);
}

bool cm_real_cholesky(cm_session *session, int n, double *h)
{
    return cm_lapack_worked(session, LAPACKE_dpotrf_work(LAPACK_COL_MAJOR, 'U', n, h, n),
                            "Cholesky factorisation");
}

bool cm_real_triangle(cm_session *session, int m, int n, double *a, int ld, double *r, double *tau,
                      double *work)
{
    int info = LAPACKE_dgeqrf_work(LAPACK_COL_MAJOR, m, n, a, ld, tau, work, 64 * n);
    if (!cm_lapack_worked(session, info, "QR factorisation"))
        return false;
    for (int j = 0; j < n; j++)
        for (int i = 0; i <= j; i++)
            r[i + j * n] = a[i + j * ld];
    for (int j = 0; j < n; j++)
        if (r[j + j * n] == 0)
            return false;
    return true;
}

void cm_real_solve(int n, const double *r, double *x)
{
    cblas_dtrsv(CblasColMajor, CblasUpper, CblasTrans, CblasNonUnit, n, r, n, x, 1);
    cblas_dtrsv(CblasColMajor, CblasUpper, CblasNoTrans, CblasNonUnit, n, r, n, x, 1);
}

double cm_real_dot(int n, const double *x, const double *y)
{
    return cblas_ddot(n, x, 1, y, 1);
}
