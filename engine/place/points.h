/* SPDX-License-Identifier: MIT */
/**
 * @file points.h
 * Points of a plane (total masses), found by their distance.
 */
#ifndef PLACE_POINTS_H
#define PLACE_POINTS_H

#include "base/session.h"

#include <complex.h>
#undef I

/** Points sorted into the cells of a square grid, line by line. */
typedef struct cm_points {
    int count;
    double complex *x;
    int *handled; /* pieces behind each */
    int *origin;  /* number in the list they were made from */
    double left, bottom, cell;
    int wide, high;
    int *first; /* wide·high + 1: first point of each cell */
} cm_points;

/** Takes copies; `count` > 0. */
cm_points cm_points_new(cm_session *session, int count, const double complex *x, const int *handled,
                        const int *origin);

/** Calls visit(data, point) for all points within `radius` of `from`, and perhaps others near them. */
void cm_points_near(const cm_points *points, double complex from, double radius,
                    void (*visit)(void *data, int point), void *data);

/** The nearest point; among equally near ones that with the fewest pieces. -1: there is none. */
int cm_points_nearest(const cm_points *points, double complex from);

/** Typical distance between neighbours. */
double cm_points_spacing(const cm_points *points);

#endif
