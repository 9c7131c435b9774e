/* SPDX-License-Identifier: MIT */
/**
 * @file missing.h
 * What a row's runs leave open, what is asked of it, and how a further run would change that.
 *
 * Lines: 0 the as-found reading, 1 + j the coefficient of plane j times its scale. A functional is a line vector f; the
 * runs tell f·(y0, a) when f·N = 0 for the basis N of what they leave open.
 */
#ifndef FIT_MISSING_H
#define FIT_MISSING_H

#include "base/session.h"

#include <complex.h>
#undef I

/** Functionals and null-space entries below this share are rounding. */
#define CM_OPEN 1e-8

typedef struct cm_missing {
    int lines;
    int open;                  /* columns of `null` */
    double complex *null;      /* lines × open, orthonormal */
    int asked;                 /* functionals that the allowed masses ask for */
    double complex *ask;       /* lines × asked, unit norm each */
    int rank;                  /* of what is asked and not told */
    double complex *row_space; /* open × rank: orthonormal directions of null that are asked for */
} cm_missing;

/** Rank and row space of what is asked and not told. */
void cm_find_missing(cm_session *session, cm_missing *missing);

/** What a run with functional f adds: 2 it settles one thing asked for, 1 it tells something, 0 nothing. */
int cm_gain(cm_session *session, const cm_missing *missing, const double complex *f);

/** Takes a run with functional f in. */
void cm_add_run(cm_session *session, cm_missing *missing, const double complex *f);

/** A copy whose null space can be changed. */
cm_missing cm_copy_missing(cm_session *session, const cm_missing *missing);

#endif
