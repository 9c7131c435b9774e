/* SPDX-License-Identifier: MIT */
/** @file axis.h A straight axis from 0: round ticks, names, and where a value stands. */
#ifndef PAGE_AXIS_H
#define PAGE_AXIS_H

#include "page/draw.h"

typedef struct cm_axis {
    cm_drawing *drawing;
    cm_point from, to; /* where 0 and `full` stand */
    double full;
    /* grid lines run this far to the side of the axis (up for a lying, right for a standing one) */
    double reach;
    double step; /* between ticks; 0: a round one */
} cm_axis;

/** Where a value stands. */
cm_point cm_axis_point(const cm_axis *axis, double value);

/** The axis with ticks, grid lines and the words below or beside it. */
void cm_axis_draw(const cm_axis *axis, int ticks, const char *words);

#endif
