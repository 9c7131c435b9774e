/* SPDX-License-Identifier: MIT */
/**
 * @file trial.h
 * The next trial mass: its bounds, its place, and the ways out when no mass will do.
 *
 * A trial is m times a pattern of planes (`share`: one plane 1, the others 0;
 * a pair 1 and ±1). Everything below is for a pattern. A pattern whose
 * planes were only ever tried together is as well known as a plane tried alone.
 */
#ifndef STARTS_TRIAL_H
#define STARTS_TRIAL_H

#include "base/session.h"
#include "countermass/start.h"
#include "model/case.h"

/** A trial must move a reading by this many standard deviations (chosen). */
#define CM_TRIAL_VISIBLE 7.0
/** Radius of the circle of an uncertain coefficient that the worst case counts with: holds 99 % (exp(-k²) =
 * 0.01). */
#define CM_TRIAL_SURE 2.1459660262893472
/** Radius that holds 90 %. */
#define CM_TRIAL_USUAL 1.5174271293851464
/** Ceiling of a reading without alarm and trip, relative to the larger of limit and as-found reading (common
 * practice). */
#define CM_TRIAL_CEILING 1.25
/** Greatest force relative to the static load of a bearing (common practice, no source). */
#define CM_TRIAL_LOAD 0.1
/** A bearing that carries less than this share of the mean load counts as unloaded: the load rule says
 * nothing there. */
#define CM_TRIAL_UNLOADED 0.05
/** Multiple of the permissible unbalance of the nearest bearing when nothing else is known (common practice,
 * no source). */
#define CM_TRIAL_MULTIPLE 5.0
/** Change of the reading that the proposal aims at (common practice). */
#define CM_TRIAL_CHANGE 0.3
/** More repeated runs than this are no way out. */
#define CM_TRIAL_REPEATS 16

/** One reading as a trial sees it. */
typedef struct cm_trial_row {
    double complex y; /* now */
    double complex a; /* change per kg of the pattern */
    double spread;    /* sqrt(E|e|²) of a */
    double scatter;   /* of one reading */
    double ceiling;   /* must not be passed; INFINITY: none */
    cm_ceiling_source source;
    bool now_told; /* y is known */
    bool told;     /* y and a are known */
    bool counted;  /* weight > 0 */
    double weight; /* in the estimate of the heavy spot */
} cm_trial_row;

/** Largest m with |y| + (|a| + CM_TRIAL_SURE spread) m <= ceiling: no angle of the mass and no likely error
 * of the coefficient takes the reading past it. 0 when it is there already. */
double cm_trial_row_bound(const cm_trial_row *row);

/** Smallest m that moves the reading by CM_TRIAL_VISIBLE standard deviations; INFINITY when a is 0. */
double cm_trial_visible(const cm_trial_row *row);

/** The mass that corrects these rows best by itself: -sum conj(a) w² y / sum |a|² w². `std`: sqrt(E|e|²) of
 * it. */
double complex cm_trial_opposite(int rows, const cm_trial_row *row, double *std);

/** The largest mass of at most two digits in the user's unit that is not above `mass`; `mass` when that is <
 * least. */
double cm_trial_round(double mass, double least, double unit);

/** Counts of the plane's pieces (piece_count of them) whose sum lies in [least, most] nearest to `aim`; NULL:
 * none. */
const int *cm_trial_pieces(cm_session *session, const cm_plane *plane, double least, double most, double aim,
                           double *sum);

/** One case on the way to its trial masses. */
typedef struct cm_trial_case {
    cm_session *session;
    const cm_job *job;
    const cm_case *c;
    int rows;
    cm_trial_row *row;         /* rows: a, spread and told follow the pattern at hand */
    const double complex *now; /* planes: what is on the rotor */
    double omega, overspeed;
    bool assumed;
} cm_trial_case;

/** A pattern by itself: a plane, or a set of the case. */
typedef struct cm_trial_target {
    int plane, set; /* one of them is -1 */
    const char *id;
    const cm_place *place;
    double complex *share; /* planes */
} cm_trial_target;

/** Reads job and case: readings now, ceilings, masses now, speeds. */
cm_trial_case cm_trial_open(cm_session *session, const cm_job *job);

/** Fills a, spread and told of every row for a pattern (planes). */
void cm_trial_aim(cm_trial_case *t, const double complex *share);

/** All upper bounds of the pattern, tightest first; count 0: nothing bounds it. cm_trial_aim() comes before.
 */
int cm_trial_bounds(const cm_trial_case *t, const double complex *share, cm_trial_bound **bounds);

/** True when the bearing nearest to a plane carries next to nothing, so that the load rule says nothing
 * there. */
bool cm_trial_unloaded(const cm_trial_case *t, int plane);

/** Least visible mass of the rows at hand; `row` receives the one that answers best (-1 and 0: none told). */
double cm_trial_lower(const cm_trial_case *t, int *row);

/** Names the keys that would bound the trial mass on a target where nothing does. */
void cm_trial_complain(const cm_trial_case *t, const cm_trial_target *target);

/** Notes what is left out because a plane of the target has no radius. */
void cm_trial_note_radius(const cm_trial_case *t, const cm_trial_target *target);

/** Parts of the trial, once bounds and mass are there: pieces where the planes list some (they settle the
 * mass), force, rim speed, energy. */
void cm_trial_parts(const cm_trial_case *t, const cm_trial_target *target, cm_trial *trial);

/** Fills repeats, correction and pairs of a trial. */
void cm_trial_ways(cm_trial_case *t, cm_trial *trial);

#endif
