/* SPDX-License-Identifier: MIT */
/**
 * @file zones.h
 * Vibration zone boundaries of the ISO 20816 family, as limits, alarm and trip.
 */
#ifndef STANDARDS_ZONES_H
#define STANDARDS_ZONES_H

#include "model/case.h"

enum { CM_ZONE_SPEEDS = 4 };

/** Boundaries A/B, B/C, C/D at one rated speed. */
typedef struct cm_zone_row {
    double rpm; /* 0: any speed */
    double boundary[3];
} cm_zone_row;

struct cm_zone {
    const char *name; /* what `limits: {standard: ...}` says */
    const char *machines;
    const char *unit;     /* of the boundaries; a name of the table of units */
    cm_sensor_kind kind;  /* where it is measured */
    bool over_root_speed; /* boundary = figure of the row / sqrt(r/min); below 1000 r/min as at 1000 */
    int count;
    cm_zone_row rows[CM_ZONE_SPEEDS];
    const char *mark;
};

/** The table; ended by a NULL name. */
extern const cm_zone CM_ZONES[];

/** The table of this name (case and blanks do not matter), or NULL. */
const cm_zone *cm_zone_find(const char *name);

/** Boundaries for a rated speed [rad/s], in SI as peak values: [0] A/B (limit), [1] B/C (alarm), [2] C/D
 * (trip). False when the table has no row within 5 % of that speed. */
bool cm_zone_boundaries(const cm_zone *zone, double omega, double boundary[3]);

/** Said wherever zones are used as limits. */
extern const char CM_ZONE_ADVICE[];

#endif
