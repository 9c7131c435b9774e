/* SPDX-License-Identifier: MIT */
/* What a run read, as shown and as judged. */
#include "model/levels.h"

#include "base/complex.h"

#include <math.h>

double complex cm_turned_back(double shift)
{
    double angle = isnan(shift) ? 0 : -shift;
    double complex turn = cos(angle);
    ((double *)&turn)[1] = sin(angle);
    return turn;
}

double complex cm_phase_turn(const cm_run *run)
{
    return cm_turned_back(run->phase_shift);
}

static bool has_own_roll(const cm_run *run, int sensor)
{
    return run->slow_roll && !isnan(creal(run->slow_roll[sensor]));
}

double complex cm_run_out(const cm_case *c, int run, int sensor, double complex turn)
{
    const cm_run *r = &c->runs[run];
    return has_own_roll(r, sensor) ? r->slow_roll[sensor] * turn : c->sensors[sensor].slow_roll;
}

const cm_reading *cm_reading_of(const cm_case *c, int run, int sensor, int speed)
{
    for (int i = 0; i < c->runs[run].reading_count; i++) {
        const cm_reading *reading = &c->runs[run].readings[i];
        if (reading->sensor == sensor && reading->speed == speed)
            return reading;
    }
    return NULL;
}

static double shown(const cm_reading *reading, int i)
{
    return isnan(reading->overall[i]) ? cm_abs(reading->values[i]) : reading->overall[i];
}

double cm_level_shown(const cm_reading *reading)
{
    double most = 0;
    for (int i = 0; i < reading->count; i++)
        most = fmax(most, shown(reading, i));
    return most;
}

static double without_roll(const cm_case *c, int run, int sensor, double complex value, double shift)
{
    double complex turn = cm_turned_back(shift);
    bool tells = !isnan(shift) || has_own_roll(&c->runs[run], sensor);
    return cm_abs(value * turn - (tells ? cm_run_out(c, run, sensor, turn) : 0));
}

static double overall(const cm_reading *reading, int i, double rest)
{
    return isnan(reading->overall[i]) && !isnan(rest) ? hypot(cabs(reading->values[i]), rest)
                                                      : shown(reading, i);
}

double cm_level_judged(const cm_case *c, int run, const cm_reading *reading, double shift, double rest)
{
    const cm_sensor *sensor = &c->sensors[reading->sensor];
    double most = 0;
    for (int i = 0; i < reading->count; i++)
        most = fmax(most, sensor->limit_is == CM_LIMIT_OVERALL ? overall(reading, i, rest)
                          : sensor->judge == CM_JUDGE_AS_READ
                              ? cm_abs(reading->values[i])
                              : without_roll(c, run, reading->sensor, reading->values[i], shift));
    return most;
}
