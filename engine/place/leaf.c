/* SPDX-License-Identifier: MIT */
/*
 * The last level of the search. All planes but one are chosen; a point x of the last one must lie
 *
 *   in the disc that the sum of squares leaves, |R_00|² |x - t|² ≤ U - spent, and, for a largest reading below v or
 *   limits, in the disc of every single reading, |x + r_i/a_i| ≤ min(v/w_i, limit_i) / |a_i|.
 *
 * Only the smallest of these discs is looked through. The reading that a point failed at is tried first at the next one.
 */
#include "place/walk.h"

#include "linalg/dense.h"

#include <math.h>

typedef struct cm_small_disc {
    double complex centre;
    double radius;
} cm_small_disc;

static void take_smaller(cm_small_disc *disc, double complex centre, double radius)
{
    if (radius < disc->radius)
        *disc = (cm_small_disc){centre, radius};
}

/* Largest size of a reading that is still of interest. */
static double most_of(const cm_walk *w, int i, double beat)
{
    const cm_board *b = w->board;
    double most = b->limit[i] * (1 + CM_EQUAL_SHARE);
    return b->minmax && b->bound_weight[i] > 0 ? fmin(most, beat / b->bound_weight[i]) : most;
}

static cm_small_disc smallest(cm_walk *w, int plane, double spent)
{
    const cm_board *b = w->board;
    double complex own = w->levels->r[0];
    double beat2 = cm_to_beat(w), beat = sqrt(beat2);
    cm_small_disc disc = {b->centre[plane], b->reach[plane] * (1 + CM_EQUAL_SHARE)};
    if (cabs(own) > 0 && isfinite(beat2))
        take_smaller(&disc, -w->above / own, sqrt(fmax(0, beat2 - spent)) / cabs(own));
    for (int i = 0; (b->minmax || b->limits) && i < b->rows; i++) {
        double complex a = b->a[i + b->rows * plane];
        double size = cabs(a);
        if (size > 0)
            take_smaller(&disc, -w->last[i] / a, most_of(w, i, beat) / size);
    }
    return disc;
}

/* In real numbers: this is where a search for a largest reading spends its time. */
static bool passes(cm_walk *w, double re, double im)
{
    for (int at = 0; at < w->board->rows; at++) {
        const cm_last_row *row = &w->last_rows[at];
        double real = row->re + row->a_re * re - row->a_im * im;
        double imaginary = row->im + row->a_re * im + row->a_im * re;
        if (real * real + imaginary * imaginary <= row->most2)
            continue;
        cm_last_row failing = *row;
        for (; at > 0; at--)
            w->last_rows[at] = w->last_rows[at - 1];
        w->last_rows[0] = failing;
        return false;
    }
    return true;
}

/* Readings without the last plane, in the order of `last_rows`. */
static void set_last_rows(cm_walk *w, int plane)
{
    const cm_board *b = w->board;
    double beat = sqrt(cm_to_beat(w));
    for (int at = 0; at < b->rows; at++) {
        int i = w->last_rows[at].row;
        double complex a = b->a[i + b->rows * plane];
        double most = most_of(w, i, beat);
        w->last_rows[at] =
            (cm_last_row){i, creal(w->last[i]), cimag(w->last[i]), creal(a), cimag(a), most * most};
    }
}

static void try_last(void *data, int point)
{
    cm_walk *w = data;
    const cm_board *b = w->board;
    int plane = w->levels->order[0];
    double complex x = b->points[plane].x[point];
    const double complex *a = b->a + (size_t)b->rows * (size_t)plane;
    bool possible = b->minmax || b->limits ? passes(w, creal(x), cimag(x)) : true;
    if (!possible || (!b->minmax && !(w->spent + cm_level_cost(w->levels, 0, w->above, x) <= cm_to_beat(w))))
        return;
    for (int i = 0; i < b->rows; i++)
        w->readings[i] = w->last[i] + a[i] * x;
    w->point[plane] = point;
    if (cm_found_take(w->found, b, w->point, cm_board_value2(b, w->readings)))
        set_last_rows(w, plane);
}

void cm_walk_last(cm_walk *w, double spent)
{
    const cm_board *b = w->board;
    const cm_levels *l = w->levels;
    int plane = l->order[0];
    w->above = l->d[0];
    for (int j = 1; j < l->n; j++)
        w->above += l->r[l->n * j] * w->x[j];
    w->spent = spent;
    for (int i = 0; i < b->rows; i++)
        w->last[i] = w->readings[i + b->rows] - b->a[i + b->rows * plane] * b->centre[plane];
    if (!(cm_to_beat(w) >= spent) || !b->points[plane].count)
        return;
    cm_small_disc disc = smallest(w, plane, spent);
    set_last_rows(w, plane);
    cm_points_near(&b->points[plane], disc.centre, disc.radius, try_last, w);
}
