/* SPDX-License-Identifier: MIT */
/** @file redundancy.h How far planes, sensors and speeds repeat each other. */
#ifndef PLANES_REDUNDANCY_H
#define PLANES_REDUNDANCY_H

#include "planes/weigh.h"

/** How much of each plane's effect the others make. */
void cm_find_shares(cm_session *session, const cm_choice *choice, cm_plane_comparison *out);

/** The answer without each sensor and each speed. `sensor`: rows, which sensor a row belongs to; NULL: speeds only. */
void cm_leave_out_each(cm_session *session, const cm_choice *choice, int sensors, const int *sensor,
                       cm_plane_comparison *out);

#endif
