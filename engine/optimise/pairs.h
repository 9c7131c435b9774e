/* SPDX-License-Identifier: MIT */
/**
 * @file pairs.h
 * Pairs of rows judged together, for the solvers. (recheck.c has its own.)
 */
#ifndef OPTIMISE_PAIRS_H
#define OPTIMISE_PAIRS_H

#include "model/counts.h"
#include "optimise/presolve.h"

/** Sum of the standard deviations of the parts at masses x; pair->spread must be there. */
double cm_pair_spread(const cm_problem *p, const cm_pair *pair, const double complex *x);

/** A part as an affine form of the unknowns, as cm_presolved_row(). */
double complex cm_presolved_part(const cm_presolved *pre, const cm_pair *pair, int part, double scale,
                                 double complex *out, int stride);

#endif
