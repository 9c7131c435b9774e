/* SPDX-License-Identifier: MIT */
/**
 * @file sums.h
 * The different changes that the positions and pieces of a plane can make together, each with the fewest pieces.
 */
#ifndef PLACE_SUMS_H
#define PLACE_SUMS_H

#include "place/loads.h"

/** A sum as the last load put on top of another sum. Number 0 is "nothing". */
typedef struct cm_sum {
    double complex x; /* kg, reduced */
    uint64_t used;
    int handled;
    int parent; /* -1: nothing */
    int site, load;
    int dead; /* above 0: another one does the same with fewer pieces */
} cm_sum;

typedef struct cm_sums {
    int count;
    cm_sum *sum;
    bool all; /* false: there are more than were wanted; the list is worthless */
} cm_sums;

/** Sums over the positions with `which` (NULL: all) set, with at most `pieces` pieces; at most `most` of them. `cell`:
 *  changes nearer than about this are the same. When there are more, or the time is over, what was listed is forgotten
 *  again. */
cm_sums cm_sums_of(cm_session *session, const cm_loads *loads, const unsigned char *which, int pieces,
                   int most, double cell, double deadline);

/** Size of a cell for a plane: far below any difference that matters, far above rounding. */
double cm_sums_cell(const cm_loads *loads);

#endif
