/* SPDX-License-Identifier: MIT */
/** @file rank.h The order of solved sets, and which of them are beaten by none. */
#ifndef PLANES_RANK_H
#define PLANES_RANK_H

#include "countermass/planes.h"

#include "base/session.h"

/** Best first: by value, then number of planes, then order of the planes; those without a value last. Values that agree to
 *  12 digits are made equal. `descending`: the largest value is best. */
void cm_rank_sets(cm_session *session, int count, cm_plane_set *sets, int planes, bool descending);

/** Marks the sets of a ranked list that no other one beats in (value, total mass, number of planes). */
void cm_mark_pareto(int count, cm_plane_set *sets, bool descending);

#endif
