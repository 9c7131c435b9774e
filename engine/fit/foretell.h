/* SPDX-License-Identifier: MIT */
/**
 * @file foretell.h
 * What earlier runs tell about a later one.
 */
#ifndef FIT_FORETELL_H
#define FIT_FORETELL_H

#include "base/session.h"
#include "countermass/influence.h"

/** The first k runs, with the state (masses, levels) of run k as the base state. */
cm_runs cm_runs_before(cm_session *session, const cm_runs *all, int k);

/** True when a fit tells what a row reads with `masses` (planes) on the rotor: the functional (1, masses) vanishes on all
 *  that runs and known coefficients leave open. */
bool cm_state_is_told(cm_session *session, const cm_influence *fit, int row, const cm_complex *masses);

#endif
