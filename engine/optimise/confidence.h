/* SPDX-License-Identifier: MIT */
/**
 * @file confidence.h
 * The largest kappa with |r_i| + kappa sd_i(z) ≤ limit_i.
 */
#ifndef OPTIMISE_CONFIDENCE_H
#define OPTIMISE_CONFIDENCE_H

#include "optimise/presolve.h"

/** What was found; x is NULL when the limits cannot be met at kappa = 0 (then `certificate` proves it). */
typedef struct cm_confidence_answer {
    double complex *x;    /* planes */
    double complex *last; /* planes: where the last programme ended, for the recheck of the certificate */
    double bound;         /* kappa that is proven impossible; NaN: no proof */
    cm_certificate certificate; /* of the bound; zero without one */
    int iterations;
} cm_confidence_answer;

/** `guess` (n) is where to begin. */
cm_confidence_answer cm_confidence_solve(cm_session *session, const cm_presolved *pre,
                                         const double complex *guess);

#endif
