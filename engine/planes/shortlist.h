/* SPDX-License-Identifier: MIT */
/**
 * @file shortlist.h
 * The few best sets of each size, by a number that is never above their value.
 */
#ifndef PLANES_SHORTLIST_H
#define PLANES_SHORTLIST_H

#include "base/session.h"

#include <stdint.h>

/** A set of planes: bit j is plane j of whatever list the sets are drawn from. */
typedef uint64_t cm_set;

#define CM_SET_PLANES 64

typedef struct cm_entry {
    cm_set set;
    double bound;
} cm_entry;

/** Of each size 1 … sizes at most `keep` entries. */
typedef struct cm_shortlist {
    int sizes, keep;
    int *count; /* sizes + 1 */
    /* sizes + 1: every set of that size that is not listed has at least this; INFINITY: room left */
    double *cutoff;
    double *open;    /* sizes + 1: least bound of what a stop left unseen; INFINITY: all seen */
    cm_entry *entry; /* (sizes + 1) × keep; of each size a heap, worst first, until sorted */
} cm_shortlist;

cm_shortlist cm_shortlist_new(cm_session *session, int sizes, int keep);

/** Takes the set in if it is among the best of its size so far. */
void cm_shortlist_offer(cm_shortlist *list, int size, cm_set set, double bound);

/** Best first within each size; equal ones by the order of the planes. Nothing can be offered after. */
void cm_shortlist_sort(cm_shortlist *list);

/** Entry `i` of a size. */
static inline cm_entry *cm_shortlist_at(const cm_shortlist *list, int size, int i)
{
    return list->entry + (size_t)size * (size_t)list->keep + i;
}

#endif
