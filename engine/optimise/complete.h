/* SPDX-License-Identifier: MIT */
/**
 * @file complete.h
 * From masses and a dual point to an answer.
 */
#ifndef OPTIMISE_COMPLETE_H
#define OPTIMISE_COMPLETE_H

#include "optimise/presolve.h"

/** What values are measured against: |W y|, or for masses the sum of finite caps. */
double cm_value_scale(const cm_problem *problem);

/** True for values up to 1e-12 of the scale: they are zero, and need no proof. */
bool cm_counts_as_zero(const cm_problem *problem, double value);

/** Fills in everything of an optimal answer that follows from x and the certificate. For CM_CONFIDENCE the bound must be there. */
void cm_complete(cm_session *session, const cm_presolved *pre, const cm_certificate *certificate,
                 const double complex *x, cm_answer *answer);

#endif
