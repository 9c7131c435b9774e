/* SPDX-License-Identifier: MIT */
/**
 * @file bearings.h
 * What a case tells about the bearings of its rotor.
 */
#ifndef STANDARDS_BEARINGS_H
#define STANDARDS_BEARINGS_H

#include "model/case.h"

#define CM_GRAVITY 9.80665

/** Static load on bearing k [N]: as given, else by statics from mass, mass centre and two positions
 * (negative: the bearing is lifted); NAN when the case does not tell. */
double cm_bearing_load(const cm_case *c, int k);

/** Position of the centre of mass [m]: as given, else from mass-free statics of two bearings with static
 * loads; NAN when the case does not tell. */
double cm_mass_centre(const cm_case *c);

/** Highest speed at which masses of this case are run on purpose [rad/s]: service speed or the case's
 * highest; NAN. */
double cm_running_speed(const cm_case *c);

/** Size of the reaction of the two bearings nearest to a plane, as a share of a force there: `bearing`
 * receives the nearer one. At least 1, more when the plane overhangs. NAN when positions are missing. */
double cm_nearest_bearing(const cm_case *c, double position, int *bearing, bool *overhung);

#endif
