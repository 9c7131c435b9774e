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

/** Leaves with CM_BAD_INPUT at the place of a tie that contradicts other ties or held planes. */
void cm_refuse_ties(cm_session *session, const cm_job *job);

#endif
