/* SPDX-License-Identifier: MIT */
/**
 * @file steps.h
 * What each run changed against the run it is best compared with.
 */
#ifndef EVIDENCE_STEPS_H
#define EVIDENCE_STEPS_H

#include "evidence/notes.h"

/** One run against its reference: the earlier run of its group whose masses differ on the fewest planes, the latest of
 *  these. */
typedef struct cm_step {
    int reference;          /* -1: the first run of its group */
    unsigned char *changed; /* planes whose mass differs */
    int changes;            /* their number; 0: a repeat */
    bool trial; /* the masses lie in no combination of earlier runs: the run teaches something new */
} cm_step;

/** cm_notes.steps, to be made once. */
const cm_step *cm_steps_of(const cm_notes *notes);

/** True when run `run` read row `row`. */
bool cm_run_read(const cm_runs *runs, int row, int run);

/** Change of a row between a run and its reference, in standard deviations of one reading (the mean of both variances
 *  where their weights differ); -1: not read in both. */
double cm_response(const cm_notes *notes, const cm_step *step, int run, int row);

/** True when two runs belong to one group (runs whose readings share a level, drift aside). */
bool cm_same_group(const cm_notes *notes, int run, int other);

/** True when two runs carry the same masses in the same group. */
bool cm_same_state(const cm_notes *notes, int run, int other);

/** "P1 and P3": the planes a step changed. */
const char *cm_step_planes(const cm_notes *notes, const cm_step *step);

/** Degrees between two phasors, 0 … 180. */
double cm_degrees_between(cm_complex a, cm_complex b);

/** Percent by which two sizes differ, of the second. */
double cm_percent_off(double size, double of);

#endif
