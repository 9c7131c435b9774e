/* SPDX-License-Identifier: MIT */
/**
 * @file condition.h
 * Condition numbers of the weighted influence matrix.
 */
#ifndef FIT_CONDITION_H
#define FIT_CONDITION_H

#include "base/session.h"
#include "countermass/solve.h"

/** See cm_condition_of(). */
const cm_condition *cm_find_condition(cm_session *session, const cm_problem *problem);

#endif
