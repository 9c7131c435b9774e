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

#endif
