/* SPDX-License-Identifier: MIT */
/**
 * @file fit.h
 * Influence matrix from runs and priors.
 */
#ifndef FIT_FIT_H
#define FIT_FIT_H

#include "base/session.h"
#include "countermass/influence.h"

/** See cm_fit(). */
const cm_influence *cm_fit_runs(cm_session *session, const cm_runs *runs);

/** The same without the spread, where nothing else needs it: of the arrays a, y, base_runs and what is left open are there
 *  in any case; the residuals of plain fits are not. */
const cm_influence *cm_fit_values(cm_session *session, const cm_runs *runs);

/** What a level of the runs does to each row per unit of it, with its standard deviation; told 0: the runs do not tell.
 *  Returns the fit of the runs, as cm_fit_runs() does. */
const cm_influence *cm_fit_level(cm_session *session, const cm_runs *runs, int level, cm_complex *change,
                                 double *std, unsigned char *told);

#endif
