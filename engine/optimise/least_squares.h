/* SPDX-License-Identifier: MIT */
/**
 * @file least_squares.h
 * min |c + B u| over free u: shortest u, rank by the rule of the house, and the residual made exactly orthogonal.
 */
#ifndef OPTIMISE_LEAST_SQUARES_H
#define OPTIMISE_LEAST_SQUARES_H

#include "optimise/presolve.h"

/** What plain least squares finds. */
typedef struct cm_plain {
    int rank;
    double complex *u;        /* n */
    double complex *residual; /* rows counted: c + B u, orthogonal to B */
    unsigned char *dependent; /* planes; NULL when the rank is full */
} cm_plain;

/** b: m × n with columns of any size, c: m; neither is changed. */
cm_plain cm_plain_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                        const double complex *c);

#endif
