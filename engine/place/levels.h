/* SPDX-License-Identifier: MIT */
/**
 * @file levels.h
 * A bound on the objective that is a sum over planes in a fixed order: one level of the search each.
 */
#ifndef PLACE_LEVELS_H
#define PLACE_LEVELS_H

#include "place/board.h"

/** For points x of all planes
 *
 *     value² ≥ constant + sum_k |d_k + sum_(j≥k) R_kj x_j|² + sum_k mu_k (reach_k² - |x_k - centre_k|²)
 *
 *  with equality for least squares. Level k is plane order[k] of the board; level n-1 is searched first. */
typedef struct cm_levels {
    const cm_board *board;
    int n;
    int *order;
    double constant;
    double complex *r;    /* n × n, upper triangle */
    double complex *d;    /* n */
    double *mu;           /* n, by level */
    double *row_weight;   /* rows: square roots of their shares in the sum of squares */
    double complex *best; /* n, by level: masses of any size at the optimum within the discs */
    /* the bound without any point chosen: that of masses of any size within the discs, squared */
    double floor2;
    /* n: a mass on this level at distance s from `best` costs at least s²·grow more than `floor2` */
    double *grow;
} cm_levels;

/** `beat2`: for a largest reading, the squared value that choices of interest are below; INFINITY: none is known. */
cm_levels cm_levels_new(cm_session *session, const cm_board *board, double beat2);

/** What choosing x at level k costs on top of what stands above it; `above`: d_k + sum_(j>k) R_kj x_j. */
double cm_level_cost(const cm_levels *levels, int k, double complex above, double complex x);

/** The point of the plane on level k that is nearest to where it costs nothing; x (by level) is set above k, and at k. */
int cm_level_nearest(const cm_levels *levels, int k, double complex *x);

#endif
