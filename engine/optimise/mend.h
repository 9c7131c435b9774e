/* SPDX-License-Identifier: MIT */
/**
 * @file mend.h
 * The shortest way back to limits and discs for masses that rounding left outside.
 */
#ifndef OPTIMISE_MEND_H
#define OPTIMISE_MEND_H

#include "optimise/presolve.h"

/** Changes x by the least that puts limits and discs that are exceeded back to their edge; false when it gave up. Ties and
 *  held planes hold. */
bool cm_mend(cm_session *session, const cm_presolved *pre, double complex *x);

#endif
