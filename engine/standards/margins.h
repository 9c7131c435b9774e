/* SPDX-License-Identifier: MIT */
/** @file margins.h Separation margin of a resonance and shaft vibration of a works test, after API 617 (from
 * memory). */
#ifndef STANDARDS_MARGINS_H
#define STANDARDS_MARGINS_H

/** Margins asked for between a resonance and the running speeds, percent: of a resonance below them, and
 * above. An amplification factor below 2.5 counts as critically damped: 0 and no margin is asked for (both
 * 0). */
void cm_separation_margin(double amplification, double *below, double *above);

/** Shaft vibration limit [m peak to peak] at a greatest continuous speed [rad/s]. */
double cm_works_vibration_limit(double omega);

#endif
