/* SPDX-License-Identifier: MIT */
/**
 * @file job.h
 * One case on its way through the engine: each step reads what the steps
 * before it left here and adds its own. Pages are made from it.
 */
#ifndef COUNTERMASS_JOB_H
#define COUNTERMASS_JOB_H

#include "countermass/case.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Which rows the runs tell over the masses that are allowed. Result. */
typedef struct cm_determination {
    size_t size;                     /**< sizeof the struct; later versions append members */
    const unsigned char *determined; /**< rows */
    int counted; /**< counted rows that are not determined; 0: the problem can be solved */
    /** rows × planes: 1: the missing direction of this row touches the plane */
    const unsigned char *unknown;
    int run_count; /**< further runs that would settle it ... */
    /** ... run_count × planes (row by row): a trial mass on these planes; none: repeat the base state */
    const unsigned char *run_planes;
    const unsigned char *dropped; /**< rows: dropping these would go on without them */
    int anything_left;            /**< 0: dropping would leave no counted row */
    /** rows: what would be determined without levels besides masses (cm_taken_up); NULL: nothing */
    const unsigned char *taken_up;
    /** planes: 1: moved now; with these left as they are on the rotor, every counted row is told; NULL: no such way */
    const unsigned char *spared;
} cm_determination;

/** What the runs were used up by, so that they tell less of the masses. */
typedef enum cm_taken_up {
    CM_NOTHING_TAKEN,   /**< runs are not what is wanting, or the row is told */
    CM_TAKEN_BY_DRIFT,  /**< without drift the row would be told */
    CM_TAKEN_BY_GROUPS, /**< with all runs in one group it would */
    CM_TAKEN_BY_BOTH    /**< without either of them it would */
} cm_taken_up;

/** Uncertainty of an answer. Result. Standard deviations are sqrt(E|e|²); NaN: not available. */
typedef struct cm_spread {
    size_t size;              /**< sizeof the struct; later versions append members */
    int simulated;            /**< repetitions behind the masses' spread (seeded); 0: closed form */
    const double *mass_std;   /**< planes: of the complex total mass */
    const double *size_std;   /**< planes: of the size of the total mass */
    const double *angle_std;  /**< planes: of the angle of the total mass, rad */
    const double *before_std; /**< rows: of the reading in the base state */
    const double *after_std;  /**< rows: of the true reading after correction */
    /** rows: radius that holds 90 % divided by after_std (1.517 at many degrees of freedom) */
    const double *radius_factor;
    const double *within;      /**< rows: probability that the reading ends within its limit; NaN without */
    double within_all;         /**< all counted rows together; NaN: not available */
    int samples;               /**< behind within_all */
    int assumed;               /**< 1: rests on the assumed scatter */
    const double *mass_factor; /**< planes: radius that holds 90 % divided by mass_std */
    /** pairs: sum of the parts' standard deviations after correction; NaN: not available */
    const double *pair_std;
    const double *pair_within; /**< pairs: probability that the size ends within the limit; NaN without */
} cm_spread;

/** One thing that a sceptical colleague would point out. -1: no such place. */
typedef struct cm_finding {
    const char *code;     /**< as docs/results.md lists them */
    cm_severity severity; /**< CM_ERROR: a fault */
    const char *message;  /**< what a person should know */
    int run;              /**< index of the run; -1: none */
    int speed;            /**< index of the speed; -1: none */
    int sensor;           /**< index of the sensor; -1: none */
    int plane;            /**< index of the plane; -1: none */
    /** evidence.h: the run whose explanations belong to it; NULL: none */
    const struct cm_run_test *explained;
} cm_finding;

/** All findings, faults first within a kind. Result. */
typedef struct cm_findings {
    size_t size;             /**< sizeof the struct; later versions append members */
    int count;               /**< number of items */
    const cm_finding *items; /**< `count` of them */
} cm_findings;

/** What the runs before each run let expect of it. Result. */
typedef struct cm_foretold {
    size_t size;                /**< sizeof the struct; later versions append members */
    const cm_complex *expected; /**< rows × runs: reading expected in the masses of the run */
    const unsigned char *told;  /**< rows × runs: 0: the runs before do not tell it */
} cm_foretold;

/** The least total mass [kg] that keeps the largest ratio to limit at `largest_ratio`; no masses do with less than
 *  `bound`. */
typedef struct cm_trade_point {
    double largest_ratio; /**< of counted readings to their limits */
    double total_mass;    /**< sum of all masses */
    double bound;         /**< proven bound on it */
    double gap;           /**< relative distance of value and bound */
} cm_trade_point;

/** From the lightest masses allowed to the min-max optimum. Result. */
typedef struct cm_trade_off {
    size_t size;                  /**< sizeof the struct; later versions append members */
    int count;                    /**< 0: no masses are allowed, or the runs do not tell */
    const cm_trade_point *points; /**< `count` of them */
    int open;                     /**< points whose proof has a gap above 1e-8 */
    int warm;                     /**< points found from the one before */
} cm_trade_off;

/** Do readings drift from run to run, and what if that were judged the other way? Result. */
typedef struct cm_drift_report {
    size_t size;                   /**< sizeof the struct; later versions append members */
    int fitted;                    /**< 1: drift is in the fit (objective.drift: linear); 0: it is not */
    int told;                      /**< rows that tell their drift */
    const unsigned char *row_told; /**< rows */
    const cm_complex *change; /**< rows: change of the reading from the run farthest back to the last one */
    const double *std;        /**< rows: its standard deviation */
    double deviations;        /**< root mean square of |change|/std; NaN: none is told */
    double chance;            /**< that scatter alone makes that much or more; NaN: none is told */
    int assumed;              /**< 1: rests on the assumed scatter */
    int largest;              /**< row of the largest |change|/std; -1 */
    cm_outcome outcome;       /**< of the problem with the other setting */
    const cm_complex *x;      /**< planes: its masses; NULL unless optimal */
    int plane;                /**< plane whose masses differ most between the settings; -1 */
    double apart;             /**< by how much [kg]; NaN without both answers */
} cm_drift_report;

/** One reading in several operating states that share its coefficients: masses move it alike in all of them. */
typedef struct cm_state_floor {
    int count;                    /**< number of items */
    const int *row;               /**< count: the rows, one a state */
    double value;                 /**< least that its largest amplitude can be, whatever the masses */
    double bound;                 /**< proven: it cannot be less */
    const unsigned char *clashes; /**< count: 1: the states that hold it up */
    int moves;                    /**< 0: no plane in use moves the reading */
} cm_state_floor;

/** What masses cannot do between operating states. Result. */
typedef struct cm_load_range {
    size_t size;                  /**< sizeof the struct; later versions append members */
    int count;                    /**< number of items */
    const cm_state_floor *floors; /**< readings in at least two states */
    double together;              /**< least largest weighted reading of all these states; NaN: none counts */
    double together_bound;        /**< proven bound of it */
    const double *alone;          /**< blocks: the same of one state alone; NaN: not one of them */
    const double *share;          /**< rows: share in the proof of `together` */
} cm_load_range;

/** Confidence (the largest kappa) if one thing more were done. */
typedef struct cm_kappa_gain {
    int run;      /**< this run repeated once more; -1: not this */
    int plane;    /**< one unit of mass more on this plane; -1: not this */
    double value; /**< NaN: no answer was found */
} cm_kappa_gain;

/** What would raise the confidence, each found by doing it. Result. */
typedef struct cm_kappa_gains {
    size_t size;  /**< sizeof the struct; later versions append members */
    double value; /**< as it is */
    int errors; /**< N of the guarantee: all limits hold with a probability of at least 1 - N exp(-kappa²) */
    int run_count;               /**< further runs looked at */
    const cm_kappa_gain *runs;   /**< one of every mass state, the last first */
    int mass_count;              /**< masses looked at */
    const cm_kappa_gain *masses; /**< planes with a cap */
} cm_kappa_gains;

/** Everything known about one case so far; members not reached yet are NULL. A function that misses a member, or finds
 *  runs, influence and problem of different shapes, fails with CM_BAD_INPUT and says which. A function that fails leaves
 *  the job as it was. */
typedef struct cm_job {
    size_t size;                                  /**< sizeof the struct; later versions append members */
    const cm_case *given;                         /**< the case */
    const cm_runs *runs;                          /**< its runs as arrays */
    const cm_influence *influence;                /**< the fit */
    const cm_problem *problem;                    /**< what is asked */
    const cm_determination *determination;        /**< what the runs tell */
    const cm_condition *condition;                /**< condition numbers */
    const cm_answer *answer;                      /**< the answer */
    const cm_spread *spread;                      /**< its uncertainty */
    const cm_findings *findings;                  /**< what a sceptical colleague would say */
    const struct cm_tolerance *tolerance;         /**< start.h */
    const struct cm_trials *trials;               /**< start.h */
    const struct cm_plane_comparison *comparison; /**< planes.h */
    const struct cm_hand_work *hand_work;         /**< place.h */
    const struct cm_placement *placement;         /**< place.h */
    const cm_trade_off *trade_off;                /**< mass against the largest ratio */
    const cm_foretold *foretold;                  /**< every run predicted by those before it */
    int show_proof;                               /**< 1: the result carries the dual point of the proof */
    const struct cm_survey_verdicts *surveyed;    /**< evidence.h */
    const struct cm_sweeps *sweeps;               /**< evidence.h */
    const struct cm_card *card;                   /**< evidence.h */
    const struct cm_run_tests *examined;          /**< evidence.h */
    /** the same job with the pieces of its placement as the answer; for the report */
    const struct cm_job *placed;
    const cm_drift_report *drift;    /**< drift judged both ways */
    const cm_load_range *load_range; /**< what no mass can cure between states */
    const cm_kappa_gains *gains;     /**< what would raise the confidence */
} cm_job;

/** Predicts every run from the runs before it (job: runs; what cm_examine() has found of the same runs is taken) and leaves rows × runs expectations in the job, in
 *  the units of the runs; with more than 200 runs none is. Errors: CM_NO_MEMORY, CM_NUMERICS. Method: the fit
 *  of the runs before, docs/theory/influence.md. */
CM_API cm_status cm_foretell(cm_session *session, cm_job *job);

/** Decides which rows the runs tell over the allowed masses (job: runs, influence, problem), puts the mask
 *  (rows) into a copy of the problem, and finds the runs that would settle the others. Errors: CM_BAD_INPUT
 *  (a member of the job is missing), CM_NO_MEMORY, CM_NUMERICS. Method: rank of the fit matrix with the
 *  allowed directions appended, docs/theory/influence.md. */
CM_API cm_status cm_determine(cm_session *session, cm_job *job);

/** The influence of a job (given, runs, influence) as a record that later cases can name under `influence`:
 *  YAML, in the units and conventions of the case, owned by the session. It has been read back before it is
 *  returned. Errors: CM_BAD_INPUT (no coefficient is determined), CM_NUMERICS (it did
 *  not read back the same: a number too small or too large for a case), CM_NO_MEMORY. Method and form:
 *  docs/records.md. */
CM_API cm_status cm_record(cm_session *session, const cm_job *job, const char **yaml);

/** Asks whether a record may be saved as `path`: nothing is there yet, nothing that would be lost (an empty file, a
 *  device), or an earlier record. Errors: CM_BAD_INPUT (another file is there, said in a message), CM_NO_MEMORY,
 *  CM_FILE_FAILED. */
CM_API cm_status cm_record_may_replace(cm_session *session, const char *path);

/** How much drift from run to run matters (job: runs, problem, and answer where it is there); leaves job->drift NULL with
 *  fewer than three runs. Readings and masses in the units of the runs. Errors: CM_BAD_INPUT (a member of the job is
 *  missing), CM_NO_MEMORY, CM_NUMERICS, CM_STOPPED. Method: docs/theory/runs.md. */
CM_API cm_status cm_drift_of(cm_session *session, cm_job *job);

/** Closed-form spread of masses (planes, in the unit of the problem's masses) and predictions (rows, in the
 *  unit of its readings); job: influence, problem, answer. Errors: CM_NO_MEMORY, CM_NUMERICS. Method:
 *  propagation of the covariance of readings and coefficients to first order, docs/theory/spread.md. */
CM_API cm_status cm_spread_of(cm_session *session, cm_job *job);

/** Where the closed form leaves the masses open (a cap binds, or the objective is no sum of squares): their
 *  spread by repeating the whole job in numbers with a fixed seed (job: as for cm_spread_of, and spread).
 *  Does nothing where the closed form serves or nothing can tell. Errors: CM_NO_MEMORY, CM_NUMERICS,
 *  CM_STOPPED. Method: docs/theory/spread.md. */
CM_API cm_status cm_spread_by_repetition(cm_session *session, cm_job *job);

/** Largest ratio to limit against total mass in kg (job: problem, answer), from the lightest masses allowed
 *  to the min-max optimum. Errors: CM_BAD_INPUT (no counted reading has a limit), CM_NO_MEMORY, CM_NUMERICS,
 *  CM_STOPPED. Method: least mass at a series of ratios, each with its proof, docs/theory/optimiser.md. */
CM_API cm_status cm_trade_off_of(cm_session *session, cm_job *job);

/** What no mass can cure between operating states (job: runs, problem; answer where it is there), readings in the
 *  units of the problem; leaves job->load_range NULL without such states. Shapes: cm_load_range. Errors:
 *  CM_BAD_INPUT (a member of the job is missing), CM_NO_MEMORY, CM_NUMERICS, CM_STOPPED. Method:
 *  docs/theory/load-range.md. */
CM_API cm_status cm_load_range_of(cm_session *session, cm_job *job);

/** What one more run, or one more unit of mass (cm_problem.mass_unit), would add to the answer of CM_CONFIDENCE (job:
 *  influence, problem, answer; runs where they are there); leaves job->gains NULL for other objectives and without runs.
 *  Errors: CM_BAD_INPUT (a member of the job is missing), CM_NO_MEMORY, CM_NUMERICS, CM_STOPPED. Method: the answer is
 *  found again with the run repeated, or the cap larger by one unit; docs/theory/optimiser.md. */
CM_API cm_status cm_gains_of(cm_session *session, cm_job *job);

/** Findings about the evidence and the answer (all members of the job that are there are used); places are
 *  indices into the case, -1: none. Errors: CM_NO_MEMORY, CM_NUMERICS. Thresholds and their sources:
 *  docs/theory/evidence.md. */
CM_API cm_status cm_judge(cm_session *session, cm_job *job);

#ifdef __cplusplus
}
#endif
#endif
