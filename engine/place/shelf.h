/* SPDX-License-Identifier: MIT */
/**
 * @file shelf.h
 * One plane's positions and pieces as the points that its total mass can reach, and the way back from a point to pieces.
 */
#ifndef PLACE_SHELF_H
#define PLACE_SHELF_H

#include "countermass/place.h"
#include "place/points.h"
#include "place/sums.h"

typedef struct cm_shelf {
    bool moves;   /* the plane has something to move; false: it stays as it is */
    bool allowed; /* some total mass is within the caps */
    cm_loads loads;
    cm_sums sums;
    cm_points points; /* total masses within the caps; `origin` is the number of the sum */
} cm_shelf;

/** A load at a position. */
typedef struct cm_used_load {
    int site;
    const cm_load *load;
} cm_used_load;

cm_shelf cm_shelf_of(cm_session *session, const cm_problem *problem, const cm_shop_plane *shop, int plane);

/** The loads behind a point, in order of position; returns their number. `list` has room for all positions. */
int cm_shelf_loads(const cm_shelf *shelf, int point, cm_used_load *list);

#endif
