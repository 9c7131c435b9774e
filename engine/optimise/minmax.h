/* SPDX-License-Identifier: MIT */
/**
 * @file minmax.h
 * The smallest largest reading with one disc at most per plane and no ties: the common case, at full speed.
 */
#ifndef OPTIMISE_MINMAX_H
#define OPTIMISE_MINMAX_H

#include "optimise/presolve.h"

/** True when the problem is of this kind. */
bool cm_minmax_fits(const cm_presolved *pre);

/** u (n) := minimiser of max_i |c_i + B_i u| within the discs, B m × n; share (m): what every row holds of the optimum.
 *  Returns the number of iterations, 0 when the method broke down: then u is worthless. Nothing is promised: the caller
 *  rechecks. */
int cm_minmax_solve(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                    const double complex *c, double complex *u, double *share);

/** The dual point that belongs to u and the shares of the rows. */
void cm_minmax_certificate(cm_session *session, const cm_presolved *pre, int m, const double complex *b,
                           const double complex *c, const double complex *u, const double *share,
                           cm_certificate *certificate);

#endif
