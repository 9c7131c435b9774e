/* SPDX-License-Identifier: MIT */
/**
 * @file complete.h
 * From masses and a dual point to an answer.
 */
#ifndef OPTIMISE_COMPLETE_H
#define OPTIMISE_COMPLETE_H

#include "optimise/presolve.h"

/** Values below this share of the scale of the problem are zero. */
#define CM_VALUE_ZERO 1e-12

/** True for objectives that are sums of masses. */
static inline bool cm_is_about_masses(cm_objective which)
{
    return which == CM_LEAST_MASS || which == CM_LEAST_CHANGE;
}

/** Planes (1) that stand at the edge of one of their discs and could move. */
const unsigned char *cm_at_caps(cm_session *session, const cm_problem *problem, const double complex *x);

/** What values are measured against: |W y|, pairs as rows among them where they count, or for masses the sum of finite
 *  caps. */
double cm_value_scale(const cm_problem *problem);

/** True for values up to 1e-12 of the scale: they are zero, and need no proof. */
bool cm_counts_as_zero(const cm_problem *problem, double value);

/** Fills in everything of an optimal answer that follows from x and the certificate. For CM_CONFIDENCE the bound must be there. */
void cm_complete(cm_session *session, const cm_presolved *pre, const cm_certificate *certificate,
                 const double complex *x, cm_answer *answer);

#endif
