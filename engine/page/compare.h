/* SPDX-License-Identifier: MIT */
/**
 * @file compare.h
 * What a case expects against what was found: two trees of the same shape,
 * compared number by number.
 */
#ifndef PAGE_COMPARE_H
#define PAGE_COMPARE_H

#include "base/session.h"
#include "model/units.h"
#include "tree/node.h"

typedef struct cm_comparison {
    cm_session *session;
    const cm_case *given;
    cm_node *checks; /* list of {what, expected, found, tolerance, pass} */
    int failed;
} cm_comparison;

/** Relative tolerance where the case states none. */
#define CM_DEFAULT_TOLERANCE 1e-6

/** Compares `expected` (a part of the case file) with `found` (a part of a result; NULL: nothing was found); `what` names
 *  it. Items of lists are matched by the ids they name (plane, speed, sensor). Every number compared becomes a check. */
void cm_compare(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                const cm_node *tolerance);

#endif
