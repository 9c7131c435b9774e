/* SPDX-License-Identifier: MIT */
/**
 * @file level.h
 * Levels of readings as a job knows them: with phase shifts that were found, and with what other runs tell of overall
 * levels.
 */
#ifndef EVIDENCE_LEVEL_H
#define EVIDENCE_LEVEL_H

#include "countermass/job.h"
#include "model/levels.h"

#include <math.h>

/** By how much the phases of a run read too high (rad, lead), as stated or found; NAN: nothing tells it. */
static inline double cm_shift_of(const cm_job *job, int run)
{
    return job->runs && job->runs->phase_shift ? job->runs->phase_shift[run]
                                               : job->given->runs[run].phase_shift;
}

/** What turned the readings of a run back; 1: nothing did. */
static inline double complex cm_turn_of(const cm_job *job, int run)
{
    return cm_turned_back(cm_shift_of(job, run));
}

/** Level of a row that is not once per turn; NAN: no run read it. */
static inline double cm_rest_at(const cm_job *job, int row)
{
    return row >= 0 && job->problem && job->problem->rest ? job->problem->rest[row] : NAN;
}

/** What alarm and trip are held against, of a reading of a row in a run. */
static inline double cm_level_at(const cm_job *job, int run, int row, const cm_reading *reading)
{
    return cm_level_judged(job->given, run, reading, cm_shift_of(job, run), cm_rest_at(job, row));
}

#endif
