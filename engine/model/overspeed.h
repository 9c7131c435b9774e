/* SPDX-License-Identifier: MIT */
/**
 * @file overspeed.h
 * The speed that forces, rim speeds and caps by force are for.
 */
#ifndef MODEL_OVERSPEED_H
#define MODEL_OVERSPEED_H

#include "model/case.h"

/** Share over the highest speed that is assumed when the case names no overspeed (common practice, no source). */
#define CM_OVERSPEED_SHARE 1.1

/** The case's overspeed [rad/s], else CM_OVERSPEED_SHARE times the highest of its service speed and its speeds; NAN
 *  when the case has neither. `assumed` tells which. */
double cm_overspeed_of(const cm_case *c, bool *assumed);

#endif
