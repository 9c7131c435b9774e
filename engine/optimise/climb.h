/* SPDX-License-Identifier: MIT */
/**
 * @file climb.h
 * Problems that no short cut solves, by cones.
 */
#ifndef OPTIMISE_CLIMB_H
#define OPTIMISE_CLIMB_H

#include "optimise/presolve.h"

/** The answer, optimal or infeasible; `u` (n) is where to begin, and is changed. */
void cm_climb(cm_session *session, const cm_presolved *pre, double complex *u, cm_answer *answer);

/** Brings an optimal answer inside limits and discs to the last digits; where that fails there may be nothing inside. */
void cm_make_exact(cm_session *session, const cm_presolved *pre, const cm_certificate *certificate,
                   cm_answer *answer);

#endif
