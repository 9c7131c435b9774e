/* SPDX-License-Identifier: MIT */
/**
 * @file constants.h
 * Numbers that several rooms need.
 */
#ifndef BASE_CONSTANTS_H
#define BASE_CONSTANTS_H

#define CM_PI 3.14159265358979323846

/** Radius that holds 90 % of a complex error with E|e|² = 1 (Gaussian: P(|e| > k) = exp(-k²)). */
#define CM_RADIUS_90 1.5174271293851465

#endif
