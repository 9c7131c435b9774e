/* SPDX-License-Identifier: MIT */
/**
 * @file board.h
 * The search's view of a problem: planes as lists of points, readings as sums over them, and a bound on the rest.
 */
#ifndef PLACE_BOARD_H
#define PLACE_BOARD_H

#include "countermass/solve.h"
#include "place/points.h"

/** Planes that can move, each a list of points; the others are constants. */
typedef struct cm_board {
    const cm_problem *p;
    int n;                     /* planes with more than one point */
    int *plane;                /* n */
    cm_points *points;         /* n */
    double complex *centre;    /* n: of a disc around all points of the plane ... */
    double *reach;             /* n: ... and its radius */
    double *spacing;           /* n: typical distance between neighbours */
    double complex *still;     /* planes: where the planes stand that cannot move */
    unsigned char *free_plane; /* n: 1: the bound takes any mass in the disc, not only the points */
    bool minmax, limits;       /* the objective is a largest reading; limits must be kept */
    int rows;                  /* readings that count or are limited, then the parts of pairs */
    int *row;                  /* rows: number in the problem; of parts: -1 - number of the pair */
    double *weight, *limit;    /* rows; parts of pairs: 0 and the pair's; INFINITY: not limited */
    double *
        bound_weight; /* rows: the value is at least this times the size, for a largest reading; else weight */
    double complex *start; /* rows: reading with the planes that move at zero */
    double complex *a;     /* rows × n */
    int pairs;
    cm_pair *pair; /* forward, backward: their parts by number on the board; -1: no second part */
} cm_board;

/** Fills in the rest once p, n, plane, centre, reach, spacing, still and free_plane are there; the points may follow. */
void cm_board_fill(cm_session *session, cm_board *board);

/** r (rows) := readings at point[k] of each plane. */
void cm_board_readings(const cm_board *board, const int *point, double complex *r);

/** Objective at readings, squared; INFINITY when a limit is not kept. */
double cm_board_value2(const cm_board *board, const double complex *r);

/** Total masses (planes of the problem) at points. */
void cm_board_masses(const cm_board *board, const int *point, double complex *x);

#endif
