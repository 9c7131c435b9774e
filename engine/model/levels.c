/* SPDX-License-Identifier: MIT */
/* What a run read, as shown and as judged. */
#include "model/levels.h"

#include <math.h>

double complex cm_phase_turn(const cm_run *run)
{
    double angle = isnan(run->phase_shift) ? 0 : -run->phase_shift;
    double complex turn = cos(angle);
    ((double *)&turn)[1] = sin(angle);
    return turn;
}

double complex cm_run_out(const cm_case *c, int run, int sensor)
{
    const cm_run *r = &c->runs[run];
    bool own = r->slow_roll && !isnan(creal(r->slow_roll[sensor]));
    return own ? r->slow_roll[sensor] * cm_phase_turn(r) : c->sensors[sensor].slow_roll;
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
    return isnan(reading->overall[i]) ? cabs(reading->values[i]) : reading->overall[i];
}

double cm_level_shown(const cm_reading *reading)
{
    double most = 0;
    for (int i = 0; i < reading->count; i++)
        most = fmax(most, shown(reading, i));
    return most;
}

double cm_level_judged(const cm_case *c, int run, const cm_reading *reading)
{
    const cm_sensor *sensor = &c->sensors[reading->sensor];
    double complex turn = cm_phase_turn(&c->runs[run]), out = cm_run_out(c, run, reading->sensor);
    double most = 0;
    for (int i = 0; i < reading->count; i++)
        most = fmax(most, sensor->limit_is == CM_LIMIT_OVERALL ? shown(reading, i)
                          : sensor->judge == CM_JUDGE_AS_READ  ? cabs(reading->values[i])
                                                               : cabs(reading->values[i] * turn - out));
    return most;
}
