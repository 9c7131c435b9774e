/* SPDX-License-Identifier: MIT */
/* Choices as curves: what each further plane buys, and what less mass costs. */
#include "page/axis.h"
#include "page/figures.h"
#include "page/phrases.h"

#include "countermass/planes.h"

#include <math.h>

static const double WIDTH = 380, HEIGHT = 250, LEFT = 52, RIGHT = 366, TOP = 26, FOOT = 212;
enum { MOST_DRAWN = 400 };

static double value_of(const cm_job *job, const cm_plane_set *set)
{
    return cm_user_objective(job, set->value);
}

/* The best set of each size in the list, -1: none. */
static int best_of_size(const cm_plane_comparison *found, int size)
{
    for (int k = 0; k < found->listed; k++)
        if (found->sets[k].count == size && isfinite(found->sets[k].value))
            return k;
    return -1;
}

/* The worst of the best: sets far above it would only squeeze what matters. */
static double most_shown(const cm_job *job)
{
    double most = 0;
    for (int size = 1; size <= job->comparison->planes; size++) {
        int k = best_of_size(job->comparison, size);
        if (k >= 0)
            most = fmax(most, value_of(job, &job->comparison->sets[k]));
    }
    return most > 0 ? 1.6 * most : 1;
}

static void draw_best(cm_drawing *d, const cm_axis *up, const cm_job *job, double step)
{
    cm_point last = {0, 0};
    for (int size = 1, drawn = 0; size <= job->comparison->planes; size++) {
        int k = best_of_size(job->comparison, size);
        if (k < 0)
            continue;
        const cm_plane_set *set = &job->comparison->sets[k];
        cm_point p = {LEFT + step * (size - 0.5), cm_axis_point(up, value_of(job, set)).y};
        if (drawn++)
            cm_draw_line(d, "after", last, p);
        cm_draw_begin(d, cm_format(d->session, "%s: %s", cm_parts_words(d->session, job->given, set->in),
                                   cm_digits(d->session, value_of(job, set), 4)));
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, p, 5);
        cm_draw_end(d);
        last = p;
    }
}

static void draw_sets(cm_drawing *d, const cm_axis *up, const cm_job *job, double step)
{
    const cm_plane_comparison *found = job->comparison;
    for (int k = 0; k < found->listed && k < MOST_DRAWN; k++) {
        const cm_plane_set *set = &found->sets[k];
        if (isfinite(set->value) && value_of(job, set) <= up->full)
            cm_draw_mark(
                d, "run-mark", CM_MARK_RING,
                (cm_point){LEFT + step * (set->count - 0.5), cm_axis_point(up, value_of(job, set)).y}, 3);
    }
}

const cm_drawing *cm_figure_sets(cm_session *session, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (!found || found->listed == 0 || isnan(found->sets[0].value) ||
        job->problem->objective == CM_CONFIDENCE)
        return NULL;
    double step = (RIGHT - LEFT) / found->planes;
    cm_drawing *d =
        cm_drawing_new(session, WIDTH, HEIGHT, "What each further plane buys",
                       "Value of the objective against the number of planes: rings are sets, discs the best "
                       "set of each number. The table beside it names them.");
    cm_axis up = {d, {LEFT, FOOT}, {LEFT, TOP}, most_shown(job), RIGHT - LEFT, 0};
    cm_axis_draw(&up, 5, "value (less is better)");
    draw_sets(d, &up, job, step);
    draw_best(d, &up, job, step);
    int every = found->planes > 16 ? 4 : 1;
    for (int size = 1; size <= found->planes; size += every)
        cm_draw_words(d, "small soft", CM_MIDDLE, (cm_point){LEFT + step * (size - 0.5), FOOT + 14},
                      cm_format(session, "%d", size));
    cm_draw_words(d, "small", CM_RIGHT, (cm_point){RIGHT, FOOT + 28}, "number of planes");
    return d;
}

static void draw_answer(cm_drawing *d, const cm_axis *up, const cm_axis *along, const cm_job *job)
{
    double mass = 0;
    for (int j = 0; j < job->problem->planes; j++)
        mass += cm_user_mass(job, j, job->answer->x[j]).size;
    cm_point p = {cm_axis_point(along, mass).x, cm_axis_point(up, job->answer->largest_ratio).y};
    if (!isfinite(job->answer->largest_ratio) || mass > along->full || job->answer->largest_ratio > up->full)
        return;
    cm_draw_mark(d, "measured-mark", CM_MARK_DIAMOND, p, 5);
    cm_draw_words(d, "small strong halo", CM_RIGHT, (cm_point){p.x - 8, p.y - 6}, "these masses");
}

const cm_drawing *cm_figure_trade_off(cm_session *session, const cm_job *job)
{
    const cm_trade_off *t = job->trade_off;
    if (!t || t->count < 2)
        return NULL;
    double mass = 0, ratio = 1;
    cm_point *curve = CM_NEW(session, t->count, cm_point);
    for (int k = 0; k < t->count; k++) {
        mass = fmax(mass, cm_user_kilograms(job, t->points[k].total_mass));
        ratio = fmax(ratio, t->points[k].largest_ratio);
    }
    cm_drawing *d = cm_drawing_new(
        session, WIDTH, HEIGHT, "What less mass would cost",
        "Largest ratio of a reading to its limit against the least total mass that reaches it. "
        "The table beside it has the numbers.");
    cm_axis up = {d, {LEFT, FOOT}, {LEFT, TOP}, 1.05 * ratio, RIGHT - LEFT, 0};
    cm_axis along = {d, {LEFT, FOOT}, {RIGHT, FOOT}, mass > 0 ? 1.15 * mass : 1, FOOT - TOP, 0};
    cm_axis_draw(&up, 5, "largest reading / its limit");
    cm_axis_draw(&along, 5, cm_format(session, "total mass, %s", job->given->mass_unit->name));
    for (int k = 0; k < t->count; k++)
        curve[k] = (cm_point){cm_axis_point(&along, cm_user_kilograms(job, t->points[k].total_mass)).x,
                              cm_axis_point(&up, t->points[k].largest_ratio).y};
    cm_draw_line(d, "limit", (cm_point){LEFT, cm_axis_point(&up, 1).y},
                 (cm_point){RIGHT, cm_axis_point(&up, 1).y});
    cm_draw_path(d, "after", t->count, curve, false);
    for (int k = 0; k < t->count; k++)
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, curve[k], 3);
    draw_answer(d, &up, &along, job);
    return d;
}
