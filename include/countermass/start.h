/* SPDX-License-Identifier: MIT */
/**
 * @file start.h
 * Before the start and at the sign-off: permissible unbalance and the next trial mass.
 *
 * SI throughout: unbalance in kg m, masses in kg at the radius of their plane,
 * forces in N, angles in one frame (rad, with rotation, from the reference
 * mark). NaN: not available.
 */
#ifndef COUNTERMASS_START_H
#define COUNTERMASS_START_H

#include "countermass/job.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Does the rotor keep its shape up to service speed? */
typedef enum cm_behaviour {
    CM_BEHAVIOUR_UNKNOWN, /**< no resonance is known */
    CM_BEHAVIOUR_RIGID,   /**< it does */
    CM_BEHAVIOUR_FLEXIBLE /**< it does not */
} cm_behaviour;

/** Residual unbalance against the permissible one. */
typedef enum cm_verdict {
    CM_NOT_JUDGED, /**< nothing in the case tells the residual unbalance */
    CM_KEPT,       /**< value and error together are within the permissible one */
    CM_UNDECIDED,  /**< the permissible value lies inside the error of the measurement */
    CM_EXCEEDED    /**< even with the error in its favour the value is over */
} cm_verdict;

/** Why readings tell of no residual unbalance. */
typedef enum cm_unjudged {
    CM_UNJUDGED_NOTHING,   /**< they do */
    CM_UNJUDGED_READINGS,  /**< there are none */
    CM_UNJUDGED_BEHAVIOUR, /**< it is not known where the rotor keeps its shape */
    CM_UNJUDGED_BEARINGS,  /**< statics share between two bearings only */
    CM_UNJUDGED_PLANES,    /**< no two planes have a position and a radius */
    CM_UNJUDGED_SPEED /**< no speed at which it keeps its shape has readings and influence of two planes */
} cm_unjudged;

/** Residual unbalance that the readings tell of. `bearings` entries each. */
typedef struct cm_residual {
    int speed;                   /**< the speed it was read at; -1: none, then nothing below is set */
    int planes[2];               /**< correction planes it was resolved into; the two farthest apart */
    const cm_complex *unbalance; /**< at each bearing, where the heavy spot is */
    const double *radius;        /**< of the circle that holds 90 %; NaN: not available */
    double grade;                /**< grade reached, mm/s, the worse bearing */
    double grade_most;           /**< the same with the error added */
    int assumed;                 /**< 1: the radius rests on the assumed scatter */
    cm_verdict verdict;          /**< how it is judged against the permissible value */
    cm_unjudged why;             /**< why `speed` is -1; set then too */
} cm_residual;

/** Permissible residual unbalance of the case's rotor. Result. */
typedef struct cm_tolerance {
    size_t size;                   /**< sizeof the struct; later versions append members */
    double mass;                   /**< of the rotor, kg */
    double grade;                  /**< mm/s */
    double omega;                  /**< service speed, rad/s */
    double value;                  /**< permissible for the whole rotor, kg m */
    int bearings;                  /**< number of bearings */
    const double *share;           /**< bearings: share of `value`; NaN when it cannot be told */
    const double *lever;           /**< bearings: share by statics alone */
    const unsigned char *limited;  /**< bearings: the limits of the arrangement decided */
    const double *bearing;         /**< bearings: permissible value */
    int outboard;                  /**< 1: centre of mass beyond a bearing */
    const double *load;            /**< bearings: static load */
    double load_ratio;             /**< sum of the given static loads over the weight; NaN: not all given */
    const double *mass_speed;      /**< bearings: mass/speed rule */
    int planes;                    /**< number of planes */
    const double *plane;           /**< planes: value of the correction plane, all planes in use together */
    const unsigned char *overhung; /**< planes: beyond every bearing */
    cm_behaviour behaviour;        /**< rigid or flexible up to service speed */
    double resonance;              /**< rad/s, what `behaviour` rests on */
    double margin_below;    /**< separation margin asked for below service speed, percent; NaN: not known */
    double margin_above;    /**< separation margin asked for, percent; NaN: no amplification factor given */
    double margin;          /**< distance of the resonance from service speed, percent */
    double vibration_limit; /**< shaft vibration of a works test at service speed, m peak to peak */
    cm_residual reached;    /**< residual unbalance that the readings tell of */
} cm_tolerance;

/** 1 when the case holds all that cm_tolerance_of() needs. Does not fail. */
CM_API int cm_case_has_tolerance(const cm_case *c);

/** Permissible unbalance in kg m at bearings and planes, its shares, and what was reached (job: given; runs
 *  and influence when there are readings). Errors: CM_BAD_INPUT (names the keys that miss), CM_NO_MEMORY,
 *  CM_NUMERICS. Sources: ISO 21940-11 and others, each with its mark in docs/standards.md. */
CM_API cm_status cm_tolerance_of(cm_session *session, cm_job *job);

/** Why a trial mass may not be larger. */
typedef enum cm_bound_kind {
    CM_BOUND_ALARM,       /**< a reading would pass its alarm at the worst angle */
    CM_BOUND_LOAD,        /**< share of a bearing's static load */
    CM_BOUND_PERMISSIBLE, /**< multiple of the permissible unbalance */
    CM_BOUND_CAP,         /**< largest mass that the plane may carry */
    CM_BOUND_CAP_FORCE,   /**< largest centrifugal force there */
    CM_BOUND_CHANGE       /**< largest change of its mass in one go */
} cm_bound_kind;

/** Where the amplitude comes from that a trial run must not pass. */
typedef enum cm_ceiling_source {
    CM_CEILING_ALARM,  /**< the alarm of the sensor */
    CM_CEILING_TRIP,   /**< its trip */
    CM_CEILING_ASSUMED /**< 1.25 times the larger of limit and as-found reading */
} cm_ceiling_source;

/** One upper bound. */
typedef struct cm_trial_bound {
    cm_bound_kind kind;       /**< which */
    double mass;              /**< greatest mass by this bound */
    int row;                  /**< CM_BOUND_ALARM, else -1 */
    double ceiling;           /**< amplitude that must not be passed */
    cm_ceiling_source source; /**< where it comes from */
    int bearing;              /**< CM_BOUND_LOAD, else -1 */
    int plane;                /**< CM_BOUND_PERMISSIBLE and what a plane can take: that plane, else -1 */
} cm_trial_bound;

/** What one plane carries of a trial mass. A trial on one plane has one part, a trial on a set several. */
typedef struct cm_trial_part {
    int plane;        /**< index of the plane */
    cm_complex share; /**< of the trial mass: 1 for a single plane, the ratio in a set */
    double mass;      /**< of the proposed trial (else of `upper`) */
    double force;     /**< centrifugal force, N */
    double rim_speed; /**< m/s */
    double energy;    /**< of that mass at overspeed */
    int overhung;     /**< 1: the plane lies beyond every bearing */
    int unloaded;     /**< 1: the nearest bearing carries next to nothing, the load rule is left out there */
    /** count of each piece of the plane that makes up `mass`; NULL: none listed, or none fit */
    const int *pieces;
} cm_trial_part;

/** A way out when no trial mass on one plane will do: two planes at once, equal masses. */
typedef struct cm_trial_pair {
    int other;    /**< the other plane */
    int opposed;  /**< 1: on opposite sides */
    double lower; /**< least visible mass */
    double upper; /**< greatest safe mass */
} cm_trial_pair;

/** The trial mass of one plane, or of a set of planes: then masses count for a ratio of size 1. */
typedef struct cm_trial {
    int plane;                    /**< -1: a set */
    int set;                      /**< number of the set in the case; -1: a plane */
    int part_count;               /**< planes that carry it */
    const cm_trial_part *parts;   /**< part_count of them */
    int bound_count;              /**< number of upper bounds */
    const cm_trial_bound *bounds; /**< tightest first; at least one */
    double upper;                 /**< greatest safe mass */
    double lower;                 /**< lower 0: no influence known, visibility cannot be told */
    int visible_row;              /**< the row that answers best; -1: none known */
    int assumed_scatter;          /**< 1: visibility rests on the assumed scatter */
    int untold;                   /**< readings whose influence is not known: their alarm is not guarded */
    int possible;                 /**< lower <= upper and upper > 0 */
    double mass;                  /**< proposed; NaN when not possible */
    int angle_known;              /**< 1: `direction` is known */
    cm_complex direction;         /**< unit phasor of the proposed place; 1 when not known */
    double angle_radius;          /**< 90 %, rad */
    double repeats;               /**< runs of each state that would make `upper` visible; 0: not a way out */
    cm_complex correction;        /**< the correction of this plane or set alone; 0: not known */
    int correction_safe;          /**< 1: with it no reading passes its ceiling and every cap is kept */
    int pair_count;               /**< number of ways out */
    const cm_trial_pair *pairs;   /**< pair_count of them */
} cm_trial;

/** Trial masses for the next start. Result. */
typedef struct cm_trials {
    size_t size;           /**< sizeof the struct; later versions append members */
    int count;             /**< number of items */
    const cm_trial *items; /**< `count` of them */
    int possible;          /**< 1: every plane and set asked for has a trial mass that is safe and visible */
    double omega;          /**< rad/s, speed of the trial run behind the load rule */
    double overspeed;      /**< rad/s */
    int overspeed_assumed; /**< 1: the case does not state it */
} cm_trials;

/** Bounds on the next trial mass in kg at the plane's radius (job: given; runs and influence when there are
 *  readings). `plane`: id of a plane or a set, NULL: all. Errors: CM_BAD_INPUT (no such plane; names the keys
 *  that miss), CM_NO_MEMORY, CM_NUMERICS. Rules and sources: docs/theory/trial.md. */
CM_API cm_status cm_trials_of(cm_session *session, cm_job *job, const char *plane);

#ifdef __cplusplus
}
#endif
#endif
