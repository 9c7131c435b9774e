/* SPDX-License-Identifier: MIT */
/**
 * @file basis.h
 * Rows whose unknowns are not the planes but, in part, sets of planes: a = T·a'. T (planes × planes) may be NULL: then
 * nothing changes.
 */
#ifndef FIT_BASIS_H
#define FIT_BASIS_H

#include "base/session.h"
#include "countermass/influence.h"

#include <complex.h>
#undef I

/** Coefficients of one row (a: every `stride`-th of `planes` numbers) from the coordinates to the planes. */
void cm_turn_row(cm_session *session, const double complex *basis, int planes, int stride, double complex *a);

/** Lines 1 … of a block (lines × columns) from the coordinates to the planes; line 0 stays. */
void cm_turn_lines(cm_session *session, const double complex *basis, int lines, int columns,
                   double complex *block);

/** An orthonormal basis (lines × count) of what is open, entries times `scale`, from the coordinates to the planes. */
void cm_turn_open(cm_session *session, const double complex *basis, const double *scale, int lines, int count,
                  double complex *open);

/** The influence with what it says of the sets of the runs. */
const cm_influence *cm_with_sets(cm_session *session, const cm_runs *runs, const cm_influence *influence);

#endif
