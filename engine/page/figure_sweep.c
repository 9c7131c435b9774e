/* SPDX-License-Identifier: MIT */
/* Readings over speed: amplitude above, phase below, resonances as lines through both. */
#include "page/axis.h"
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/phrases.h"

#include "countermass/evidence.h"

#include <math.h>

static const double WIDTH = 380, HEIGHT = 330, LEFT = 52, RIGHT = 366, TOP = 40, MIDDLE = 178, FOOT = 290;

typedef struct sweep_view {
    cm_drawing *drawing;
    const cm_case *given;
    const cm_sweep *sweep;
    const cm_sensor *sensor;
    int number; /* of the sensor */
    double low, high, most;
} sweep_view;

static double across(const sweep_view *v, double omega)
{
    return LEFT + (RIGHT - LEFT) * (omega - v->low) / (v->high - v->low);
}

static double complex compensated(const sweep_view *v, const cm_sweep_point *point)
{
    return point->value - v->sensor->slow_roll;
}

/* Speeds of the whole sweep, so that pictures of its sensors compare; sizes of this sensor. */
static int stretch(sweep_view *v)
{
    int count = 0;
    v->low = INFINITY;
    v->high = v->most = 0;
    for (int i = 0; i < v->sweep->count; i++) {
        const cm_sweep_point *point = &v->sweep->points[i];
        v->low = fmin(v->low, point->omega);
        v->high = fmax(v->high, point->omega);
        if (point->sensor != v->number)
            continue;
        v->most = fmax(v->most, cabs(compensated(v, point)) / v->sensor->unit->factor);
        count++;
    }
    return count;
}

static void draw_points(const sweep_view *v, const cm_axis *size, const cm_axis *phase)
{
    for (int i = 0; i < v->sweep->count; i++) {
        const cm_sweep_point *point = &v->sweep->points[i];
        double complex value = compensated(v, point);
        if (point->sensor != v->number)
            continue;
        double x = across(v, point->omega);
        cm_draw_mark(v->drawing, "after-mark", CM_MARK_DOT,
                     (cm_point){x, cm_axis_point(size, cabs(value) / v->sensor->unit->factor).y}, 4);
        cm_draw_mark(v->drawing, "cloud", CM_MARK_DOT,
                     (cm_point){x, cm_axis_point(phase, cm_phase_to_user(v->given, value)).y}, 4);
    }
}

static void draw_resonances(const sweep_view *v, const cm_sweep_result *found)
{
    for (int m = 0; m < found->count; m++) {
        double omega = found->resonances[m].omega;
        if (!found->resonances[m].clear || omega < v->low || omega > v->high)
            continue;
        double x = across(v, omega);
        cm_draw_line(v->drawing, "limit", (cm_point){x, TOP - 8}, (cm_point){x, FOOT});
        cm_draw_words(v->drawing, "small strong halo", CM_MIDDLE, (cm_point){x, TOP - 12},
                      cm_digits(v->drawing->session, omega / v->given->speed_unit->factor, 4));
    }
}

static void draw_speeds(const sweep_view *v)
{
    double unit = v->given->speed_unit->factor, step = cm_round_step((v->high - v->low) / unit, 5);
    long long first = (long long)ceil(v->low / unit / step), last = (long long)floor(v->high / unit / step);
    for (long long k = first; k <= last; k++) {
        double speed = (double)k * step, x = across(v, speed * unit);
        cm_draw_line(v->drawing, "grid", (cm_point){x, FOOT}, (cm_point){x, TOP});
        cm_draw_words(v->drawing, "small soft", CM_MIDDLE, (cm_point){x, FOOT + 14},
                      cm_digits(v->drawing->session, speed, 6));
    }
    cm_draw_words(v->drawing, "small", CM_RIGHT, (cm_point){RIGHT, FOOT + 30},
                  cm_format(v->drawing->session, "speed, %s", cm_unit_words(v->given->speed_unit)));
}

const cm_drawing *cm_figure_sweep(cm_session *session, const cm_job *job, int sweep, int sensor)
{
    const cm_sweep_result *found = &job->sweeps->items[sweep];
    sweep_view v = {.given = job->given,
                    .sweep = &job->given->sweeps[sweep],
                    .sensor = &job->given->sensors[sensor],
                    .number = sensor};
    if (stretch(&v) < 2 || !(v.high > v.low))
        return NULL;
    const char *name = cm_short_name(session, v.sensor->id),
               *run = cm_short_name(session, job->given->runs[found->run].id);
    v.drawing = cm_drawing_new(
        session, WIDTH, HEIGHT, cm_format(session, "%s over speed in run %s", name, run),
        "Amplitude above, phase below, both without slow roll; dashed: resonances told by all sensors of "
        "the sweep. The table beside it has the numbers.");
    cm_axis size = {v.drawing, {LEFT, MIDDLE - 16}, {LEFT, TOP}, v.most > 0 ? 1.08 * v.most : 1, RIGHT - LEFT,
                    0};
    cm_axis phase = {v.drawing, {LEFT, FOOT}, {LEFT, MIDDLE + 10}, 360, RIGHT - LEFT, 90};
    draw_speeds(&v);
    cm_axis_draw(&size, 4,
                 cm_format(session, "%s, %s",
                           cm_sensor_labels(session, job->given, 18)[v.sensor - job->given->sensors],
                           cm_unit_words(v.sensor->unit)));
    cm_axis_draw(&phase, 4, job->given->phase_lag ? "phase lag, degrees" : "phase lead, degrees");
    draw_resonances(&v, found);
    draw_points(&v, &size, &phase);
    return v.drawing;
}
