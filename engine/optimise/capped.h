/* SPDX-License-Identifier: MIT */
/**
 * @file capped.h
 * Least squares with one disc at most per plane and no ties: the common case, at full speed.
 */
#ifndef OPTIMISE_CAPPED_H
#define OPTIMISE_CAPPED_H

#include "optimise/presolve.h"

/** True when the problem is of this kind. */
bool cm_capped_fits(const cm_presolved *pre);

/** u (n) := minimiser of |c + B u| within the discs, B m × n. Returns the number of iterations, 0 when the method broke
 *  down (B too badly conditioned for its Gram matrix): then u is worthless. Nothing is promised: the caller rechecks. */
int cm_capped_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                    const double complex *c, double complex *u);

/** The dual point that belongs to masses x: the residual, and for every disc the gradient of its plane. */
void cm_capped_certificate(const cm_presolved *pre, const double complex *x, cm_certificate *certificate);

#endif
