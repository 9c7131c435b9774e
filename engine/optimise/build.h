/* SPDX-License-Identifier: MIT */
/**
 * @file build.h
 * The cones of a problem, before numbers are scaled: complex affine forms and what bounds their size.
 */
#ifndef OPTIMISE_BUILD_H
#define OPTIMISE_BUILD_H

#include "optimise/presolve.h"

/** One cone: |forms first … first+forms-1| ≤ t0 + sum of factor·scalar. */
typedef struct cm_ball {
    int first, forms;
    double t0;
    int terms;
    int limit; /* 1: what bounds it is a limit on readings */
    int scalar[5];
    double factor[5];
} cm_ball;

/** Forms c + F u, each with the place of its dual phasor in the certificate, and the cones over them. */
typedef struct cm_build {
    const cm_presolved *pre;
    cm_certificate certificate;
    double kappa;
    double complex *x;            /* planes: masses of the guess */
    double row_scale, mass_scale; /* sizes that make the objective of order one */
    cm_certificate *to; /* where the duals of an objective go: the certificate, or the one of what is kept */
    cm_objective objective; /* at hand: the problem's, or the one that is kept */
    double top_cost;        /* cost of the scalars that an objective adds up: 1, of what is kept 0 */
    int tops;
    int *top; /* those scalars */
    int forms, form_room;
    double complex *f;     /* form_room × n, column-major */
    double complex *c;     /* forms */
    double complex **slot; /* forms: where -dual·scale is added */
    double *scale;         /* forms: form = scale·(natural quantity) */
    int balls;
    cm_ball *ball;
    int scalars;
    double *cost; /* scalars */
} cm_build;

/** All cones of the objective, limits and discs. `guess` (n) serves to find the scales. */
cm_build cm_build_cones(cm_session *session, const cm_presolved *pre, const double complex *guess,
                        double kappa);

/** |Fᵀ(1, z)|: standard deviation of a row's true reading with masses x; p->spread must be there. */
double cm_spread_size(const cm_problem *p, int row, const double complex *x);

/** The same for any block of (planes+1)×(planes+1). */
double cm_factor_size(const cm_problem *p, const double complex *factor, const double complex *x);

#endif
