/* SPDX-License-Identifier: MIT */
/**
 * @file tree.h
 * Least-squares bounds of all sets of columns, or of those that can still be among the best.
 */
#ifndef PLANES_TREE_H
#define PLANES_TREE_H

#include "planes/shortlist.h"

#include <complex.h>
#undef I

/** One weighted copy of the rows: the least sum of squares over a set of columns is a bound on that set. */
typedef struct cm_view {
    int rows;
    const double complex *columns; /* rows × columns, column-major */
    const double complex *rhs;     /* rows: the reading without any of them */
} cm_view;

/** What to search. */
typedef struct cm_search {
    int columns; /* at most CM_SET_PLANES */
    int views;   /* ≥ 1; the bound of a set is the largest over the views */
    const cm_view *view;
    cm_set must;                 /* columns that belong to every set */
    int at_most;                 /* largest size of a set, `must` counted */
    bool everything;             /* look at every set, even those that cannot enter the list */
    bool (*stop)(void *context); /* asked now and then; NULL: never */
    void *context;
} cm_search;

/** Fills the list with the sets of least bound (sums of squares) of each size. Returns how many sets were looked at;
 *  after a stop, list->open tells what may have been missed. */
uint64_t cm_tree_search(cm_session *session, const cm_search *search, cm_shortlist *list);

#endif
