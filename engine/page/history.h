/* SPDX-License-Identifier: MIT */
/** @file history.h Runs one after the other: the worst reading of each, measured and as the runs before it told. */
#ifndef PAGE_HISTORY_H
#define PAGE_HISTORY_H

#include "page/values.h"

typedef struct cm_run_worst {
    int row;          /* worst reading against its limit (largest, without limits); -1: nothing read */
    double measured;  /* in parts of its limit, or in its unit */
    double predicted; /* of that same reading; NAN: the runs before do not tell it */
    int apart_row;    /* reading that came out farthest from what was predicted; -1: none told */
    double apart;     /* how far, in the reading's unit */
    int told;         /* readings told by the runs before */
} cm_run_worst;

/** True when counted readings have limits: then readings are compared in parts of them. */
bool cm_runs_by_limits(const cm_job *job);

cm_run_worst cm_worst_of_run(const cm_job *job, int run);

#endif
