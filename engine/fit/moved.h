/* SPDX-License-Identifier: MIT */
/**
 * @file moved.h
 * Phase references that moved by angles estimated from the readings themselves: what the errors of these angles add.
 */
#ifndef FIT_MOVED_H
#define FIT_MOVED_H

#include "fit/scatter.h"
#include "fit/system.h"

/** The estimated angles of a job, their errors written by standard ones: delta = turn·z with E z² = 1. */
typedef struct cm_moved {
    int count;
    double *turn; /* count × count, lower triangle: E delta delta' = turn·turn' */
    double *std;  /* count: standard deviations, rad */
} cm_moved;

/** Spread of the angles under the scatter in use. */
cm_moved cm_find_moved(cm_session *session, const cm_evidence *evidence, const cm_scatter *scatter);

/** The parts of a row that it shares with others through the angles, (planes+1) × count each: `common` and `own` as
 *  common_factor and base_factor of cm_influence. `pull`: (planes+1) × runs, how readings enter the row's lines. */
void cm_moved_parts(const cm_evidence *evidence, const cm_moved *moved, int row, double scatter,
                    const double complex *pull, double complex *common, double complex *own);

/** Makes the square factor (lines × lines) one of F·Fᴴ + G·Gᴴ - H·Hᴴ, with G and H lines × count. */
void cm_add_parts(cm_session *session, int lines, int count, const double complex *g, const double complex *h,
                  double complex *factor);

#endif
