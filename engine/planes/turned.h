/* SPDX-License-Identifier: MIT */
/** @file turned.h Parts that can be refitted in steps: their unbalance, and all positions compared. */
#ifndef PLANES_TURNED_H
#define PLANES_TURNED_H

#include "planes/weigh.h"

/** Fills in parts and positions; nothing when no part can be turned (`runs` NULL: none). `stop` (NULL: never) is
 *  asked, with the host's context, between positions. */
void cm_compare_positions(cm_session *session, const cm_choice *choice, const cm_runs *runs,
                          int (*stop)(void *context), cm_plane_comparison *out);

#endif
