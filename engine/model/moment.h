/* SPDX-License-Identifier: MIT */
/**
 * @file moment.h
 * When runs were made: `at`, and whether the runs of a case can be placed in time by it.
 */
#ifndef MODEL_MOMENT_H
#define MODEL_MOMENT_H

#include "model/case.h"

typedef enum cm_moment {
    CM_MOMENT_TIME,       /* 2026-03-14 02:40, also with seconds, also with T */
    CM_MOMENT_DAY,        /* 2026-03-14 */
    CM_MOMENT_OTHER,      /* any other text, or none */
    CM_MOMENT_IMPOSSIBLE, /* of that form, but no such day or time exists */
} cm_moment;

/** Reads a moment; `seconds` (of a day: at its beginning) counts from a day long ago, a whole number. */
cm_moment cm_moment_of(const char *text, double *seconds);

/** Why drift is not counted in time but from run to run. */
typedef enum cm_times {
    CM_TIMES_TOLD,  /* it is counted in time */
    CM_TIMES_NONE,  /* no run says when */
    CM_TIMES_SOME,  /* not every run does */
    CM_TIMES_DAYS,  /* a run tells its day only */
    CM_TIMES_OTHER, /* a run says it in another form */
    CM_TIMES_EQUAL, /* all are the same */
} cm_times;

/** The first run that stands against times, or -1, in `run`. */
cm_times cm_times_of(const cm_case *given, int *run);

#endif
