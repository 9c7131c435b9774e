/* SPDX-License-Identifier: MIT */
/**
 * @file real.h
 * Dense real linear algebra for the steps of the cone solver. Column-major; nothing is allocated.
 */
#ifndef LINALG_REAL_H
#define LINALG_REAL_H

#include "base/session.h"

/** h (n × n, upper triangle) := sᵀ s of an m × n matrix. */
void cm_real_gram(int m, int n, const double *s, int ld, double *h);

/** h (n × n, upper triangle) := Σ t tᵀ over the k columns of t (n × k). */
void cm_real_outer(int n, int k, const double *t, double *h);

/** y := alpha·a x + beta·y, or aᵀ x with `transposed`; a is m × n. */
void cm_real_matvec(bool transposed, int m, int n, double alpha, const double *a, int ld, const double *x,
                    double beta, double *y);

/** Upper Cholesky factor h = Rᵀ R in place; false when h is not positive definite. */
bool cm_real_cholesky(cm_session *session, int n, double *h);

/** R of a = Q R, upper triangle of a (m × n, m ≥ n, overwritten) copied to r (n × n). work: 64·n, tau: n. */
bool cm_real_triangle(cm_session *session, int m, int n, double *a, int ld, double *r, double *tau,
                      double *work);

/** x := (Rᵀ R)⁻¹ x. */
void cm_real_solve(int n, const double *r, double *x);

double cm_real_dot(int n, const double *x, const double *y);

#endif
