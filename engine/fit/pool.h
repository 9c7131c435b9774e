/* SPDX-License-Identifier: MIT */
/**
 * @file pool.h
 * Several earlier values of one coefficient become one prior.
 */
#ifndef FIT_POOL_H
#define FIT_POOL_H

#include "base/session.h"
#include "countermass/influence.h"

/** One prior from `count` >= 1 earlier values of the same coefficient; see pool.c. */
cm_known cm_pool(const cm_known *values, int count);

/** The runs with at most one known coefficient per row and plane: `runs` itself when that is so already. */
const cm_runs *cm_pool_known(cm_session *session, const cm_runs *runs);

#endif
