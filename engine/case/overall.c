/* SPDX-License-Identifier: MIT */
/*
 * What limits are held against.
 *
 * judge: as-read. A limit on the reading as the instrument shows it: the reading that is optimised has the slow roll of
 * the reference run, s, added again. The masses do not change s.
 *
 * limit_is: overall. An overall level o holds more than the once-per-turn part v. Of levels in rms the squares add,
 *
 *     o² = |v|² + rest²                                      (exact for a mean over whole turns: Parseval)
 *
 * and the rest (other frequencies, noise) is taken to stay as it is when masses change. So with v0, o0 of one run and v1
 * expected after correction
 *
 *     o1² = o0² - |v0|² + |v1|²,      o1 ≤ limit   <=>   |v1| ≤ sqrt(limit² - rest²)
 *
 * and that is the limit that the once-per-turn part gets. For peak and peak-to-peak levels the squares do not add
 * exactly; the same rule is used and said to be an approximation. An overall level is read with its run-out: v is the
 * reading as read.
 */
#include "case/arrays.h"
#include "model/levels.h"

#include <math.h>

/* Square of the level that is not once per turn in a run; NAN: its overall level was not read. */
static double rest_square(const cm_case *c, int run, int row)
{
    const cm_reading *reading =
        c->runs[run].weight > 0 ? cm_reading_of(c, run, c->row_sensor[row], c->row_speed[row]) : NULL;
    double complex mean = 0;
    double square = 0;
    int count = 0;
    for (int i = 0; reading && i < reading->count; i++) {
        mean += reading->values[i] / reading->count;
        if (isnan(reading->overall[i]))
            continue;
        square += reading->overall[i] * reading->overall[i];
        count++;
    }
    return count ? square / count - creal(mean) * creal(mean) - cimag(mean) * cimag(mean) : NAN;
}

static bool in_base_state(const cm_case *c, double zero, int run)
{
    const cm_mass_list *base = cm_base_masses(c), *own = &c->runs[run].masses;
    for (int j = 0; j < c->plane_count; j++) {
        double complex apart = 0;
        for (int i = 0; i < base->count; i++)
            apart += base->items[i].plane == j ? base->items[i].mass : 0;
        for (int i = 0; i < own->count; i++)
            apart -= own->items[i].plane == j ? own->items[i].mass : 0;
        if (cabs(apart) > zero)
            return false;
    }
    return true;
}

double cm_rest_of(const cm_case *c, int row)
{
    if (!c->overall_read)
        return NAN;
    double zero = cm_mass_zero_of(c), sum[2] = {0, 0};
    int count[2] = {0, 0};
    for (int k = 0; k < c->run_count; k++) {
        double square = rest_square(c, k, row);
        int base = !isnan(square) && in_base_state(c, zero, k);
        if (isnan(square))
            continue;
        sum[base] += square;
        count[base]++;
    }
    int which = count[1] > 0;
    return count[which] ? sqrt(fmax(0, sum[which] / count[which])) : NAN;
}

static bool as_read(const cm_sensor *sensor)
{
    return sensor->judge == CM_JUDGE_AS_READ || sensor->limit_is == CM_LIMIT_OVERALL;
}

double cm_limit_of_row(cm_session *session, const cm_case *c, int row, bool counted)
{
    const cm_sensor *sensor = &c->sensors[c->row_sensor[row]];
    double limit = sensor->limit[c->row_speed[row]];
    if (sensor->limit_is != CM_LIMIT_OVERALL || !isfinite(limit))
        return limit;
    double rest = cm_rest_of(c, row);
    if (counted && isnan(rest))
        cm_report(session, CM_ERROR, &sensor->place,
                  "the limit of '%s' is for the overall level, but no run read that at '%s'; write such "
                  "readings as "
                  "{amplitude: 82, phase: 143, overall: 95}, or limit_is: one-per-turn",
                  sensor->id, c->speeds[c->row_speed[row]].id);
    return rest < limit ? sqrt((limit - rest) * (limit + rest)) : limit;
}

bool cm_leaves_no_room(const cm_case *c, int row)
{
    const cm_sensor *sensor = &c->sensors[c->row_sensor[row]];
    return sensor->limit_is == CM_LIMIT_OVERALL && cm_rest_of(c, row) >= sensor->limit[c->row_speed[row]];
}

/* The run whose slow roll is the one that stays: the reference run. */
static int base_run(const cm_case *c)
{
    return c->goal.base_run >= 0 ? c->goal.base_run : c->run_count - 1;
}

void cm_put_judged(cm_session *session, const cm_case *c, cm_problem *p)
{
    double *rest = CM_NEW(session, c->row_count, double);
    unsigned char *overall = CM_NEW(session, c->row_count, unsigned char);
    double complex *out = CM_NEW(session, c->row_count, double complex);
    double complex *offset = CM_NEW(session, c->row_count, double complex);
    double complex *y = CM_NEW(session, c->row_count, double complex);
    bool any = false, some_rest = false;
    for (int i = 0; i < c->row_count; i++) {
        const cm_sensor *sensor = &c->sensors[c->row_sensor[i]];
        rest[i] = cm_rest_of(c, i);
        overall[i] = sensor->limit_is != CM_LIMIT_OVERALL || isnan(rest[i]) ? 0
                     : cm_leaves_no_room(c, i)                              ? 2
                                                                            : 1;
        out[i] = c->run_count
                     ? cm_run_out(c, base_run(c), c->row_sensor[i], cm_phase_turn(&c->runs[base_run(c)]))
                     : 0;
        offset[i] = as_read(sensor) ? out[i] : 0;
        any = any || as_read(sensor);
        some_rest = some_rest || !isnan(rest[i]);
    }
    p->rest = some_rest ? rest : NULL;
    p->run_out = some_rest ? out : NULL;
    if (!any)
        return;
    p->overall = overall;
    p->offset = offset;
    for (int i = 0; i < c->row_count; i++)
        y[i] = p->y[i] + offset[i];
    p->y = y;
}
