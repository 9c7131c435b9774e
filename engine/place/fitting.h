/* SPDX-License-Identifier: MIT */
/** @file fitting.h From a choice of points to a fit list, and what mistakes in fitting do. */
#ifndef PLACE_FITTING_H
#define PLACE_FITTING_H

#include "place/search.h"
#include "place/shelf.h"

/** The fit list of the choice `point` (planes of the board). `omega`: overspeed. */
cm_fitting cm_fitting_of(cm_session *session, const cm_board *board, const cm_shelf *shelves,
                         const int *point, double omega);

/** CM_SLIP_COUNT slips of a fitting; NULL when it moves nothing. */
const cm_slip *cm_slips_of(cm_session *session, const cm_problem *problem, const cm_shop *shop,
                           const cm_fitting *fitting);

#endif
