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

/** Pieces in a groove, in two rows without gaps: counts of each kind, and the angle of each row's middle. */
typedef struct cm_slide {
    const int *first, *second; /* NULL: nothing */
    double angle[2];
} cm_slide;

typedef struct cm_shelf {
    bool moves;   /* the plane has something to move; false: it stays as it is */
    bool allowed; /* some total mass is within the caps */
    bool halves; /* too many sums to list: those of two halves of the positions, put together near a target */
    bool partial; /* not every sum can be made from what is listed */
    cm_loads loads;
    cm_sums sums, others;  /* all sums, or those of the two halves */
    cm_points grid;        /* of `others`, by their change */
    double complex centre; /* of a disc that holds every total mass within the caps ... */
    double reach;          /* ... and its radius */
    double spacing;        /* typical distance between neighbours */
    cm_points points;      /* total masses within the caps, of halves: near the target */
    double window;         /* halves: how far from it all are listed */
    const cm_slide *slide; /* groove: what lies behind a point's `origin`; NULL: no groove */
    int (*pair)[2];        /* halves: the sum of each half behind a point's `origin` */
} cm_shelf;

/** A load at a position. */
typedef struct cm_used_load {
    int site;
    const cm_load *load;
} cm_used_load;

/** What is not listed at `deadline` is left out: then the list is a sample. */
cm_shelf cm_shelf_of(cm_session *session, const cm_problem *problem, const cm_shop_plane *shop, int plane,
                     double deadline);

/** True when two planes offer the same: then they can share what is listed. */
bool cm_shelves_alike(const cm_problem *problem, const cm_shop *shop, int a, int b);

/** Of halves: lists the total masses within `radius` of `target`, and the present one; false when there are more
 *  than `most`, or when the time is over: then nothing changes. */
bool cm_shelf_window(cm_session *session, const cm_problem *problem, int plane, double complex target,
                     double radius, int most, double deadline, cm_shelf *shelf);

/** Of halves: lists the present total mass alone, when it is within the caps. */
void cm_shelf_present(cm_session *session, const cm_problem *problem, int plane, cm_shelf *shelf);

/** The loads behind a point, in order of position; returns their number. `list` has room for all positions. */
int cm_shelf_loads(const cm_shelf *shelf, int point, cm_used_load *list);

#endif
