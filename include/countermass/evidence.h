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
    CM_ANGLE_MIRRORED,         /**< angle counted against the convention */
    CM_OPPOSITE_SIDE,          /**< half a turn off */
    CM_ONE_POSITION_OFF,       /**< the neighbouring position */
    CM_NUMBERED_THE_OTHER_WAY, /**< positions numbered the other way round */
    CM_PLANES_SWAPPED,         /**< masses of two planes exchanged */
    CM_MASS_MISSING,           /**< a mass that was stated is not there */
    CM_MASS_CAME_OFF,          /**< a mass was lost during the run */
    CM_TRIAL_LEFT_ON,          /**< a trial mass stayed on */
    CM_MASS_UNIT,              /**< mass stated in another unit */
    CM_WRONG_RADIUS,           /**< mounted at another radius */
    CM_PHASE_CONVENTION,       /**< phases read with the other sign */
    CM_PHASE_REFERENCE_MOVED,  /**< all phases shifted alike */
    CM_CABLES_SWAPPED,         /**< readings of two sensors exchanged */
    CM_AMPLITUDE_SCALE,        /**< amplitudes read on another scale */
    CM_MACHINE_CHANGED,        /**< the machine itself is not what it was */
    CM_MISTAKE_COUNT           /**< number of kinds */
} cm_mistake_kind;

/** One mistake and where it was made. */
typedef struct cm_mistake {
    cm_mistake_kind kind; /**< which mistake */
    int plane;            /**< the plane, or one of two */
    int other_plane;      /**< planes-swapped: both; -1: every plane that was changed, or no plane at all */
    int sensor;           /**< the sensor, or one of two */
    int other_sensor;     /**< cables-swapped: both; amplitude-scale: one, -1: all */
} cm_mistake;

/** One explanation of a run that missed its prediction. */
typedef struct cm_explanation {
    cm_mistake mistake; /**< the mistake */
    int has_second;     /**< 1: two mistakes together */
    cm_mistake second;  /**< made together with the first */
    double likelihood;  /**< share of all explanations listed; they sum to 1 */
    double value; /**< what fits best: scale (amplitude, radius, unit), shift in rad; NaN: nothing to fit */
    double left;  /**< root mean square miss that is left, in standard deviations */
    const cm_complex *extra; /**< planes: what would be on the rotor beyond what was stated; NULL: nothing */
} cm_explanation;

/** One run against what the runs before it let expect. */
typedef struct cm_run_test {
    int run;                    /**< index of the run */
    int readings;               /**< that the runs before tell */
    const int *rows;            /**< readings */
    const cm_complex *expected; /**< reading that is expected */
    const cm_complex *measured; /**< readings */
    const double *std;          /**< readings: sqrt(E|e|²) of measured - expected */
    double chi2;   /**< sum of |miss|² over its covariance: 1 a reading is what a right run gives */
    double dof;    /**< behind the scatter; INFINITY: declared or assumed */
    double chance; /**< of so large a miss in a right run */
    double odds;   /**< of the usual mistakes together against a right run; 0: not suspect enough to ask */
    int missed;    /**< 1: the chance, or that of such odds, is below the threshold */
    int explanation_count;              /**< number of explanations */
    const cm_explanation *explanations; /**< best first */
} cm_run_test;

/** Every run that was tested. Result. */
typedef struct cm_run_tests {
    size_t size;                        /**< sizeof the struct; later versions append members */
    int count;                          /**< number of items */
    const cm_run_test *items;           /**< `count` of them */
    int so_far;                         /**< 1: the last run is still going on: the last item is about it */
    double threshold;                   /**< of either chance */
    int first;                          /**< index of the first run that was looked at */
    const struct cm_foretold *foretold; /**< what was expected of it and of those after it */
    const struct cm_runs *runs;         /**< the runs that were looked at */
} cm_run_tests;

/** Tests every run (job: given, runs) against those before it and explains the ones that miss their
 *  prediction; with more than 200 runs the last one only. `so_far`: 1: only the last run, which is still on
 *  its way up. Method: docs/theory/evidence.md. Shapes: cm_run_tests, in the units of the runs. Errors:
 *  CM_NO_MEMORY, CM_NUMERICS, CM_STOPPED. */
CM_API cm_status cm_examine(cm_session *session, cm_job *job, int so_far);

/** What decides the amplitude at which a run-up is to be broken off. */
typedef enum cm_abort_source {
    CM_ABORT_SPREAD, /**< what a right run hardly ever passes */
    CM_ABORT_ALARM,  /**< the alarm, which is lower */
    CM_ABORT_TRIP    /**< the trip, which is lower */
} cm_abort_source;

/** One reading of the card. */
typedef struct cm_card_row {
    int row;                /**< index of the row */
    cm_complex expected;    /**< reading that is expected; NaN: nothing tells it */
    cm_complex run_out;     /**< slow roll that the instrument shows on top of it */
    double std;             /**< sqrt(E|e|²) of a reading around it: of the prediction and of reading */
    double dof;             /**< degrees of freedom behind it */
    double radius90;        /**< radius that holds 90 % of right readings */
    double abort;           /**< amplitude at which to break off, as the instrument shows it */
    cm_abort_source source; /**< where it comes from */
    int is_read;            /**< 1: the run so far has read it */
    cm_complex measured;    /**< when it is read */
    double level;           /**< when it is read: what alarm and trip are held against */
    cm_abort_source over;   /**< alarm or trip that it is over; CM_ABORT_SPREAD: neither */
    double bound;           /**< that alarm or trip; NaN: neither */
    int stops;              /**< 1: read over its alarm, its trip or the amplitude to break off at */
    double if_so; /**< amplitude to expect if the likeliest explanation of the run so far holds; NaN: none */
    cm_complex if_so_reading; /**< the reading of that; NaN: none */
    double if_so_level;       /**< its size as limits judge it; NaN: none */
    /** 1: slow roll is so large that `abort` keeps alarm and trip at the phase expected only; 0: at every
     *  phase */
    int by_phase;
} cm_card_row;

/** May the run-up go on? */
typedef enum cm_go {
    CM_GO_UNTOLD, /**< the runs before do not tell */
    CM_GO_ON,     /**< nothing read so far speaks against it */
    CM_GO_STOP    /**< a reading is over its bound, or the run misses what was expected */
} cm_go;

/** Go or no-go: what the next run-up, or the one going on, should read on the way up. Result. */
typedef struct cm_card {
    size_t size;             /**< sizeof the struct; later versions append members */
    int run;                 /**< the run going on; -1: the next one, with the masses of the answer */
    int count;               /**< number of items */
    const cm_card_row *rows; /**< by speed, slowest first, then sensor; rows that the runs tell */
    double tail;             /**< chance that a right run passes one of the abort amplitudes */
    cm_go go;                /**< of the run going on */
    const cm_run_test *test; /**< of the run going on; NULL: the runs before do not tell it */
    cm_complex turn;         /**< of the run going on: its phases were turned back by it, the instrument shows
                          (reading + run_out)/turn; else 1 */
} cm_card;

/** Card for the next run-up (job: problem, answer, spread), or, after cm_examine() with so_far, for the run
 *  going on. job->card stays NULL when there is nothing to tell. Method: docs/theory/evidence.md. Amplitudes
 *  in the units of the problem. Errors: CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_card_of(cm_session *session, cm_job *job);

/** One resonance of a fitted sweep. Speeds in rad/s. */
typedef struct cm_resonance {
    double omega;         /**< speed of the mode, where a plane response lags by 90 degrees, rad/s */
    double omega_std;     /**< standard deviation of `omega`; NaN: not told */
    double damping;       /**< damping ratio */
    double damping_std;   /**< standard deviation of `damping`; NaN: not told */
    double amplification; /**< by half power on the fitted curve: omega/(high - low) = 1/(2 damping) */
    double low;           /**< lower half-power speed */
    double high;          /**< upper half-power speed */
    double peak;          /**< where the unbalance response of the mode peaks; INFINITY: nowhere */
    int inside;           /**< 1: within the speeds of the sweep */
    int clear;            /**< 1: inside, well determined and standing out of scatter */
    int sensor;           /**< that shows it best */
    double height;        /**< amplitude of the mode there at omega */
    /** separation margins, percent of running speed, for a resonance below and above it */
    double asked_below;
    double asked_above; /**< separation margin asked for above it, percent */
    double margin;      /**< distance from running speed, percent; NaN: no running speed */
    double rate_limit;  /**< fastest sweep through it, rad/s² */
} cm_resonance;

/** One fitted sweep. */
typedef struct cm_sweep_result {
    int run;                        /**< index of the run */
    int readings;                   /**< readings of the sweep */
    int sensors;                    /**< sensors that were read */
    double low;                     /**< lowest speed, rad/s */
    double high;                    /**< highest speed, rad/s */
    double rate;                    /**< rad/s² on average; NaN: the case does not say how long it took */
    double share;                   /**< root mean square of what the fit leaves, of the readings */
    int count;                      /**< resonances found */
    const cm_resonance *resonances; /**< slowest first; also modes outside the sweep that bend it */
    const struct cm_sweep_model *model; /**< inside of the engine */
    const int *channel; /**< sensors of the case: channel of the model, -1: not in the sweep */
} cm_sweep_result;

/** Every sweep of the case. Result. */
typedef struct cm_sweeps {
    size_t size;                  /**< sizeof the struct; later versions append members */
    int count;                    /**< number of items */
    const cm_sweep_result *items; /**< `count` of them */
} cm_sweeps;

/** Fits every sweep of the case (job: given). Method: docs/theory/resonance.md. Shapes: cm_sweeps, one item a
 *  sweep; speeds in rad/s, amplitudes in SI. Errors: CM_BAD_INPUT (the case is missing), CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_sweeps_of(cm_session *session, cm_job *job);

/** What is looked at to tell unbalance from other causes. */
typedef enum cm_sign_kind {
    CM_SIGN_ONCE_SHARE, /**< once-per-turn part of the overall amplitude */
    CM_SIGN_TWICE,      /**< twice-per-turn against once-per-turn */
    CM_SIGN_AXIAL,      /**< axial against the larger radial once-per-turn amplitude */
    CM_SIGN_SIZES,      /**< larger against smaller radial once-per-turn amplitude */
    CM_SIGN_PHASE,      /**< degrees between horizontal and vertical once-per-turn phase */
    CM_SIGN_GROWTH,     /**< exponent of growth of the once-per-turn amplitude with speed, as displacement */
    CM_SIGN_BACKWARD,   /**< backward share of the orbit */
    CM_SIGN_COUNT       /**< number of kinds */
} cm_sign_kind;

/** What a sign speaks for. */
typedef enum cm_speaks {
    CM_SPEAKS_NOT,    /**< neither for nor against */
    CM_SPEAKS_FOR,    /**< for unbalance as the main cause */
    CM_SPEAKS_AGAINST /**< against it */
} cm_speaks;

/** One sign for or against unbalance as the cause. */
typedef struct cm_sign {
    cm_sign_kind kind; /**< what was looked at */
    double value;      /**< what was found */
    cm_speaks speaks;  /**< for or against unbalance as the main cause; CM_SPEAKS_NOT: neither */
} cm_sign;

/** Verdict on one bearing of the survey, or on one orbit. */
typedef struct cm_survey_verdict {
    const char *bearing;  /**< name of the bearing, or of the orbit, in words */
    int speed;            /**< -1: not said */
    int sensor[2];        /**< of an orbit; -1: a bearing of the survey */
    int count;            /**< number of items */
    const cm_sign *signs; /**< count of them */
    int against;          /**< signs that speak against unbalance */
    int in_favour;        /**< signs that speak for it */
} cm_survey_verdict;

/** Is it unbalance, for each bearing. Result. */
typedef struct cm_survey_verdicts {
    size_t size;                    /**< sizeof the struct; later versions append members */
    int count;                      /**< number of items */
    const cm_survey_verdict *items; /**< `count` of them */
} cm_survey_verdicts;

/** Is it unbalance at all? (job: given; runs for orbits). Leaves job->surveyed: one item a
 *  bearing of the survey, then one an orbit; signs are ratios, degrees and exponents, without units. Errors: CM_BAD_INPUT
 *  (the case is missing), CM_NO_MEMORY, CM_NUMERICS. Method and thresholds: docs/theory/evidence.md. */
CM_API cm_status cm_survey_of(cm_session *session, cm_job *job);

#ifdef __cplusplus
}
#endif
#endif
