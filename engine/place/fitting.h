/* SPDX-License-Identifier: MIT */
/** @file fitting.h From a choice of points to a fit list, and what mistakes in fitting do. */
#ifndef PLACE_FITTING_H
#define PLACE_FITTING_H

#include "place/search.h"
#include "place/shelf.h"

/** A choice for all planes of the board. */
typedef struct cm_chosen {
    const int *point; /* n: of the lists */
    /* n: in place of the point the load at every position, by number on the shelf, -1: nothing; NULL: by points (all, or
     * that plane) */
    int *const *load;
} cm_chosen;

/** The fit list of a choice. `omega`: overspeed; `deadline`: pieces in grooves slide no longer than that. */
cm_fitting cm_fitting_of(cm_session *session, const cm_board *board, const cm_shelf *shelves,
                         const cm_chosen *chosen, double omega, double deadline);

/** CM_SLIP_COUNT slips of a fitting; NULL when it moves nothing. */
const cm_slip *cm_slips_of(cm_session *session, const cm_problem *problem, const cm_shop *shop,
                           const cm_fitting *fitting);

#endif
