/* SPDX-License-Identifier: MIT */
/**
 * @file cone.h
 * Second-order cone programmes, dense and small.
 *
 *     minimise    c·x
 *     subject to  s = h - G x,  s in K = product of cones {(t, v): |v| ≤ t}
 *     dual        maximise -h·z  subject to  Gᵀ z + c = 0, z in K
 */
#ifndef OPTIMISE_CONE_H
#define OPTIMISE_CONE_H

#include "base/session.h"

typedef struct cm_cone_problem {
    int variables;
    int rows; /* of G: sum of the sizes of the cones */
    int cones;
    const int *size; /* cones: 1 + length of v */
    const double *g; /* rows × variables, column-major */
    const double *h; /* rows */
    const double *c; /* variables */
} cm_cone_problem;

typedef enum cm_cone_outcome {
    CM_CONE_SOLVED,    /* as far as double precision went; look at `merit` */
    CM_CONE_INFEASIBLE /* z is a ray: Gᵀ z = 0, h·z = -1 to rounding */
} cm_cone_outcome;

typedef struct cm_cone_answer {
    cm_cone_outcome outcome;
    double merit; /* largest of relative gap, primal and dual residual */
    double *x;    /* variables */
    double *s;    /* rows */
    double *z;    /* rows */
    int iterations;
} cm_cone_answer;

/** Solves by a primal-dual interior-point method; docs/theory/optimiser.md. `orthogonal`: factor the scaled G by QR in place of
 *  the Cholesky factor of its Gram matrix: slower, for problems near the edge of double precision. */
cm_cone_answer cm_cone_solve(cm_session *session, const cm_cone_problem *problem, bool orthogonal);

/** The same, begun near the answer of a problem that differs in h a little. */
cm_cone_answer cm_cone_solve_near(cm_session *session, const cm_cone_problem *problem,
                                  const cm_cone_answer *near);

#endif
