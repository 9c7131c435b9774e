/* SPDX-License-Identifier: MIT */
/** @file tolerance.h Permissible unbalance of a case and the residual unbalance that its readings tell of. */
#ifndef STARTS_TOLERANCE_H
#define STARTS_TOLERANCE_H

#include "base/session.h"
#include "countermass/start.h"
#include "model/case.h"

/** Reports every key that the permissible value and its shares need and the case does not give. */
void cm_tolerance_needs(cm_session *session, const cm_case *c);

/** Residual unbalance at the bearings from the readings now, at the highest speed at which the rotor keeps
 * its shape, resolved into the two planes farthest apart; fills `reached` of `t`. Two bearings with positions
 * needed. */
void cm_residual_of(cm_session *session, const cm_job *job, cm_tolerance *t);

#endif
