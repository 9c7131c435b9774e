/* SPDX-License-Identifier: MIT */
/**
 * @file levels.h
 * What a run read: as the instrument shows it, and as limits, alarms and trips judge it.
 */
#ifndef MODEL_LEVELS_H
#define MODEL_LEVELS_H

#include "model/case.h"

#include <complex.h>
#undef I

/** What readings are multiplied by whose phases read `shift` (rad, lead) too high; 1 for NAN, a shift nobody knows. */
double complex cm_turned_back(double shift);

/** The same of a run as its case states it. */
double complex cm_phase_turn(const cm_run *run);

/** Slow roll in a sensor's readings of a run once their phases are turned back by `turn`: the run's own, read with the
 *  reference that moved, else the sensor's, read with one that did not. */
double complex cm_run_out(const cm_case *c, int run, int sensor, double complex turn);

/** What a run read of a sensor at a speed; NULL: nothing. */
const cm_reading *cm_reading_of(const cm_case *c, int run, int sensor, int speed);

/** The largest level as the instrument shows it: overall where that was read, else once per turn with slow roll. */
double cm_level_shown(const cm_reading *reading);

/** The largest level that alarms and trips of the sensor are held against: overall, as read or without slow roll. `shift`
 *  (rad, lead): by which the phases of the run read too high; of a run for which it is NAN only a slow roll of its own can
 *  be taken off. `rest`: what is not once per turn, for overall levels that were not read; NAN: nothing tells it. */
double cm_level_judged(const cm_case *c, int run, const cm_reading *reading, double shift, double rest);

#endif
