/* SPDX-License-Identifier: MIT */
/**
 * @file evidence.h
 * What was really mounted, the card for the next run-up, resonances and the
 * survey: results of judging the evidence of a case, as plain data.
 *
 * SI and one frame, as in the job. -1: no such place. NaN: not available.
 */
#ifndef COUNTERMASS_EVIDENCE_H
#define COUNTERMASS_EVIDENCE_H

#include "countermass/job.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Mistakes that a run may hide. */
typedef enum cm_mistake_kind {
    CM_ANGLE_MIRRORED, CM_OPPOSITE_SIDE, CM_ONE_POSITION_OFF, CM_NUMBERED_THE_OTHER_WAY, CM_PLANES_SWAPPED,
    CM_MASS_MISSING, CM_MASS_CAME_OFF, CM_TRIAL_LEFT_ON, CM_MASS_UNIT, CM_WRONG_RADIUS, CM_PHASE_CONVENTION,
    CM_PHASE_REFERENCE_MOVED, CM_CABLES_SWAPPED, CM_AMPLITUDE_SCALE, CM_MACHINE_CHANGED, CM_MISTAKE_COUNT
} cm_mistake_kind;

/** One mistake and where it was made. */
typedef struct cm_mistake {
    cm_mistake_kind kind;
    int plane, other_plane;    /* planes-swapped: both; -1: every plane that was changed, or no plane at all */
    int sensor, other_sensor;  /* cables-swapped: both; amplitude-scale: one, -1: all */
} cm_mistake;

/** One explanation of a run that missed its prediction. */
typedef struct cm_explanation {
    cm_mistake mistake;
    int has_second;
    cm_mistake second;         /* made together with the first */
    double likelihood;         /* share of all explanations listed; they sum to 1 */
    double value;              /* what fits best: scale (amplitude, radius, unit), shift in rad; NaN: nothing to fit */
    double left;               /* root mean square miss that is left, in standard deviations */
} cm_explanation;

/** One run against what the runs before it let expect. */
typedef struct cm_run_test {
    int run;
    int readings;              /* that the runs before tell */
    const int *rows;           /* readings */
    const cm_complex *expected, *measured; /* readings */
    const double *std;         /* readings: sqrt(E|e|²) of measured - expected */
    double chi2;               /* sum of |miss|² over its covariance: 1 a reading is what a right run gives */
    double dof;                /* behind the scatter; INFINITY: declared or assumed */
    double chance;             /* of so large a miss in a right run */
    int missed;                /* 1: chance below the threshold */
    int explanation_count;
    const cm_explanation *explanations; /* best first */
} cm_run_test;

typedef struct cm_run_tests {
    size_t size;
    int count;
    const cm_run_test *items;
    int so_far;                /* 1: the last run is still going on: the last item is about it */
    double threshold;          /* of `chance` */
} cm_run_tests;

/** Tests every run (job: given, runs) against those before it and explains the ones that miss their prediction; with
 *  more than 200 runs the last one only. `so_far`: 1: only the last run, which is still on its way up. Method:
 *  docs/theory/evidence.md. */
CM_API cm_status cm_examine(cm_session *session, cm_job *job, int so_far);

#ifdef __cplusplus
}
#endif
#endif
