/* SPDX-License-Identifier: MIT */
/*
 * QR of a complex matrix, a = Q R, and products with Q.
 *
 * Method: Householder reflections in the conventions of LAPACK's ZGEQR2 (source: LAPACK Users' Guide, "QR Factorization",
 * and the comments of ZLARFG): for the rest x of column k
 *
 *     H = I - tau v vᴴ,  v_0 = 1,  Hᴴ x = beta e_0,  beta = -sign(Re x_0) |x|,  tau = (beta - x_0)/beta,  v = x/(x_0 - beta)
 *
 * with v below the diagonal. A call of LAPACK costs more than the arithmetic on a few columns, so that few reflections are
 * made and applied here, and LAPACK does the large ones; either applies the other's. Numbers whose squares would leave the
 * range of double go to LAPACK too.
 */
#include "linalg/dense.h"
#include "linalg/lapack.h"

#include <lapacke.h>

#undef I

/* LAPACK works in blocks of 32 reflectors or more (its ILAENV). The space that blocks need is 66 kB, to be cleared for
 * every product. */
enum { UNBLOCKED = 32 };

/* A square below which what elimination leaves of a column is nothing: 1e-70 of the least column that is done here. */
static const double VANISHING = 1e-290;

static double sum_of_squares(int count, const double complex *x)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += cm_abs2(x[i]);
    return sum;
}

/* Squares neither overflow nor vanish. */
static bool is_moderate(int m, int n, const double complex *a, int ld)
{
    for (int j = 0; j < n; j++) {
        double sum = sum_of_squares(m, a + (size_t)j * (size_t)ld);
        if (!(sum == 0 || (sum > 1e-150 && sum < 1e150)))
            return false;
    }
    return true;
}

/* c := (I - tau v vᴴ) c; v_0 = 1 is not stored. */
static void reflect(int count, double complex tau, const double complex *v, double complex *c)
{
    double complex sum = c[0];
    for (int i = 1; i < count; i++)
        sum += cm_times(conj(v[i]), c[i]);
    sum = cm_times(tau, sum);
    c[0] -= sum;
    for (int i = 1; i < count; i++)
        c[i] -= cm_times(sum, v[i]);
}

/* The reflector that turns x into beta e_0; returns tau. */
static double complex make_reflector(int count, double complex *x)
{
    double rest = sum_of_squares(count - 1, x + 1), whole = rest + cm_abs2(x[0]);
    if (whole <= VANISHING || (rest <= 0 && fabs(cimag(x[0])) <= 0))
        return 0;
    double beta = -copysign(sqrt(whole), creal(x[0]));
    double complex head = x[0] - beta, tau = cm_pack(-creal(head) / beta, -cimag(head) / beta);
    double complex inverse = cm_pack(creal(head) / cm_abs2(head), -cimag(head) / cm_abs2(head));
    for (int i = 1; i < count; i++)
        x[i] = cm_times(x[i], inverse);
    x[0] = beta;
    return tau;
}

static void factor_here(int m, int n, double complex *a, int ld, double complex *tau)
{
    for (int k = 0; k < n && k < m; k++) {
        double complex *column = a + (size_t)k * (size_t)ld + k;
        tau[k] = make_reflector(m - k, column);
        for (int j = k + 1; j < n; j++)
            reflect(m - k, conj(tau[k]), column, a + (size_t)j * (size_t)ld + k);
    }
}

static void factor_by_lapack(cm_session *session, int m, int n, double complex *a, int ld,
                             double complex *tau)
{
    cm_mark mark = cm_mark_of(session);
    double complex *work = CM_NEW(session, n, double complex);
    cm_lapack_demand(session, LAPACKE_zgeqr2_work(LAPACK_COL_MAJOR, m, n, a, ld, tau, work),
                     "QR factorisation");
    cm_release_to(session, mark);
}

void cm_qr(cm_session *session, int m, int n, double complex *a, int ld, double complex *tau)
{
    if (m == 0 || n == 0)
        return;
    if (n <= UNBLOCKED && is_moderate(m, n, a, ld))
        factor_here(m, n, a, ld, tau);
    else
        factor_by_lapack(session, m, n, a, ld, tau);
}

/* Q = H_0 H_1 …: its adjoint applies the adjoint of H_0 first, Q itself the last one first. */
static void apply_here(bool adjoint, int m, int k, int reflectors, const double complex *a, int ld,
                       const double complex *tau, double complex *c, int ldc)
{
    for (int j = 0; j < k; j++)
        for (int i = 0; i < reflectors; i++) {
            int at = adjoint ? i : reflectors - 1 - i;
            reflect(m - at, adjoint ? conj(tau[at]) : tau[at], a + (size_t)at * (size_t)ld + at,
                    c + (size_t)j * (size_t)ldc + at);
        }
}

static void apply_by_lapack(cm_session *session, char form, int m, int k, int reflectors,
                            const double complex *a, int ld, const double complex *tau, double complex *c,
                            int ldc)
{
    cm_mark mark = cm_mark_of(session);
    double complex asked = 0;
    cm_lapack_demand(
        session,
        LAPACKE_zunmqr_work(LAPACK_COL_MAJOR, 'L', form, m, k, reflectors, a, ld, tau, c, ldc, &asked, -1),
        "product with Q");
    lapack_int length = (lapack_int)creal(asked);
    double complex *work = CM_NEW(session, length > 0 ? length : 1, double complex);
    cm_lapack_demand(
        session,
        LAPACKE_zunmqr_work(LAPACK_COL_MAJOR, 'L', form, m, k, reflectors, a, ld, tau, c, ldc, work, length),
        "product with Q");
    cm_release_to(session, mark);
}

static void times_q(cm_session *session, bool adjoint, int m, int k, int reflectors, const double complex *a,
                    int ld, const double complex *tau, double complex *c, int ldc)
{
    if (m == 0 || k == 0 || reflectors == 0)
        return;
    if (reflectors <= UNBLOCKED)
        apply_here(adjoint, m, k, reflectors, a, ld, tau, c, ldc);
    else
        apply_by_lapack(session, adjoint ? 'C' : 'N', m, k, reflectors, a, ld, tau, c, ldc);
}

void cm_qr_times_qh(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                    const double complex *tau, double complex *c, int ldc)
{
    times_q(session, true, m, k, reflectors, a, ld, tau, c, ldc);
}

void cm_qr_times_q(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                   const double complex *tau, double complex *c, int ldc)
{
    times_q(session, false, m, k, reflectors, a, ld, tau, c, ldc);
}
