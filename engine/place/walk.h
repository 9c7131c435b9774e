/* SPDX-License-Identifier: MIT */
/** @file walk.h The search on its way: shared by its upper levels and the last one. */
#ifndef PLACE_WALK_H
#define PLACE_WALK_H

#include "place/search.h"

#include <math.h>

#define CM_EQUAL_SHARE 1e-12

typedef struct cm_child {
    double cost;
    int handled, point;
} cm_child;

/* A reading at the last level: |re + i im + a x|² ≤ most2 is needed. */
typedef struct cm_last_row {
    int row;
    double re, im, a_re, a_im, most2;
} cm_last_row;

typedef struct cm_walk {
    cm_session *session;
    const cm_levels *levels;
    const cm_board *board;
    const cm_patience *patience;
    cm_found *found;
    cm_search_result result;
    bool halted;
    double work;              /* since the last look at the clock: choices and children gathered */
    double next_word;         /* choices after which progress is told */
    int *point;               /* by plane of the board */
    double complex *x;        /* by level */
    double complex *readings; /* rows × (n + 1): with levels k … chosen and those below at their centres */
    double *give;             /* rows × n: what levels below k can change a reading by */
    cm_child **children;      /* by level */
    int *child_count;
    int *child_room;
    cm_last_row *last_rows; /* rows: readily failing ones first */
    double complex *last;   /* rows: readings without the plane of the last level */
    int level;              /* whose children are gathered */
    double spent, budget;
    double complex above;
    bool relaxed; /* planes below level `leaf` take any mass: only the bound is wanted */
    int leaf;
    int *least_point; /* relaxed: the choice behind it */
    bool fixed;       /* nothing is found here: choices must not exceed `fixed2` */
    double fixed2;
    double least2; /* relaxed: least bound so far */
} cm_walk;

/** Squared value that a choice must not exceed. */
static inline double cm_to_beat(const cm_walk *w)
{
    const cm_found *f = w->found;
    if (w->fixed)
        return w->fixed2;
    if (w->relaxed)
        return w->least2;
    if (f->count < f->keep)
        return INFINITY;
    double worst = f->value2[f->keep - 1];
    return worst + CM_EQUAL_SHARE * worst + f->equal;
}

/** A walk from the top, nothing chosen. */
cm_walk cm_walk_new(cm_session *session, const cm_levels *levels, const cm_patience *patience);

/** Children of level k: points that can be chosen when `spent` is the cost of what stands above; in the order given. */
void cm_walk_children(cm_walk *walk, int k, double spent, int (*order)(const void *a, const void *b));

/** Counts a choice; true when it is time to end. */
bool cm_walk_must_halt(cm_walk *walk);

/** Chooses a child of level k. */
void cm_walk_choose(cm_walk *walk, int k, const cm_child *child);

/** Tries the points of the last plane; the others are chosen and cost `spent`. */
void cm_walk_last(cm_walk *walk, double spent);

#endif
