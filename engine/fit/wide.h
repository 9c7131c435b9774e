/* SPDX-License-Identifier: MIT */
/**
 * @file wide.h
 * Runs with more unknowns per row than planes: rows that share their coefficients, levels that differ between runs.
 */
#ifndef FIT_WIDE_H
#define FIT_WIDE_H

#include "base/session.h"
#include "countermass/influence.h"

#include <complex.h>
#undef I

/** The same evidence for the plain fit. Families (rows that share coefficients) are its rows; every run stands there
 *  once for each member. Its planes are those given, then one per further member, then one per level. */
typedef struct cm_wide {
    const cm_runs *given;
    cm_runs runs;
    int members;          /* of the largest family */
    int extra;            /* columns besides the planes */
    int *family, *member; /* rows given */
    double *times;        /* rows given: scatter of one of its readings over that of its family */
    double unit;          /* entry of a column for a member: of the size of the masses */
    double complex *base; /* planes of `runs`; cm_wide_base() sets it */
} cm_wide;

/** A fit with what its rows' own noise does: rows blocks of (planes+1)×(planes+1) for what the unknowns have of it, and
 *  the rest of the base mean's (rows). NULL where it was not asked for. */
typedef struct cm_fitted {
    const cm_influence *influence;
    const double complex *own;
    const double *rest;
} cm_fitted;

cm_wide cm_widen(cm_session *session, const cm_runs *runs);

/** Sets the base state of the member with this number. */
void cm_wide_base(cm_wide *wide, int member);

/** The fits of all members (one influence each) told in the rows and planes given. */
const cm_influence *cm_narrow(cm_session *session, const cm_wide *wide, const cm_fitted *fits);

#endif
