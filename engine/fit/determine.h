/* SPDX-License-Identifier: MIT */
/**
 * @file determine.h
 * Which rows the runs tell over the masses that are allowed, and what would settle the others.
 */
#ifndef FIT_DETERMINE_H
#define FIT_DETERMINE_H

#include "base/session.h"
#include "countermass/job.h"

/** See cm_determine(). */
const cm_determination *cm_find_determination(cm_session *session, const cm_influence *influence,
                                              const cm_problem *problem);

#endif
