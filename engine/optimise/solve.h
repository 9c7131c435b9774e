/* SPDX-License-Identifier: MIT */
/**
 * @file solve.h
 * The optimiser for use inside the engine; cm_solve() is its public face.
 */
#ifndef OPTIMISE_SOLVE_H
#define OPTIMISE_SOLVE_H

#include "base/session.h"
#include "countermass/solve.h"

/** Best masses with their proof; see cm_solve(). Leaves through cm_fail() on failure. */
const cm_answer *cm_solve_problem(cm_session *session, const cm_problem *problem);

/** The same with `problem->then`, which the others leave alone. */
const cm_answer *cm_solve_asked(cm_session *session, const cm_problem *problem);

#endif
