/* SPDX-License-Identifier: MIT */
/** @file windows.h Which part of a long list of sums has to be looked at. */
#ifndef PLACE_WINDOWS_H
#define PLACE_WINDOWS_H

#include "place/search.h"
#include "place/shelf.h"

/** Lists the total masses of planes whose sums are in halves: near the optimum for masses of any size, as far out as the
 *  proof needs, or memory and time allow, at least the present total; and fills `found` with choices to begin with. */
void cm_windows_open(cm_session *session, cm_board *board, const cm_levels *levels, cm_shelf *shelves,
                     double deadline, cm_found *found);

/** True when a plane has no total mass listed: then there is nothing to search. */
bool cm_windows_empty(const cm_board *board);

/** Takes the choice with these total masses (planes of the problem), or the one next to it, among those found. */
void cm_find_again(cm_session *session, const cm_board *board, const double complex *x, cm_found *found);

/** No choice outside the windows has a lower squared value; INFINITY without windows. */
double cm_windows_edge(const cm_board *board, const cm_levels *levels, const cm_shelf *shelves);

#endif
