/* SPDX-License-Identifier: MIT */
/**
 * @file units.h
 * Units of the case file, as one table, and the two angle conventions.
 */
#ifndef MODEL_UNITS_H
#define MODEL_UNITS_H

#include "model/case.h"

typedef enum cm_quantity {
    CM_SPEED,
    CM_MASS,
    CM_LENGTH,
    CM_DISPLACEMENT,
    CM_VELOCITY,
    CM_ACCELERATION,
    CM_FORCE,
    CM_SHARE,
    CM_DENSITY,
    CM_PRESSURE,
    CM_STIFFNESS,
    CM_DAMPING,
    CM_INERTIA,
    CM_POWER,
    CM_ANGLE
} cm_quantity;

struct cm_unit {
    const char *name; /* as printed: "um pp" */
    cm_quantity quantity;
    double factor; /* SI value of one unit; vibration: SI peak value */
    /* vibration: floor of the assumed scatter, SI peak (1 um pp, 0.1 mm/s rms, 0.05 m/s2 rms) */
    double assumed_floor;
};

/** The unit called `name` (spellings p-p, r/min, µm, spaces allowed), or NULL. */
const cm_unit *cm_unit_find(const char *name);

/** The unit as people write it: "µm pp", "r/min". */
const char *cm_unit_words(const cm_unit *unit);

/** All units, ended by a NULL name; for messages, schema and documents. */
extern const cm_unit CM_UNITS[];

/** True for displacement, velocity and acceleration. */
bool cm_is_vibration(cm_quantity quantity);

/** Scatter that is assumed where nothing tells it: 3 % of the amplitude and the floor of its unit (common practice, no
 *  source). */
double cm_assumed_scatter(double amplitude, double floor);

/** Angle in degrees of the case's convention -> rad in the frame, for masses and for readings. Exact at 0, 90, 180, 270. */
double complex cm_mass_from_user(const cm_case *c, int plane, double mass_kg,
                                 double degrees); /* plane -1: reference mark */
double complex cm_reading_from_user(const cm_case *c, double amplitude, double degrees);

/** Back again: degrees in [0, 360); 0 for a zero phasor. */
double cm_mass_angle_to_user(const cm_case *c, int plane, double complex mass);
double cm_phase_to_user(const cm_case *c, double complex reading);

#endif
