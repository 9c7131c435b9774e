/* SPDX-License-Identifier: MIT */
/**
 * @file values.h
 * Numbers of a job as the user counts them: masses in the case's mass unit at
 * the plane's own angles, readings in the sensor's unit and the case's phase
 * convention. The only place of page/ where units and angles are converted.
 */
#ifndef PAGE_VALUES_H
#define PAGE_VALUES_H

#include "countermass/job.h"
#include "base/constants.h"
#include "model/units.h"

typedef struct cm_size_angle {
    double size;
    double angle; /* degrees in [0, 360) */
} cm_size_angle;

const cm_sensor *cm_sensor_of(const cm_job *job, int row);
const cm_speed *cm_speed_of(const cm_job *job, int row);

/** A mass on a plane; masses below the case's zero are exactly 0 at 0. */
cm_size_angle cm_user_mass(const cm_job *job, int plane, double complex mass);

/** Degrees in [0, 360) from as-found, in the direction of mass angles, of steps that count with rotation. */
double cm_turned_degrees(const cm_job *job, int positions, int steps);

/** A mass [kg] in the case's unit, no angle. */
double cm_user_kilograms(const cm_job *job, double mass);

cm_size_angle cm_user_reading(const cm_job *job, int row, double complex reading);

/** An amplitude in the sensor's unit. */
double cm_user_amplitude(const cm_job *job, int row, double amplitude);

/** Change of the reading per mass unit at the plane's own angle 0. */
cm_size_angle cm_user_coefficient(const cm_job *job, int row, int plane);
/** The same of one unit of a set, angles from the reference mark. */
cm_size_angle cm_user_set_coefficient(const cm_job *job, int row, int set);
double cm_user_coefficient_size(const cm_job *job, int row, double size);

/** Limit of the row in the sensor's unit; NAN: none. */
double cm_user_limit(const cm_job *job, int row);

/** The reading of a row as the rotor stands now, measured: false where no run of that state read it, and where nothing
 *  is on the rotor (that is cm_before). */
bool cm_standing(const cm_job *job, int row, double complex *reading);
/** The change on a plane is within the radius that holds the true best mass in 9 of 10 cases. */
bool cm_change_is_lost(const cm_job *job, int plane);
/** Reading before correction: mean of the runs without masses, else the reading in the base state. False: not told. */
bool cm_before(const cm_job *job, int row, double complex *reading);

/** Reading expected after correction, without slow roll. */
double complex cm_after(const cm_job *job, int row);

/** What of a reading (without slow roll) the row's limit is held against, in the sensor's unit: its amplitude, that of
 *  the reading as read, or the overall level; see model/judged.h. */
double cm_level(const cm_job *job, int row, double complex reading);

/** Overall level of a reading (without slow roll) in the sensor's unit: the reading as read and what is not once per
 *  turn, squares added; NAN: no run read an overall level. */
double cm_overall(const cm_job *job, int row, double complex reading);

/** Value of the objective as the user counts it (total masses in the mass unit). */
double cm_user_objective(const cm_job *job, double value);

/** The same for any objective. */
double cm_user_value(const cm_job *job, cm_objective goal, double value);

/** True when the answer's row has a prediction. */
bool cm_is_predicted(const cm_job *job, int row);

/** True when every coefficient that the condition number of a speed (-1: overall) rests on is determined by itself. */
bool cm_condition_is_told(const cm_job *job, int speed);

/** The same for the reading after correction, widened at few degrees of freedom; NAN: not available. */
double cm_after_radius(const cm_job *job, int row);

/** ± degrees that hold 90 % of the error of a plane's mass angle; NAN: not available. */
double cm_mass_angle_width(const cm_job *job, int plane);

/** Radius that holds 90 % of a plane's total mass, in the mass unit; NAN: not available. */
double cm_mass_radius(const cm_job *job, int plane);

#endif
