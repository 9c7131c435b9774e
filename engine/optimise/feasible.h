/* SPDX-License-Identifier: MIT */
/**
 * @file feasible.h
 * Keeping masses where they may be, and saying why there are none.
 */
#ifndef OPTIMISE_FEASIBLE_H
#define OPTIMISE_FEASIBLE_H

#include "optimise/presolve.h"

/** Moves every plane that no tie holds onto its discs: removes what the last digits left outside. */
void cm_pull_inside(const cm_presolved *pre, double complex *x);

/** A point to start from: the masses that the problem begins at, else u shortened until its masses are (nearly) inside the
 *  discs. */
void cm_first_guess(cm_session *session, const cm_presolved *pre, double complex *u);

/** Makes the answer infeasible and names the rows and planes that carry the proof. */
void cm_name_conflict(cm_session *session, const cm_problem *problem, const cm_certificate *certificate,
                      cm_answer *answer);

/** Least max |r_i|/limit_i under discs, ties and held planes as an answer of its own; NULL without limits. */
const cm_answer *cm_nearest_to_limits(cm_session *session, const cm_problem *problem);

/** Names only what holds the least factor on the limits (`nearest`): the first proof found may rest on much else. */
void cm_narrow_conflict(cm_session *session, const cm_problem *problem, const cm_answer *nearest,
                        cm_answer *answer);

/** For a problem the cones left open, at the edge of being infeasible: decides by the least factor on the limits. */
void cm_settle_barely(cm_session *session, const cm_problem *problem, cm_answer *answer);

/** row_multiplier and disc_multiplier of an optimal answer. */
void cm_sensitivities(cm_session *session, const cm_problem *problem, const cm_certificate *certificate,
                      cm_answer *answer);

#endif
