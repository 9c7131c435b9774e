/* SPDX-License-Identifier: MIT */
/** @file survey.h Which sets to solve, and the list of those solved. */
#ifndef PLANES_SURVEY_H
#define PLANES_SURVEY_H

#include "planes/weigh.h"

/** More sets than this, and only the best of each size are listed. */
#define CM_ALL_SETS 4096

/** Sets of at least one plane that the choice allows. */
double cm_count_sets(const cm_choice *choice);

/** Solves and ranks: every set when there are few, else the best of each size. Fills in sets and counts. `stop` (NULL:
 *  never) is asked, with the host's context, between sets. */
void cm_survey_sets(cm_session *session, const cm_choice *choice, const cm_plane_question *question,
                    int (*stop)(void *context), cm_plane_comparison *out);

#endif
