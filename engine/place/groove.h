/* SPDX-License-Identifier: MIT */
/**
 * @file groove.h
 * Pieces that slide in a groove to any free angle.
 */
#ifndef PLACE_GROOVE_H
#define PLACE_GROOVE_H

#include "place/shelf.h"

/** One piece in a groove. */
typedef struct cm_slid {
    int kind;
    double angle; /* rad, frame: of its middle */
} cm_slid;

/** Fills the shelf of a plane with a groove: a sample of what its pieces can do, and a disc around all of it. */
void cm_groove_list(cm_session *session, const cm_problem *problem, int plane, cm_shelf *shelf);

/** The pieces behind a point; returns their number. `list` has room for CM_MOST_SLID. */
int cm_groove_pieces(const cm_shelf *shelf, int point, cm_slid *list);

enum { CM_MOST_SLID = 64 };

/** True when a piece (or row) of this width has room at the angle. */
bool cm_groove_has_room(const cm_shop_plane *shop, double angle, double width);

/** Slides the pieces (count of them, on `plane`) while that lowers the objective at the total masses x, which follow;
 *  not beyond `deadline`. */
void cm_groove_slide(const cm_session *session, double deadline, const cm_problem *problem,
                     const cm_shop_plane *shop, int plane, cm_slid *list, int count, double complex *x);

#endif
