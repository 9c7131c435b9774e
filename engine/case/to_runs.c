/* SPDX-License-Identifier: MIT */
/* Runs and known coefficients of a case as arrays in SI and one frame. */
#include "case/arrays.h"
#include "model/levels.h"

#include <math.h>

/* Share of the largest mass of the case below which a mass is nothing. */
#define NOTHING 1e-9

/* ---- masses ---- */

static double largest_of(const cm_mass_list *list, double largest)
{
    for (int i = 0; i < list->count; i++)
        largest = fmax(largest, cabs(list->items[i].mass));
    return largest;
}

double cm_mass_zero_of(const cm_case *c)
{
    double largest = largest_of(&c->now, 0);
    for (int k = 0; k < c->run_count; k++)
        largest = largest_of(&c->runs[k].masses, largest);
    for (int j = 0; j < c->plane_count; j++)
        largest = fmax(largest, c->goal.fixed[j] ? cabs(c->goal.fixed_value[j]) : 0);
    for (int t = 0; t < c->goal.tie_count; t++)
        largest = fmax(largest, cabs(c->goal.ties[t].equals));
    return NOTHING * largest;
}

void cm_total(const cm_case *c, double zero, const cm_mass_list *list, bool staying_only,
              double complex *total, int stride)
{
    for (int j = 0; j < c->plane_count; j++)
        total[j * stride] = 0;
    for (int i = 0; i < list->count; i++)
        if (!staying_only || list->items[i].stays)
            total[list->items[i].plane * stride] += list->items[i].mass;
    for (int j = 0; j < c->plane_count; j++)
        if (cabs(total[j * stride]) < zero)
            total[j * stride] = 0;
}

const cm_mass_list *cm_base_masses(const cm_case *c)
{
    static const cm_mass_list nothing = {0};
    int run = c->goal.base_run >= 0 ? c->goal.base_run : c->run_count - 1;
    return run >= 0 ? &c->runs[run].masses : &nothing;
}

const cm_mass_list *cm_now_masses(const cm_case *c)
{
    static const cm_mass_list nothing = {0};
    return c->has_now ? &c->now : c->run_count ? &c->runs[c->run_count - 1].masses : &nothing;
}

static const cm_complex *mass_states(cm_session *session, const cm_case *c, double zero)
{
    double complex *masses = CM_NEW(session, (size_t)c->run_count * (size_t)c->plane_count, double complex);
    for (int k = 0; k < c->run_count; k++)
        cm_total(c, zero, &c->runs[k].masses, false, masses + k, c->run_count);
    return masses;
}

/* ---- readings ---- */

typedef struct cells {
    double complex *mean;
    int *count;
    double *spread;
} cells;

static void put_reading(const cm_case *c, const cm_run *run, const cm_reading *reading, size_t at,
                        const cells *to)
{
    double complex mean = 0, turn = cm_phase_turn(run);
    for (int i = 0; i < reading->count; i++)
        mean += reading->values[i] / reading->count;
    for (int i = 0; i < reading->count; i++) {
        double away = cabs(reading->values[i] - mean);
        to->spread[at] += away * away;
    }
    bool own = run->slow_roll && !isnan(creal(run->slow_roll[reading->sensor]));
    to->mean[at] = own ? (mean - run->slow_roll[reading->sensor]) * turn
                       : mean * turn - c->sensors[reading->sensor].slow_roll;
    to->count[at] = reading->count;
}

static cells put_readings(cm_session *session, const cm_case *c, cm_runs *runs)
{
    size_t size = (size_t)c->row_count * (size_t)c->run_count;
    cells to = {CM_NEW(session, size, double complex), CM_NEW(session, size, int),
                CM_NEW(session, size, double)};
    for (int k = 0; k < c->run_count; k++)
        for (int r = 0; c->runs[k].weight > 0 && r < c->runs[k].reading_count; r++) {
            const cm_reading *reading = &c->runs[k].readings[r];
            int row = c->row_of[reading->sensor + c->sensor_count * reading->speed];
            if (row < 0) /* read only with a part turned */
                continue;
            put_reading(c, &c->runs[k], reading, (size_t)row + (size_t)c->row_count * (size_t)k, &to);
        }
    runs->readings = to.mean;
    runs->repeats = to.count;
    runs->repeat_spread = to.spread;
    return to;
}

/* The weights of runs, for each of their readings; nothing when all are 1. */
static void put_weights(cm_session *session, const cm_case *c, cm_runs *runs)
{
    bool any = false;
    for (int k = 0; k < c->run_count; k++)
        any = any || c->runs[k].weight < 1 || c->runs[k].weight > 1;
    if (!any)
        return;
    double *weight = CM_NEW(session, (size_t)c->row_count * (size_t)c->run_count, double);
    for (int k = 0; k < c->run_count; k++)
        for (int i = 0; i < c->row_count; i++)
            weight[i + k * c->row_count] = c->runs[k].weight;
    runs->reading_weight = weight;
}

/* ---- rows ---- */

/* One number per unit and kind. */
static int pool_of(const cm_sensor *sensor)
{
    enum { KINDS = CM_HOUSING + 1 };
    return (int)(sensor->unit - CM_UNITS) * KINDS + (int)sensor->kind;
}

static void put_rows(cm_session *session, const cm_case *c, cm_runs *runs)
{
    int *pool = CM_NEW(session, c->row_count, int);
    double *repeatability = CM_NEW(session, c->row_count, double);
    double *floors = CM_NEW(session, c->row_count, double);
    for (int i = 0; i < c->row_count; i++) {
        const cm_sensor *sensor = &c->sensors[c->row_sensor[i]];
        double declared = sensor->repeatability[c->row_speed[i]];
        pool[i] = pool_of(sensor);
        repeatability[i] = isnan(declared) ? 0 : declared;
        floors[i] = sensor->unit->assumed_floor;
    }
    runs->block = c->row_speed;
    runs->pool = pool;
    runs->repeatability = repeatability;
    runs->assumed_floor = floors;
}

/* ---- readings that are not used ---- */

static void tell_left_out(cm_session *session, const cm_case *c)
{
    for (int k = 0; k < c->run_count; k++)
        if (c->runs[k].leave_out.because)
            cm_report(session, CM_NOTE, &c->runs[k].place, "run '%s': %d reading%s left out: %s",
                      c->runs[k].id, c->runs[k].left_out, c->runs[k].left_out == 1 ? "" : "s",
                      c->runs[k].leave_out.because);
}

/* ---- what must be there ---- */

static void missing(cm_session *session, const cm_case *c, const char *words)
{
    cm_place whole = {c->file, 1, 1};
    cm_report(session, CM_ERROR, &whole, "%s", words);
}

static void no_readings(cm_session *session, const cm_case *c)
{
    for (int k = 0; k < c->run_count; k++)
        if (c->runs[k].left_out) {
            cm_report(
                session, CM_ERROR, &c->runs[k].place,
                "no reading is left to work with: 'leave_out' takes away all that run '%s' read (%s), and no "
                "other run has readings; read again, or take it back for what is right",
                c->runs[k].id, c->runs[k].leave_out.because);
            return;
        }
    missing(session, c, "the case has no readings; give at least one run with 'readings' under 'runs'");
}

static void check_parts(cm_session *session, const cm_case *c)
{
    int before = session->errors;
    if (!c->speed_count)
        missing(session, c, "the case has no speeds; list under 'speeds' those at which readings were taken");
    if (!c->sensor_count)
        missing(session, c, "the case has no sensors; list them under 'sensors'");
    if (!c->plane_count)
        missing(session, c, "the case has no planes; list under 'planes' where masses can be added");
    if (c->speed_count && c->sensor_count && !c->row_count)
        no_readings(session, c);
    for (int k = 0; k < c->speed_count; k++)
        if (isnan(c->speeds[k].omega))
            cm_report(session, CM_ERROR, &c->speeds[k].place,
                      "the speed '%s' has no 'speed'; write, for example, speed: 3000", c->speeds[k].id);
    if (session->errors > before)
        cm_fail(session, CM_BAD_INPUT, NULL);
}

cm_status cm_case_runs(cm_session *session, const cm_case *c, const cm_runs **out)
{
    CM_ENTER(session);
    check_parts(session, c);
    cm_runs *runs = CM_NEW(session, 1, cm_runs);
    *runs =
        (cm_runs){.size = sizeof *runs, .rows = c->row_count, .planes = c->plane_count, .runs = c->run_count};
    tell_left_out(session, c);
    put_rows(session, c, runs);
    cells read = put_readings(session, c, runs);
    put_weights(session, c, runs);
    cm_put_known(session, c, runs);
    cm_put_sets(session, c, runs);
    cm_put_states(session, c, runs);
    cm_put_levels(session, c, runs);
    cm_put_turned(session, c, read.count, runs);
    runs->mass_zero = cm_mass_zero_of(c);
    runs->masses = mass_states(session, c, runs->mass_zero);
    cm_put_phases(session, c, read.mean, read.count, runs);
    double complex *base = CM_NEW(session, c->plane_count, double complex);
    cm_total(c, runs->mass_zero, cm_base_masses(c), false, base, 1);
    runs->base = base;
    *out = runs;
    return cm_leave(session);
}
