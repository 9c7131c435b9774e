/* SPDX-License-Identifier: MIT */
/* From SI and one frame back to what the user counts in. */
#include "page/values.h"

#include "base/complex.h"
#include "model/judged.h"

#include <math.h>

const cm_sensor *cm_sensor_of(const cm_job *job, int row)
{
    return &job->given->sensors[job->given->row_sensor[row]];
}

const cm_speed *cm_speed_of(const cm_job *job, int row)
{
    return &job->given->speeds[job->given->row_speed[row]];
}

cm_size_angle cm_user_mass(const cm_job *job, int plane, double complex mass)
{
    double size = cabs(mass);
    if (size <= job->runs->mass_zero)
        return (cm_size_angle){0, 0};
    return (cm_size_angle){cm_user_kilograms(job, size), cm_mass_angle_to_user(job->given, plane, mass)};
}

double cm_user_kilograms(const cm_job *job, double mass)
{
    return mass / job->given->mass_unit->factor;
}

double cm_turned_degrees(const cm_job *job, int positions, int steps)
{
    int counted = job->given->against_rotation && steps ? positions - steps : steps;
    return 360.0 * counted / positions;
}

cm_size_angle cm_user_reading(const cm_job *job, int row, double complex reading)
{
    return (cm_size_angle){cm_user_amplitude(job, row, cm_abs(reading)),
                           cm_phase_to_user(job->given, reading)};
}

double cm_user_amplitude(const cm_job *job, int row, double amplitude)
{
    return amplitude / cm_sensor_of(job, row)->unit->factor;
}

cm_size_angle cm_user_coefficient(const cm_job *job, int row, int plane)
{
    double complex a = job->influence->a[(size_t)row + (size_t)plane * (size_t)job->influence->rows];
    double complex change = a * cm_mass_from_user(job->given, plane, job->given->mass_unit->factor, 0);
    return cm_user_reading(job, row, change);
}

cm_size_angle cm_user_set_coefficient(const cm_job *job, int row, int set)
{
    double complex a = job->influence->set_a[(size_t)row + (size_t)set * (size_t)job->influence->rows];
    return cm_user_reading(job, row, a * cm_mass_from_user(job->given, -1, job->given->mass_unit->factor, 0));
}

double cm_user_coefficient_size(const cm_job *job, int row, double size)
{
    return cm_user_amplitude(job, row, size * job->given->mass_unit->factor);
}

double cm_user_limit(const cm_job *job, int row)
{
    double limit = cm_sensor_of(job, row)->limit[job->given->row_speed[row]];
    return isfinite(limit) ? cm_user_amplitude(job, row, limit) : NAN;
}

static bool bare(const cm_runs *runs, int run)
{
    for (int j = 0; j < runs->planes; j++)
        if (cm_abs(runs->masses[(size_t)run + (size_t)j * (size_t)runs->runs]) > runs->mass_zero)
            return false;
    return true;
}

bool cm_before(const cm_job *job, int row, double complex *reading)
{
    const cm_runs *runs = job->runs;
    double complex sum = 0;
    double weights = 0;
    for (int k = 0; k < runs->runs; k++) {
        size_t at = (size_t)row + (size_t)k * (size_t)runs->rows;
        double weight = runs->reading_weight ? runs->reading_weight[at] : 1;
        if (!runs->repeats[at] || !bare(runs, k))
            continue;
        sum += weight * runs->readings[at];
        weights += weight;
    }
    *reading = weights > 0 ? sum / weights : job->influence->y[row];
    return weights > 0 || job->influence->base_runs[row] || cm_is_predicted(job, row);
}

bool cm_standing(const cm_job *job, int row, double complex *reading)
{
    const cm_problem *p = job->problem;
    bool loaded = false;
    for (int j = 0; j < p->planes; j++) {
        if (cm_abs(p->now[j] - p->base[j]) > job->runs->mass_zero)
            return false;
        loaded |= cm_abs(p->now[j]) > job->runs->mass_zero;
    }
    *reading = cm_compensated(p, row, p->y[row]);
    return loaded && job->influence->base_runs[row];
}

bool cm_change_is_lost(const cm_job *job, int plane)
{
    double change = cm_user_kilograms(job, cabs(job->answer->x[plane] - job->problem->now[plane]));
    return change > 0 && change <= cm_mass_radius(job, plane);
}

double complex cm_after(const cm_job *job, int row)
{
    return cm_compensated(job->problem, row, job->answer->r[row]);
}

double cm_level(const cm_job *job, int row, double complex reading)
{
    return cm_user_amplitude(job, row,
                             cm_judged_level(job->problem, row, cm_judged(job->problem, row, reading)));
}

double cm_overall(const cm_job *job, int row, double complex reading)
{
    const cm_problem *p = job->problem;
    return p->rest ? cm_user_amplitude(job, row, hypot(cabs(reading + p->run_out[row]), p->rest[row])) : NAN;
}

double cm_user_objective(const cm_job *job, double value)
{
    return cm_user_value(job, job->problem->objective, value);
}

double cm_user_value(const cm_job *job, cm_objective goal, double value)
{
    return goal == CM_LEAST_MASS || goal == CM_LEAST_CHANGE ? cm_user_kilograms(job, value) : value;
}

bool cm_is_predicted(const cm_job *job, int row)
{
    return !job->determination || job->determination->determined[row];
}

double cm_after_radius(const cm_job *job, int row)
{
    if (!job->spread || !job->spread->after_std)
        return NAN;
    double factor = job->spread->radius_factor ? job->spread->radius_factor[row] : CM_RADIUS_90;
    return cm_user_amplitude(job, row, factor * job->spread->after_std[row]);
}

static double cm_mass_factor(const cm_job *job, int plane)
{
    return job->spread->mass_factor ? job->spread->mass_factor[plane] : CM_RADIUS_90;
}

/* An angle is one number, not two: 90 % of a Gaussian error lie within 1.645 of its standard deviation; few degrees of
 * freedom widen it as they widen the radius. */
static const double WIDTH_90 = 1.6448536269514722;
static const double DEGREE = 0.017453292519943295; /* pi/180 */

double cm_mass_angle_width(const cm_job *job, int plane)
{
    if (!job->spread || !job->spread->angle_std)
        return NAN;
    return WIDTH_90 * cm_mass_factor(job, plane) / CM_RADIUS_90 * job->spread->angle_std[plane] / DEGREE;
}

double cm_mass_radius(const cm_job *job, int plane)
{
    if (!job->spread || !job->spread->mass_std)
        return NAN;
    return cm_user_kilograms(job, cm_mass_factor(job, plane) * job->spread->mass_std[plane]);
}

bool cm_condition_is_told(const cm_job *job, int speed)
{
    const cm_problem *p = job->problem;
    bool sets = p->columns && p->column_determined;
    const unsigned char *told = sets ? p->column_determined : job->influence->determined;
    for (int j = 0; j < (sets ? p->column_count : p->planes); j++)
        for (int i = 0; i < p->rows && (sets || !p->held[j]); i++)
            if (p->weight[i] > 0 && (speed < 0 || job->given->row_speed[i] == speed) &&
                !told[(size_t)i + (size_t)j * (size_t)p->rows])
                return false;
    return true;
}
