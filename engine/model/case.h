/* SPDX-License-Identifier: MIT */
/**
 * @file case.h
 * A case as plain data: what the user wrote, checked, in SI and one frame.
 *
 * Masses in kg, angles in rad counted with rotation, readings as peak
 * phasors (phase lead) in m, m/s or m/s², speeds in rad/s, lengths in m.
 * A mass angle has had its plane's zero added: inside, all angles count from
 * the reference mark. NAN: not given (scalars); limits and caps: INFINITY.
 */
#ifndef MODEL_CASE_H
#define MODEL_CASE_H

#include "base/session.h"
#include "countermass/case.h"

#include <complex.h>
#undef I

typedef struct cm_unit cm_unit; /* model/units.h */
typedef struct cm_node cm_node; /* tree/node.h */

typedef enum cm_sensor_kind {
    CM_KIND_UNSAID,
    CM_SHAFT_RELATIVE,
    CM_SHAFT_ABSOLUTE,
    CM_HOUSING
} cm_sensor_kind;

typedef enum cm_judge { CM_JUDGE_UNSAID, CM_JUDGE_COMPENSATED, CM_JUDGE_AS_READ } cm_judge_by;
typedef enum cm_limit_kind { CM_LIMIT_ONE_PER_TURN, CM_LIMIT_OVERALL } cm_limit_kind;

typedef struct cm_speed {
    const char *id;
    cm_place place;
    double omega;
    double weight;
    double load;          /* W; NAN: not given */
    const char *state_of; /* id of the speed whose coefficients it has; NULL: its own */
    cm_place state_place;
    int root; /* speed that the coefficients belong to: itself, or that of `state_of` */
} cm_speed;

typedef struct cm_sensor {
    const char *id;
    cm_place place;
    double position, angle; /* angle: rad in the direction of rotation from top dead centre */
    const cm_unit *unit;
    cm_sensor_kind kind;
    double *limit;         /* speeds; INFINITY: none */
    double *weight;        /* speeds; 1 by default */
    double *alarm, *trip;  /* speeds; INFINITY: none */
    double *repeatability; /* speeds; NAN: not declared */
    double complex slow_roll;
    int judge;    /* cm_judge_by */
    int limit_is; /* cm_limit_kind */
} cm_sensor;

/** What is asked of the orbit that two sensors see. */
typedef enum cm_orbit_axis { CM_ORBIT_FORWARD, CM_ORBIT_MAJOR } cm_orbit_axis;

/** Two sensors that see one orbit from two angles. */
typedef struct cm_probe_pair {
    const char *id;
    cm_place place;
    int sensor[2];
    bool asked[2]; /* by cm_orbit_axis */
    double *limit; /* speeds; INFINITY: none */
} cm_probe_pair;

/** A row that a pair makes of two rows: pair k of a problem is orbit k of its case. */
typedef struct cm_orbit_row {
    int pair, axis, speed; /* axis: cm_orbit_axis */
} cm_orbit_row;

/** A piece of mass that a plane takes. */
typedef struct cm_piece {
    double mass;
    int stock; /* INT_MAX: any number */
    double screw, replaces;
} cm_piece;

typedef enum cm_numbered { CM_NUMBERED_UNSAID, CM_NUMBERED_WITH, CM_NUMBERED_AGAINST } cm_numbered;

/** Numbered positions of a plane. Angles are the user's degrees, by the plane's own zero. */
typedef struct cm_sites {
    int count;      /* 0: none */
    double *angles; /* listed; NULL: equally spaced */
    double first_angle;
    int first_number;
    int numbered; /* cm_numbered */
    int blocked_count;
    int *blocked; /* numbers */
    int per_site;
    int most;      /* INT_MAX: as many as fit */
    double radius; /* m; NAN: the plane's */
    double screw;
    const char *called; /* NULL: "position" */
    cm_place place;
} cm_sites;

/** A piece at a position that can be taken away. */
typedef struct cm_installed {
    int number; /* of the position */
    double mass;
    cm_place place;
} cm_installed;

/** Free angles are all but the blocked stretches. */
typedef struct cm_groove {
    double piece_length; /* NAN: no groove */
    double radius;       /* m; NAN: the plane's */
    int blocked_count;
    double (*blocked)[2]; /* user's degrees: from, to */
} cm_groove;

typedef struct cm_drill {
    double diameter; /* NAN: nothing is drilled */
    double density, deepest;
    double point; /* user's degrees, full angle */
    double step;
} cm_drill;

typedef struct cm_plane {
    const char *id;
    cm_place place;
    double position;
    double radius;
    double zero;                       /* rad, frame: added to this plane's own angles */
    double cap, cap_force, change_cap; /* INFINITY: none */
    cm_place cap_place;
    int piece_count, piece_room;
    cm_piece *pieces;
    cm_sites sites;
    cm_groove groove;
    cm_drill drill;
    int installed_count, installed_room;
    cm_installed *installed;
    int action; /* cm_shop_action */
    cm_place action_place;
    int turns; /* positions that the part with this plane can be refitted in, as-found among them; 0: none */
} cm_plane;

typedef struct cm_tie_term {
    int plane;
    double complex factor;
} cm_tie_term;

/** A set of planes: one unit of it is the mass `factor` on each plane. */
typedef struct cm_bundle {
    const char *id;
    cm_place place;
    int count;
    cm_tie_term *terms;
} cm_bundle;

typedef struct cm_mass {
    int plane;
    double complex mass; /* reduced to the plane's radius */
    bool stays;
    bool sited; /* given by the number of a position */
    int site;
    cm_place place;
} cm_mass;

typedef struct cm_mass_list {
    int count, room;
    cm_mass *items;
} cm_mass_list;

typedef struct cm_reading {
    int sensor, speed;
    int count, room;        /* repeated readings */
    double complex *values; /* slow roll not yet subtracted */
    double *overall;        /* overall level of each; NAN: not read */
    cm_place place;
} cm_reading;

/** Readings of a run that are not used. */
typedef struct cm_leave_out {
    unsigned char *sensors, *speeds; /* NULL: all */
    const char *because;             /* NULL: nothing is left out */
} cm_leave_out;

typedef enum cm_taken { CM_TAKEN_UNSAID, CM_TAKEN_HOLDING, CM_TAKEN_RUN_UP, CM_TAKEN_RUN_DOWN } cm_taken;

typedef struct cm_run {
    const char *id;
    cm_place place;
    cm_mass_list masses; /* totals, once all runs are read */
    int after;           /* run whose masses `added` comes on top of; -1: none */
    const char *after_id;
    cm_place after_place;
    double complex *slow_roll; /* sensors: of this run; NAN: the sensor's; NULL: the sensors' */
    cm_leave_out leave_out;
    int left_out; /* readings that `leave_out` took away */
    /* planes: steps that the part was turned by, in the direction of mass angles, from as-found; NULL: no
     * part was turned */
    int *turned;
    int taken;          /* cm_taken */
    const char *at;     /* when; NULL: not said */
    double load;        /* W; NAN: not given */
    const char *group;  /* of runs with one reference level; NULL: none named */
    double weight;      /* what its readings count as */
    double phase_shift; /* rad, lead: by which its phases read too high; NAN: unknown */
    cm_place phase_place;
    const cm_node *notes; /* text or list of texts; NULL: none */
    double *actual_speed; /* speeds; NAN: not given */
    int reading_count, reading_room;
    cm_reading *readings;
} cm_run;

typedef struct cm_coefficient {
    int plane, speed, sensor;
    double complex value; /* SI per kg */
    double uncertainty;   /* SI per kg, sqrt(E|e|²); 0: exact */
    double common;
    int record; /* number of the record it comes from, from 1; 0: written in the case */
    cm_place place;
} cm_coefficient;

typedef struct cm_tie {
    int count, room;
    cm_tie_term *terms;
    double complex equals;
    cm_place place;
} cm_tie;

typedef enum cm_drift { CM_DRIFT_NONE, CM_DRIFT_LINEAR } cm_drift;

enum { CM_FIXED_ALONE = 1, CM_FIXED_BY_SET };

typedef struct cm_goal {
    cm_objective minimise;
    cm_place minimise_place;
    bool has_then;
    cm_objective second; /* of `then` */
    double within;
    cm_place then_place;
    bool within_limits;
    cm_place within_place;
    unsigned char *use;          /* planes: 1 when in use_planes, or when use_planes is not given */
    unsigned char *use_set;      /* sets: 1 when in use_planes and not fixed */
    unsigned char *fixed;        /* planes: CM_FIXED_ALONE, CM_FIXED_BY_SET or 0 */
    double complex *fixed_value; /* planes */
    cm_place *fixed_place;       /* planes */
    int tie_count, tie_room;
    cm_tie *ties;
    int base_run; /* -1: the last run */
    int drop_count, drop_room;
    int (*drop)[2];         /* sensor, speed */
    int drift;              /* cm_drift */
    double influence_error; /* NAN: not given */
} cm_goal;

/** A bearing of the rotor. */
typedef struct cm_bearing {
    const char *id;
    cm_place place;
    double position;    /* m; NAN: not given */
    double static_load; /* N; NAN: not given */
} cm_bearing;

typedef enum cm_key_convention { CM_KEY_UNSAID, CM_KEY_HALF, CM_KEY_FULL, CM_KEY_NONE } cm_key_convention;

/** What the case says of the rotor besides its speeds. */
typedef struct cm_rotor {
    double mass;            /* kg; NAN: not given */
    double grade;           /* balance quality grade in mm/s; NAN: not given */
    double mass_centre;     /* m; NAN: not given */
    double first_resonance; /* rad/s: lowest resonance speed of the rotor on its bearings; NAN: not given */
    double amplification;   /* of that resonance; NAN: not given */
    int key_convention;     /* cm_key_convention */
    int bearing_count, bearing_room;
    cm_bearing *bearings;
} cm_rotor;

/** What one direction of a bearing shows. SI peak values; quantities as in model/units.h, -1: not given. */
typedef struct cm_survey_way {
    double overall, twice;
    double complex once;
    int overall_quantity, once_quantity, twice_quantity;
} cm_survey_way;

enum { CM_HORIZONTAL, CM_VERTICAL, CM_AXIAL, CM_WAYS };

/** Vibration of one bearing in three directions. */
typedef struct cm_survey {
    const char *bearing;
    cm_place place;
    int speed; /* -1: not said */
    cm_survey_way way[CM_WAYS];
} cm_survey;

/** One reading of a sweep. */
typedef struct cm_sweep_point {
    int sensor;
    double omega;
    double complex value; /* as read: slow roll not subtracted */
} cm_sweep_point;

/** Readings over speed in one run. */
typedef struct cm_sweep {
    int run;
    cm_place place;
    double seconds;       /* that it took; NAN: not given */
    const cm_node *table; /* name of its file */
    int count, room;
    cm_sweep_point *points;
} cm_sweep;

typedef struct cm_zone cm_zone; /* standards/zones.h */

struct cm_case {
    const char *file;
    const char *title;
    const char *source;    /* the file as it was read, for pages */
    const cm_node *header; /* the `case:` map, for pages */
    bool phase_lag;
    bool against_rotation;
    int rotation; /* +1 counter-clockwise, -1 clockwise, 0 not said */
    const char *seen_from;
    const cm_unit *speed_unit, *mass_unit, *length_unit, *vibration_unit;
    double service_speed, overspeed; /* rad/s; NAN: not given */
    int speed_count, sensor_count, plane_count, run_count;
    int speed_room, sensor_room, plane_room, run_room;
    cm_speed *speeds;
    cm_sensor *sensors;
    cm_plane *planes;
    int set_count, set_room;
    cm_bundle *sets;
    cm_run *runs;
    int pair_count, pair_room;
    cm_probe_pair *pairs;
    int orbit_count;
    cm_orbit_row *orbits; /* by speed, then pair; both sensors read there */
    bool overall_read;    /* some reading has an overall level */
    bool has_now;
    cm_mass_list now;
    int known_count, known_room;
    cm_coefficient *known;
    cm_goal goal;
    const cm_node *expected; /* what a worked example promises, as the tree the user wrote; NULL: none */
    const char *expected_source;
    int row_count; /* (sensor, speed) pairs that a run read, by speed, then sensor */
    int *row_sensor, *row_speed;
    int *row_of; /* sensors × speeds: row, or -1 */
    cm_rotor rotor;
    int survey_count, survey_room;
    cm_survey *surveys;
    int sweep_count, sweep_room;
    cm_sweep *sweeps;
    const cm_zone *zone; /* `limits: {standard}`; NULL: none */
    cm_place zone_place;
};

#endif
