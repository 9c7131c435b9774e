/* SPDX-License-Identifier: MIT */
/**
 * @file triangle.h
 * Small least squares at full speed: Householder QR with real and imaginary parts stored apart.
 *
 * At 48 × 12 a general library spends more time on calls and on guarding against overflow than on arithmetic. Here the
 * columns are scaled to unit norm first, which is the guard, and nothing is allocated while factoring.
 */
#ifndef LINALG_TRIANGLE_H
#define LINALG_TRIANGLE_H

#include "linalg/dense.h"

/** [B D⁻¹ | c] = Q [R | d] with D the column norms of B. Arrays belong to the arena. */
typedef struct cm_triangle {
    int m, n;
    int columns;               /* n + right-hand sides */
    double *re, *im;           /* m × columns: above the diagonal R and d; on and below it the reflectors */
    double *scale;             /* n: norms of the columns of B, 1 for a zero column */
    double *tau;               /* n: reflector k is I - tau v vᴴ; 0: none */
    double *diag_re, *diag_im; /* n: diagonal of R */
} cm_triangle;

/** Room for an m × n problem with `extra` right-hand sides; m ≥ n. */
cm_triangle cm_triangle_new(cm_session *session, int m, int n, int extra);

/** Fills in column `column` (right-hand sides follow the n columns of B). */
void cm_triangle_put(cm_triangle *t, int column, const double complex *values);

/** Scales and factors: 8 (m n² - n³/3) flops. */
void cm_triangle_factor(cm_triangle *t);

/** 1/|R⁻¹| in the Frobenius norm: never above the smallest singular value of B D⁻¹; 0 when R is singular. */
double cm_triangle_least_singular(cm_session *session, const cm_triangle *t);

/** The rank is n, safely above CM_RANK_TOLERANCE. False: look at the singular values. */
bool cm_triangle_is_full(cm_session *session, const cm_triangle *t);

/** The same about the singular values of B itself, which lie between those of B D⁻¹ times the least and the largest of D. */
bool cm_triangle_is_full_unscaled(cm_session *session, const cm_triangle *t);

/** q (m × extra): orthonormal columns that B cannot reach; uses up the right-hand sides, m - n of them. */
void cm_triangle_complement(cm_triangle *t, double complex *q);

/** u := D⁻¹ R⁻¹ d for right-hand side `extra`: minimises |B u - c|. */
void cm_triangle_solve(const cm_triangle *t, int extra, double complex *u);

/** r := Q (0, d₂): what is left of right-hand side `extra`, orthogonal to B to rounding. Changes that side. */
void cm_triangle_residual(cm_triangle *t, int extra, double complex *r);

#endif
