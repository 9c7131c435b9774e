/* SPDX-License-Identifier: MIT */
/**
 * @file simulate.h
 * Spread of masses for which there is no closed form.
 */
#ifndef SPREAD_SIMULATE_H
#define SPREAD_SIMULATE_H

#include "base/session.h"
#include "countermass/job.h"

/** True when the closed form left the masses open and repeating the job in numbers can tell them: an optimal answer,
 *  no dependent planes, at least one plane that can move. */
bool cm_needs_simulation(const cm_job *job);

/** A copy of job->spread with the masses' spread from `samples` repetitions of the whole job (seeded: the same numbers
 *  every time). Masses stay NaN when fewer than half of the repetitions have an answer. */
const cm_spread *cm_simulate_masses(cm_session *session, const cm_job *job, int samples);

#endif
