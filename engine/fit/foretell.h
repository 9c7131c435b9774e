/* SPDX-License-Identifier: MIT */
/**
 * @file foretell.h
 * What earlier runs tell about a later one.
 */
#ifndef FIT_FORETELL_H
#define FIT_FORETELL_H

#include "base/session.h"
#include "countermass/influence.h"

/** Jobs with more runs are not refitted run by run. */
enum { CM_MOST_REFITTED = 200 };

/** The first k runs, with the state (masses, levels) of run k as the base state. */
cm_runs cm_runs_before(cm_session *session, const cm_runs *all, int k);

/** True when a fit tells what a row reads with `masses` (planes) on the rotor: the functional (1, masses) vanishes on all
 *  that runs and known coefficients leave open. */
bool cm_state_is_told(cm_session *session, const cm_influence *fit, int row, const cm_complex *masses);

/** True when a fit with `masses` (planes) as its base state tells what a row reads there: runs read it in that state, or
 *  the state is told. */
bool cm_row_is_told(cm_session *session, const cm_influence *fit, int row, const cm_complex *masses);

/** What such a fit tells of every row: `told` 0 or 1, `expected` 0 where it is not. */
void cm_tell_rows(cm_session *session, const cm_influence *fit, const cm_complex *masses,
                  cm_complex *expected, unsigned char *told);

#endif
