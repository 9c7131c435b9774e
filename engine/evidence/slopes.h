/* SPDX-License-Identifier: MIT */
/**
 * @file slopes.h
 * How steeply readings change with speed, wherever the case tells it.
 */
#ifndef EVIDENCE_SLOPES_H
#define EVIDENCE_SLOPES_H

#include "evidence/notes.h"

#include <complex.h>
#undef I

/** Relative change of a reading for 1 % of speed, (dr/r) / (dW/W) / 100; `from` NULL: nothing tells it. */
typedef struct cm_slope {
    double complex relative;
    double degrees, percent; /* phase and vector change for 1 % of speed */
    const char *from;        /* "a sweep", "the speeds a and b", "runs a and b" */
    int row;
} cm_slope;

/** The best evidence on the slope of a row: a sweep, else a pair of speeds within 5 % in one run, else runs of one state
 *  at different speeds. */
cm_slope cm_slope_of(const cm_notes *notes, int row);

/** Speed really held in a run: as said, else as planned. */
double cm_held_speed(const cm_case *given, int run, int speed);

#endif
