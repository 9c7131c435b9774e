/* SPDX-License-Identifier: MIT */
/* Values between bounds, one line each: trial masses of planes, residual unbalance of bearings. */
#include "page/axis.h"
#include "page/columns.h"
#include "page/figures.h"
#include "page/phrases.h"

#include "countermass/start.h"
#include "page/start_common.h"

#include <math.h>

static const double WIDTH = 400, LINE = 24, TOP = 40, LEFT = 112, RIGHT = 384;

/* One line: from `low` to `high` is allowed, `value` is what there is, `radius` its error. NAN: not there. */
typedef struct range {
    const char *name, *words;
    double low, high, value, radius;
} range;

static void draw_range(const cm_axis *axis, const range *r, const char *label, double y)
{
    cm_drawing *d = axis->drawing;
    double low = isfinite(r->low) ? r->low : 0;
    cm_draw_begin(d, r->words);
    cm_draw_words(d, "small", CM_RIGHT, (cm_point){LEFT - 8, y + 3.5}, label);
    if (r->high >= low)
        cm_draw_box(d, "region", (cm_point){cm_axis_point(axis, low).x, y - 6},
                    cm_axis_point(axis, r->high).x - cm_axis_point(axis, low).x, 12);
    if (isfinite(r->high))
        cm_draw_line(d, "thick", (cm_point){cm_axis_point(axis, r->high).x, y - 8},
                     (cm_point){cm_axis_point(axis, r->high).x, y + 8});
    if (isfinite(r->value) && isfinite(r->radius))
        cm_draw_line(d, "after", (cm_point){cm_axis_point(axis, fmax(r->value - r->radius, 0)).x, y},
                     (cm_point){cm_axis_point(axis, r->value + r->radius).x, y});
    if (isfinite(r->value))
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){cm_axis_point(axis, r->value).x, y}, 4.5);
    cm_draw_end(d);
}

static double most_of(const range *ranges, int count)
{
    double most = 0;
    for (int k = 0; k < count; k++)
        most = fmax(most, fmax(ranges[k].high, fmax(ranges[k].value + ranges[k].radius, ranges[k].value)));
    return most > 0 && isfinite(most) ? 1.08 * most : 1;
}

static const cm_drawing *draw_ranges(cm_session *session, const char *title, const char *key,
                                     const char *unit, int count, const range *ranges)
{
    cm_drawing *d = cm_drawing_new(session, WIDTH, TOP + LINE * count + 34, title, key);
    cm_axis axis = {
        d, {LEFT, TOP + LINE * count}, {RIGHT, TOP + LINE * count}, most_of(ranges, count), LINE * count, 0};
    cm_axis_draw(&axis, 5, unit);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){6, 14}, title);
    cm_draw_words(d, "small soft", CM_LEFT, (cm_point){6, 28}, key);
    const char **names = CM_NEW(session, count, const char *);
    for (int k = 0; k < count; k++)
        names[k] = ranges[k].name;
    names = cm_shorten_apart(session, count, names, 15);
    for (int k = 0; k < count; k++)
        draw_range(&axis, &ranges[k], names[k], TOP + LINE * (k + 0.5));
    return d;
}

const cm_drawing *cm_figure_trials(cm_session *session, const cm_job *job)
{
    const cm_trials *t = job->trials;
    range *ranges = CM_NEW(session, t ? t->count : 0, range);
    if (!t || t->count == 0)
        return NULL;
    for (int k = 0; k < t->count; k++) {
        const cm_trial *trial = &t->items[k];
        const char *name =
            trial->plane >= 0 ? job->given->planes[trial->plane].id : job->given->sets[trial->set].id;
        ranges[k] = (range){.name = name,
                            .radius = NAN,
                            .value = trial->possible ? cm_user_kilograms(job, trial->mass) : NAN,
                            .low = cm_user_kilograms(job, trial->lower),
                            .high = cm_user_kilograms(job, trial->upper)};
        ranges[k].words =
            cm_format(session, "%s: visible from %s, safe up to %s", cm_short_name(session, name),
                      cm_digits(session, ranges[k].low, 4), cm_digits(session, ranges[k].high, 4));
    }
    return draw_ranges(session, "Trial masses", "band: visible and safe; disc: proposed; bar: most",
                       cm_format(session, "trial mass, %s", job->given->mass_unit->name), t->count, ranges);
}

const cm_drawing *cm_figure_tolerance(cm_session *session, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    if (!t || t->bearings == 0)
        return NULL;
    bool reached = t->reached.speed >= 0;
    range *ranges = CM_NEW(session, t->bearings, range);
    for (int b = 0; b < t->bearings; b++) {
        ranges[b] = (range){.name = job->given->rotor.bearings[b].id,
                            .low = 0,
                            .high = t->bearing[b] / CM_GRAM_MILLIMETRE,
                            .value = reached ? cabs(t->reached.unbalance[b]) / CM_GRAM_MILLIMETRE : NAN,
                            .radius = reached ? t->reached.radius[b] / CM_GRAM_MILLIMETRE : NAN};
        ranges[b].words = cm_format(session, "%s: permissible %s", cm_short_name(session, ranges[b].name),
                                    cm_digits(session, ranges[b].high, 4));
    }
    return draw_ranges(session, "Residual unbalance at the bearings",
                       "bar: permissible; disc: reached, line: 90 %", "unbalance, g mm", t->bearings, ranges);
}
