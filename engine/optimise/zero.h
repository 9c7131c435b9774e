/* SPDX-License-Identifier: MIT */
/**
 * @file zero.h
 * Optima at which something is exactly zero: no proof of rounded numbers can close a relative gap there.
 */
#ifndef OPTIMISE_ZERO_H
#define OPTIMISE_ZERO_H

#include "optimise/presolve.h"

/** Least mass and least change: true when every plane that can move may stand where it counts nothing; then the answer is
 *  complete. */
bool cm_try_rest(cm_session *session, const cm_presolved *pre, cm_answer *answer);

/** Sums and maxima of readings: moves an answer that is nearly zero onto the masses that leave nothing, when they are allowed. */
void cm_try_nothing_left(cm_session *session, const cm_presolved *pre, cm_answer *answer);

/** Least mass and least change: holds the planes that are nearly where they count nothing exactly there, solves for the others
 *  and keeps what has the better proof. */
void cm_try_fewer_planes(cm_session *session, const cm_presolved *pre, cm_answer *answer);

#endif
