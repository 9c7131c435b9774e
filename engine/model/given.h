/* SPDX-License-Identifier: MIT */
/**
 * @file given.h
 * Runs and problems that a caller hands in, as this version knows them and with all their arrays checked. What the engine
 * makes for itself out of them is not checked again.
 */
#ifndef MODEL_GIVEN_H
#define MODEL_GIVEN_H

#include "base/session.h"
#include "countermass/influence.h"
#include "countermass/solve.h"

/** Leaves with CM_BAD_INPUT and a message that names the first member or element that is wrong. */
const cm_problem *cm_given_problem(cm_session *session, const cm_problem *given);
const cm_runs *cm_given_runs(cm_session *session, const cm_runs *given);

#endif
