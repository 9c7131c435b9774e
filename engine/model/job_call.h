/* SPDX-License-Identifier: MIT */
/**
 * @file job_call.h
 * A public call over a job: what it needs of the job, what it leaves there.
 *
 * A call works on a job of its own, taken from the caller's as far as that reaches, and puts only its results back. So
 * callers with a shorter struct are understood, and a call that fails leaves the caller's job as it was.
 */
#ifndef MODEL_JOB_CALL_H
#define MODEL_JOB_CALL_H

#include "base/session.h"
#include "countermass/job.h"

/** Members of a job, as bits. */
enum {
    CM_HAS_GIVEN = 1 << 0,
    CM_HAS_RUNS = 1 << 1,
    CM_HAS_INFLUENCE = 1 << 2,
    CM_HAS_PROBLEM = 1 << 3,
    CM_HAS_DETERMINATION = 1 << 4,
    CM_HAS_CONDITION = 1 << 5,
    CM_HAS_ANSWER = 1 << 6,
    CM_HAS_SPREAD = 1 << 7,
    CM_HAS_FINDINGS = 1 << 8,
    CM_HAS_TOLERANCE = 1 << 9,
    CM_HAS_TRIALS = 1 << 10,
    CM_HAS_COMPARISON = 1 << 11,
    CM_HAS_HAND_WORK = 1 << 12,
    CM_HAS_PLACEMENT = 1 << 13,
    CM_HAS_TRADE_OFF = 1 << 14,
    CM_HAS_FORETOLD = 1 << 15,
    CM_HAS_SURVEY = 1 << 16,
    CM_HAS_SWEEPS = 1 << 17,
    CM_HAS_CARD = 1 << 18,
    CM_HAS_EXAMINED = 1 << 19,
    CM_HAS_DRIFT = 1 << 20,
    CM_HAS_LOAD_RANGE = 1 << 21,
    CM_HAS_GAINS = 1 << 22
};

typedef struct cm_job_call {
    const char *name; /* of the public function */
    unsigned needs, leaves;
} cm_job_call;

/** The caller's job, for the call to work on. Leaves with CM_BAD_INPUT when a member that the call needs, or one that a
 *  member rests on, is missing; when runs, influence and problem do not fit together; when an array is wrong. */
cm_job *cm_job_begin(cm_session *session, const cm_job_call *call, const cm_job *given);

/** Puts what the call leaves into the caller's job. */
void cm_job_end(const cm_job_call *call, const cm_job *own, cm_job *given);

#endif
