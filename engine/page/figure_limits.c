/* SPDX-License-Identifier: MIT */
/* Readings of a speed before and after, one line each, in parts of their limits (or as they are, without limits). */
#include "page/axis.h"
#include "page/columns.h"
#include "page/figures.h"
#include "page/phrases.h"

#include <math.h>

static const double WIDTH = 380, LINE = 20, TOP = 34, LEFT = 112, RIGHT = 366;

/* What a reading is divided by: its limit, or 1 when no reading at this speed has one. NAN: it has none but others do. */
static double measure(const cm_job *job, int row, bool limits)
{
    return limits ? cm_user_limit(job, row) : 1;
}

static bool has_limits(const cm_job *job, int speed)
{
    for (int i = 0; i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed && isfinite(cm_user_limit(job, i)))
            return true;
    return false;
}

static double before_of(const cm_job *job, int row)
{
    double complex before;
    return cm_before(job, row, &before) ? cm_level(job, row, before) : NAN;
}

static double after_of(const cm_job *job, int row)
{
    bool told = job->answer && job->answer->outcome == CM_OPTIMAL && cm_is_predicted(job, row);
    return told ? cm_level(job, row, cm_after(job, row)) : NAN;
}

static double most_of(const cm_job *job, int speed, bool limits)
{
    double most = limits ? 1 : 0;
    for (int i = 0; i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed)
            most = fmax(most, fmax(before_of(job, i), after_of(job, i)) / measure(job, i, limits));
    return most > 0 ? 1.05 * most : 1;
}

static void draw_reading(const cm_axis *axis, const cm_job *job, int row, double y, bool limits)
{
    cm_drawing *d = axis->drawing;
    double unit = measure(job, row, limits), before = before_of(job, row) / unit,
           after = after_of(job, row) / unit;
    double radius = cm_after_radius(job, row) / unit;
    cm_draw_begin(d, cm_format(d->session, "%s: before %s, predicted %s",
                               cm_short_name(d->session, cm_sensor_of(job, row)->id),
                               cm_digits(d->session, before_of(job, row), 4),
                               cm_digits(d->session, after_of(job, row), 4)));
    cm_draw_words(d, "small", CM_RIGHT, (cm_point){LEFT - 8, y + 3.5},
                  cm_shorten(d->session, cm_sensor_of(job, row)->id, 15));
    if (isnan(unit))
        cm_draw_words(d, "small soft", CM_LEFT, (cm_point){LEFT + 4, y + 3.5}, "no limit");
    if (isfinite(after) && isfinite(before))
        cm_draw_line(d, "grid", (cm_point){cm_axis_point(axis, before).x, y},
                     (cm_point){cm_axis_point(axis, after).x, y});
    if (isfinite(after) && isfinite(radius))
        cm_draw_line(d, "after", (cm_point){cm_axis_point(axis, fmax(after - radius, 0)).x, y},
                     (cm_point){cm_axis_point(axis, fmin(after + radius, axis->full)).x, y});
    if (isfinite(before))
        cm_draw_mark(d, "before-mark", CM_MARK_RING, (cm_point){cm_axis_point(axis, before).x, y}, 5);
    if (isfinite(after))
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){cm_axis_point(axis, after).x, y}, 4.5);
    cm_draw_end(d);
}

static void draw_key(cm_drawing *d, bool limits, bool answer)
{
    cm_draw_mark(d, "before-mark", CM_MARK_RING, (cm_point){LEFT + 4, 10}, 5);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){LEFT + 13, 13.5}, "before");
    if (answer) {
        cm_draw_line(d, "after", (cm_point){LEFT + 58, 10}, (cm_point){LEFT + 82, 10});
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){LEFT + 70, 10}, 4.5);
        cm_draw_words(d, "small", CM_LEFT, (cm_point){LEFT + 87, 13.5}, "predicted ± 90 %");
    }
    if (limits) {
        cm_draw_line(d, "limit", (cm_point){LEFT + 190, 10}, (cm_point){LEFT + 212, 10});
        cm_draw_words(d, "small", CM_LEFT, (cm_point){LEFT + 217, 13.5}, "limit");
    }
}

const cm_drawing *cm_figure_limits(cm_session *session, const cm_job *job, int speed)
{
    int rows = 0;
    for (int i = 0; i < job->problem->rows; i++)
        rows += job->given->row_speed[i] == speed;
    if (rows == 0)
        return NULL;
    bool limits = has_limits(job, speed), answer = job->answer && job->answer->outcome == CM_OPTIMAL;
    const char *name = cm_short_name(session, job->given->speeds[speed].id);
    cm_drawing *d = cm_drawing_new(
        session, WIDTH, TOP + LINE * rows + 32, cm_format(session, "Readings at %s", name),
        cm_format(session, "Every reading before%s%s. The numbers are in the table of this speed.",
                  answer ? " and as predicted" : "", limits ? ", in parts of its limit" : ""));
    cm_axis axis = {
        d, {LEFT, TOP + LINE * rows}, {RIGHT, TOP + LINE * rows}, most_of(job, speed, limits), LINE * rows};
    cm_axis_draw(&axis, 5, limits ? "reading / its limit" : "reading, in its unit");
    draw_key(d, limits, answer);
    if (limits)
        cm_draw_line(d, "limit", (cm_point){cm_axis_point(&axis, 1).x, TOP - 8},
                     (cm_point){cm_axis_point(&axis, 1).x, TOP + LINE * rows});
    double y = TOP + LINE / 2;
    for (int i = 0; i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed) {
            draw_reading(&axis, job, i, y, limits);
            y += LINE;
        }
    return d;
}
