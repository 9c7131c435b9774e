/* SPDX-License-Identifier: MIT */
/** @file orbits.h What probe pairs see, as the user counts: orbit k of a case is pair k of its problem. */
#ifndef PAGE_ORBITS_H
#define PAGE_ORBITS_H

#include "page/values.h"

/** Unit that orbit k is counted in: that of its first sensor. */
const cm_unit *cm_orbit_unit(const cm_job *job, int k);

/** A size in that unit. */
double cm_orbit_size(const cm_job *job, int k, double size);

/** Limit in that unit; NAN: none. */
double cm_orbit_limit(const cm_job *job, int k);

/** Size before correction; false: not told. */
bool cm_orbit_before(const cm_job *job, int k, double *size);

/** True when the answer predicts both rows. */
bool cm_orbit_is_predicted(const cm_job *job, int k);

/** Size after correction, and the radius that the true one stays within in 9 of 10 cases or more; NAN: not available. */
double cm_orbit_after(const cm_job *job, int k);
double cm_orbit_radius(const cm_job *job, int k);

/** Probability that it ends within its limit; NAN: not available. */
double cm_orbit_within(const cm_job *job, int k);

/** "forward" or "major-axis". */
const char *cm_orbit_axis_name(const cm_job *job, int k);

/** "bearing 3 (major-axis) at service". */
const char *cm_orbit_name(cm_session *session, const cm_job *job, int k);

/** Change of the objective's value when the limit of the orbit grows by 1 %; NAN: it does not count. */
double cm_worth_of_orbit(const cm_job *job, int k);

#endif
