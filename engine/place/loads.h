/* SPDX-License-Identifier: MIT */
/**
 * @file loads.h
 * What one position of a plane can be given: pieces added, taken out, exchanged, or a hole drilled.
 */
#ifndef PLACE_LOADS_H
#define PLACE_LOADS_H

#include "base/session.h"
#include "countermass/place.h"

#include <complex.h>
#include <stdint.h>
#undef I

/** One way to change one position. */
typedef struct cm_load {
    cm_fit_kind kind;
    double mass;        /* kg: net change, screws included */
    int handled;        /* pieces put on or taken out, holes drilled */
    uint64_t used;      /* packed counts of what is limited */
    const int *count;   /* pieces of each kind put on; NULL: none */
    unsigned taken_out; /* bits of the pieces installed at the position, in their order */
    double depth;       /* of a drilled hole */
} cm_load;

/** A quantity that may run out: the stock of a kind of piece, or the pieces of the plane. */
typedef struct cm_counter {
    int shift;
    uint64_t mask; /* before shifting */
    uint64_t most;
} cm_counter;

enum { CM_MOST_COUNTERS = 16 };

/** The loads of a plane; those of position s are load[first[s]] … load[first[s] + count[s] - 1]. */
typedef struct cm_loads {
    const cm_shop_plane *shop;
    int total, room;
    cm_load *load;
    int *first, *count; /* positions */
    int counters;
    cm_counter counter[CM_MOST_COUNTERS];
} cm_loads;

cm_loads cm_loads_of(cm_session *session, const cm_shop_plane *shop);

/** True when nothing runs out by using both. */
bool cm_in_stock(const cm_loads *loads, uint64_t a, uint64_t b);

/** How far the loads of all positions together can move the plane's total mass; at least that far. */
double cm_loads_reach(cm_session *session, const cm_loads *loads);

/** Pieces installed at a position, in their order: index of the `k`-th among the plane's installed ones, or -1. */
int cm_installed_at(const cm_shop_plane *shop, int site, int k);

/** Mass that a drill with a point takes out to a depth of its tip, and the depth at full diameter. */
double cm_drilled_mass(const cm_shop_plane *shop, double depth);
double cm_full_depth(const cm_shop_plane *shop, double depth);

#endif
