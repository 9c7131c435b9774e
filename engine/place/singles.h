/* SPDX-License-Identifier: MIT */
/**
 * @file singles.h
 * Changes at one or two positions at a time, where not every sum of the positions could be listed.
 */
#ifndef PLACE_SINGLES_H
#define PLACE_SINGLES_H

#include "place/search.h"
#include "place/shelf.h"

/** A choice given by the load of every position. */
typedef struct cm_single {
    double score;      /* squared value, above CM_NOT_KEPT: a cap or limit is not kept */
    int pieces;        /* put on, taken out, drilled */
    double complex *x; /* n: total masses */
    int **load; /* n: by position, number on the shelf, -1: nothing; NULL: a groove, which keeps its point */
    int *point; /* n: of grooves */
} cm_single;

#define CM_NOT_KEPT 1e60

/** The best choices found, best first; only such as keep caps and limits. */
typedef struct cm_singles {
    int count, keep;
    cm_single *best; /* keep */
} cm_singles;

/** Where to begin and when to end. */
typedef struct cm_single_question {
    const cm_board *board;
    const cm_shelf *shelves;
    const cm_levels *levels;
    const double complex *aim; /* planes of the problem: best masses of any size; NULL: not known */
    int begins;
    const int *const *begin; /* begins: choices by points of the lists */
    double enough2;          /* a squared value not worth bettering */
    double deadline;
    int most_rounds; /* begins and disturbances; the same ones whatever the clock says, as far as it lets them come */
    int keep;
    const cm_place_question *told; /* for progress; NULL: none is told */
    double bound;
} cm_single_question;

/** True when some plane of the board has positions whose loads can be changed. */
bool cm_singles_possible(const cm_board *board, const cm_shelf *shelves);

cm_singles cm_singles_of(cm_session *session, const cm_single_question *question);

#endif
