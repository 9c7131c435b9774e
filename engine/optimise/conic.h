/* SPDX-License-Identifier: MIT */
/**
 * @file conic.h
 * A problem as a second-order cone programme, and the way back to masses and certificate.
 */
#ifndef OPTIMISE_CONIC_H
#define OPTIMISE_CONIC_H

#include "optimise/cone.h"
#include "optimise/presolve.h"

/** What the cones say about the problem. */
typedef struct cm_conic_answer {
    bool infeasible;
    double complex *u; /* n */
    /* planes: masses (also when infeasible: the last ones, for the charges of the recheck) */
    double complex *x;
    cm_certificate certificate;
    double merit;
    int iterations;
} cm_conic_answer;

/** `guess` (n): the u to expand around; `kappa`: factor of CM_CONFIDENCE; `orthogonal`: the slow and careful way. */
cm_conic_answer cm_conic_solve(cm_session *session, const cm_presolved *pre, const double complex *guess,
                               double kappa, bool orthogonal);

/** One problem with its limits taken times one ratio after the other: the cones are written once, only what bounds them
 *  changes, and each solution begins at the one before. */
typedef struct cm_conic_series cm_conic_series;

cm_conic_series *cm_conic_open(cm_session *session, const cm_presolved *pre, const double complex *guess);

/** Its certificate stands until the next call. */
cm_conic_answer cm_conic_next(cm_conic_series *series, double ratio);

#endif
