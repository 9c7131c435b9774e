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

/** What a reading of a run is multiplied by because its phase reference moved; 1 while that is unknown. */
double complex cm_phase_turn(const cm_run *run);

/** Slow roll in a sensor's readings of a run once their phases are turned back: the run's own, else the sensor's. */
double complex cm_run_out(const cm_case *c, int run, int sensor);

/** What a run read of a sensor at a speed; NULL: nothing. */
const cm_reading *cm_reading_of(const cm_case *c, int run, int sensor, int speed);

/** The largest level as the instrument shows it: overall where that was read, else once per turn with slow roll. */
double cm_level_shown(const cm_reading *reading);

/** The largest level that alarms and trips of the sensor are held against: overall, as read or without slow roll. */
double cm_level_judged(const cm_case *c, int run, const cm_reading *reading);

#endif
