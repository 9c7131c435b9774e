/* SPDX-License-Identifier: MIT */
/**
 * @file dense.h
 * Dense complex linear algebra; the only room that calls LAPACKE and CBLAS.
 *
 * Matrices are column-major double complex with leading dimension `ld`.
 * Workspace comes from the session's arena. A LAPACK failure leaves through
 * cm_fail(CM_NUMERICS). Inputs are overwritten where a line says so.
 */
#ifndef LINALG_DENSE_H
#define LINALG_DENSE_H

#include "base/complex.h"
#include "base/session.h"

/** The smaller and the larger of two sizes. */
static inline int cm_least(int a, int b)
{
    return a < b ? a : b;
}

static inline int cm_most(int a, int b)
{
    return a > b ? a : b;
}

/** Householder QR of a (m × n, overwritten: R above, reflectors below), tau of length min(m, n). */
void cm_qr(cm_session *session, int m, int n, double complex *a, int ld, double complex *tau);

/** c (m × k) := Qᴴ c for the reflectors of cm_qr (`reflectors` of them). */
void cm_qr_times_qh(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                    const double complex *tau, double complex *c, int ldc);

/** c (m × k) := Q c. */
void cm_qr_times_q(cm_session *session, int m, int k, int reflectors, const double complex *a, int ld,
                   const double complex *tau, double complex *c, int ldc);

/** b (n × k) := R⁻¹ b, or R⁻ᴴ b with `adjoint`; R upper triangular n × n with non-zero diagonal. */
void cm_tri_solve(int n, int k, const double complex *r, int ld, bool adjoint, double complex *b, int ldb);

/** Thin or full SVD a = U diag(s) Vᴴ of an m × n matrix (overwritten). s: min(m,n), descending. `u` (m × m) and
 *  `v` (n × n: columns are right singular vectors, V not Vᴴ) are full; either may be NULL. */
void cm_svd(cm_session *session, int m, int n, double complex *a, int ld, double *s, double complex *u,
            double complex *v);

/** Eigenvalues (ascending) of a Hermitian n × n matrix; a is overwritten by the eigenvectors. */
void cm_eigen(cm_session *session, int n, double complex *a, int ld, double *values);

/** Cholesky a = L Lᴴ (lower triangle overwritten). Returns false when a is not positive definite. */
bool cm_cholesky(cm_session *session, int n, double complex *a, int ld);

/** c := alpha·op(a)·op(b) + beta·c with op = conjugate transpose when the flag is set; c is m × n, inner size k. */
void cm_multiply(bool a_adjoint, bool b_adjoint, int m, int n, int k, double complex alpha,
                 const double complex *a, int lda, const double complex *b, int ldb, double complex beta,
                 double complex *c, int ldc);

/** y := alpha·op(a)·x + beta·y; a is m × n. */
void cm_matvec(bool adjoint, int m, int n, double complex alpha, const double complex *a, int lda,
               const double complex *x, double complex beta, double complex *y);

/** 2-norm of n numbers, safe against overflow. */
double cm_norm2(int n, const double complex *x);

/** Singular values below this share of the largest are zero, columns scaled to unit norm: the rule of the house. */
#define CM_RANK_TOLERANCE 1e-10

/** Numerical rank after scaling columns to unit 2-norm (zero columns stay zero). `scale` (n, may be NULL)
 *  receives the column norms (1 for a zero column); `null` (n × n, may be NULL) an orthonormal basis of the null space in the
 *  scaled coordinates in its first n - rank columns. a is not changed. */
int cm_scaled_rank(cm_session *session, int m, int n, const double complex *a, int ld, double *scale,
                   double complex *null);

/** Solution of min |b - a x| of least 2-norm (x n × k). Rank decided on scaled columns; a, b not changed.
 *  Returns the rank. */
int cm_least_squares(cm_session *session, int m, int n, int k, const double complex *a, int ld,
                     const double complex *b, int ldb, double complex *x, int ldx);

/** The set {x : T x = t, x_j = value_j where held} as x = origin + basis·u. */
typedef struct cm_affine {
    int unknowns;           /* columns of basis */
    double complex *origin; /* planes */
    double complex *basis;  /* planes × unknowns, orthonormal columns; rows of held planes are zero */
    int contradiction;      /* -1: consistent; else the tie that cannot be met */
} cm_affine;

/** Ties: `ties` is count × planes. Redundant ties are dropped; rank and contradiction are decided with rows and
 *  columns scaled (`scale`: planes, typical size of a mass there; NULL: 1). */
cm_affine cm_affine_set(cm_session *session, int planes, int count, const double complex *ties,
                        const double complex *value, const unsigned char *held,
                        const double complex *held_value, const double *scale);

#endif
