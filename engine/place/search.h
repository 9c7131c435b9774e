/* SPDX-License-Identifier: MIT */
/**
 * @file search.h
 * The best points of all planes together, proven.
 */
#ifndef PLACE_SEARCH_H
#define PLACE_SEARCH_H

#include "countermass/place.h"
#include "place/levels.h"

/** Best choices so far, best first: by value, equal ones by pieces, then the one found first. */
typedef struct cm_found {
    int count, keep, n;
    double *value2; /* keep */
    int *pieces;    /* keep */
    int *point;     /* n × keep: point of each plane of the board */
    double equal;   /* squared values this close, beside 1e-12 of them, are equal */
} cm_found;

cm_found cm_found_new(cm_session *session, const cm_board *board, int keep);

/** Takes the choice in when it belongs among the best and is not there yet; returns whether it was. */
bool cm_found_take(cm_found *found, const cm_board *board, const int *point, double value2);

/** When to end without a proof. */
typedef struct cm_patience {
    double deadline;                   /* of the clock; INFINITY: none */
    double most_nodes;                 /* INFINITY: none */
    const cm_place_question *question; /* for progress; NULL: none is told */
} cm_patience;

typedef struct cm_search_result {
    bool complete; /* nothing better is left */
    bool stopped;  /* the host asked */
    double bound2; /* no choice that is not among those found has a lower squared value */
    double nodes;
} cm_search_result;

/** Looks through all points that can be among the best `found->keep`. */
cm_search_result cm_search(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                           cm_found *found);

/** A bound on the squared value with the planes marked `free_plane` at any mass within their discs; not above `beat2`.
 *  `point` receives the choice behind it, free planes at the listed point nearest to where they would be; its first entry
 *  is -1 when no choice is below `beat2`. */
double cm_search_relaxed(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                         double beat2, int *point);

/** The choice with the fewest pieces among those listed whose squared value is at most `within2`, of these the best; begun
 *  with `point`, which it replaces. Returns the number of pieces. */
int cm_search_fewest(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                     double within2, int *point);

/** Good choices to begin with: rounded masses, then one and two planes changed at a time while it helps. */
void cm_polish(cm_session *session, const cm_levels *levels, double deadline, cm_found *found);

/** Takes in the choices next to `point`: one plane at a time on the points nearest to its own. */
void cm_neighbours(cm_session *session, const cm_levels *levels, const int *point, cm_found *found);

#endif
