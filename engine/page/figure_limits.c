/* SPDX-License-Identifier: MIT */
/* Readings of a speed before and after, one line each, in parts of their limits (or as they are, without limits). */
#include "page/axis.h"
#include "page/columns.h"
#include "page/figures.h"
#include "page/orbits.h"
#include "page/phrases.h"

#include <math.h>

static const double WIDTH = 380, LINE = 20, TOP = 34, LEFT = 112, RIGHT = 366;

/* One line of the picture: a reading or an orbit, as its limit is held against it, in its unit. NAN: not there. */
typedef struct level {
    const char *name, *label; /* in full; as it is drawn */
    double limit, before, after, radius;
} level;

static bool has_answer(const cm_job *job)
{
    return job->answer && job->answer->outcome == CM_OPTIMAL;
}

static level level_of(const cm_job *job, int row)
{
    double complex before;
    bool told = cm_before(job, row, &before), predicted = has_answer(job) && cm_is_predicted(job, row);
    return (level){.name = cm_sensor_of(job, row)->id,
                   .limit = cm_user_limit(job, row),
                   .before = told ? cm_level(job, row, before) : NAN,
                   .after = predicted ? cm_level(job, row, cm_after(job, row)) : NAN,
                   .radius = predicted ? cm_after_radius(job, row) : NAN};
}

static level level_of_orbit(cm_session *session, const cm_job *job, int k)
{
    double before;
    bool told = cm_orbit_before(job, k, &before);
    return (level){.name = cm_format(session, "%s %s", job->given->pairs[job->given->orbits[k].pair].id,
                                     cm_orbit_axis_name(job, k)),
                   .limit = cm_orbit_limit(job, k),
                   .before = told ? before : NAN,
                   .after = has_answer(job) ? cm_orbit_after(job, k) : NAN,
                   .radius = has_answer(job) ? cm_orbit_radius(job, k) : NAN};
}

/* Readings of a speed, then its orbits; returns how many. */
static int collect(cm_session *session, const cm_job *job, int speed, level *levels)
{
    int count = 0;
    for (int i = 0; i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed)
            levels[count++] = level_of(job, i);
    for (int k = 0; k < job->given->orbit_count; k++)
        if (job->given->orbits[k].speed == speed)
            levels[count++] = level_of_orbit(session, job, k);
    const char **names = CM_NEW(session, count, const char *);
    for (int k = 0; k < count; k++)
        names[k] = levels[k].name;
    names = cm_shorten_apart(session, count, names, 15);
    for (int k = 0; k < count; k++)
        levels[k].label = names[k];
    return count;
}

static bool any_limit(const level *levels, int count)
{
    for (int k = 0; k < count; k++)
        if (isfinite(levels[k].limit))
            return true;
    return false;
}

/* In parts of the limits; where no line has one, as they are. Lines without a limit become NAN among others. */
static void divide(level *levels, int count, bool limits)
{
    for (int k = 0; k < count && limits; k++) {
        levels[k].before /= levels[k].limit;
        levels[k].after /= levels[k].limit;
        levels[k].radius /= levels[k].limit;
    }
}

static double most_of(const level *levels, int count, bool limits)
{
    double most = limits ? 1 : 0;
    for (int k = 0; k < count; k++)
        most = fmax(most, fmax(levels[k].before, levels[k].after));
    return most > 0 ? 1.05 * most : 1;
}

static void draw_marks(const cm_axis *axis, const level *l, double y)
{
    cm_drawing *d = axis->drawing;
    cm_point before = {cm_axis_point(axis, l->before).x, y}, after = {cm_axis_point(axis, l->after).x, y};
    if (isfinite(l->after) && isfinite(l->before))
        cm_draw_line(d, "grid", before, after);
    if (isfinite(l->after) && isfinite(l->radius))
        cm_draw_line(d, "after", (cm_point){cm_axis_point(axis, fmax(l->after - l->radius, 0)).x, y},
                     (cm_point){cm_axis_point(axis, fmin(l->after + l->radius, axis->full)).x, y});
    if (isfinite(l->before))
        cm_draw_mark(d, "before-mark", CM_MARK_RING, before, 5);
    if (isfinite(l->after))
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, after, 4.5);
}

static void draw_level(const cm_axis *axis, const level *l, double y, bool limits)
{
    cm_drawing *d = axis->drawing;
    cm_draw_begin(d, cm_format(d->session, "%s: before %s, predicted %s%s",
                               cm_short_name(d->session, l->name), cm_digits(d->session, l->before, 3),
                               cm_digits(d->session, l->after, 3), limits ? " of its limit" : ""));
    cm_draw_words(d, "small", CM_RIGHT, (cm_point){LEFT - 8, y + 3.5}, l->label);
    if (limits && isnan(l->limit))
        cm_draw_words(d, "small soft", CM_LEFT, (cm_point){LEFT + 4, y + 3.5}, "no limit");
    draw_marks(axis, l, y);
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
    level *levels = CM_NEW(session, job->problem->rows + job->given->orbit_count, level);
    int count = collect(session, job, speed, levels);
    if (count == 0)
        return NULL;
    bool limits = any_limit(levels, count), answer = has_answer(job);
    divide(levels, count, limits);
    const char *name = cm_short_name(session, job->given->speeds[speed].id);
    cm_drawing *d = cm_drawing_new(
        session, WIDTH, TOP + LINE * count + 32, cm_format(session, "Readings at %s", name),
        cm_format(session, "Every reading before%s%s. The numbers are in the table of this speed.",
                  answer ? " and as predicted" : "", limits ? ", in parts of its limit" : ""));
    double foot = TOP + LINE * count;
    cm_axis axis = {d, {LEFT, foot}, {RIGHT, foot}, most_of(levels, count, limits), LINE * count, 0};
    cm_axis_draw(&axis, 5, limits ? "reading / its limit" : "reading, in its unit");
    draw_key(d, limits, answer);
    if (limits)
        cm_draw_line(d, "limit", (cm_point){cm_axis_point(&axis, 1).x, TOP - 8},
                     (cm_point){cm_axis_point(&axis, 1).x, foot});
    for (int k = 0; k < count; k++)
        draw_level(&axis, &levels[k], TOP + LINE * (k + 0.5), limits);
    return d;
}
