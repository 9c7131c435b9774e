/* SPDX-License-Identifier: MIT */
/**
 * @file pairs.h
 * Pairs of rows judged together, for the solvers: parts, readings, forms. (recheck.c has its own.)
 */
#ifndef OPTIMISE_PAIRS_H
#define OPTIMISE_PAIRS_H

#include "optimise/presolve.h"

/** Number of parts, 1 or 2. */
int cm_pair_parts(const cm_pair *pair);

/** True for a pair that counts and has a limit. */
bool cm_pair_is_limited(const cm_pair *pair);

/** What a part is made of: factor·r of row 0 (forward) and of row 1 (backward). */
double complex cm_pair_factor(const cm_pair *pair, int part, int which);

/** A part at the readings r of all rows, and the sum of the moduli of all parts. */
double complex cm_pair_part(const cm_pair *pair, int part, const double complex *r);
double cm_pair_size(const cm_pair *pair, const double complex *r);

/** Sum of the standard deviations of the parts at masses x; pair->spread must be there. */
double cm_pair_spread(const cm_problem *p, const cm_pair *pair, const double complex *x);

/** A part as an affine form of the unknowns, as cm_presolved_row(). */
double complex cm_presolved_part(const cm_presolved *pre, const cm_pair *pair, int part, double scale,
                                 double complex *out, int stride);

#endif
