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
    return b->minmax && b->weight[i] > 0 ? fmin(most, beat / b->weight[i]) : most;
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

static bool passes(cm_walk *w, const double complex *a, double complex x, double beat)
{
    for (int at = 0; at < w->board->rows; at++) {
        int i = w->first_rows[at];
        double most = most_of(w, i, beat);
        if (cm_abs2(w->last[i] + a[i] * x) <= most * most)
            continue;
        for (; at > 0; at--)
            w->first_rows[at] = w->first_rows[at - 1];
        w->first_rows[0] = i;
        return false;
    }
    return true;
}

static void try_last(void *data, int point)
{
    cm_walk *w = data;
    const cm_board *b = w->board;
    int plane = w->levels->order[0];
    double complex x = b->points[plane].x[point];
    const double complex *a = b->a + (size_t)b->rows * (size_t)plane;
    double beat2 = cm_to_beat(w);
    if (!(w->spent + cm_level_cost(w->levels, 0, w->above, x) <= beat2) ||
        ((b->minmax || b->limits) && !passes(w, a, x, sqrt(beat2))))
        return;
    for (int i = 0; i < b->rows; i++)
        w->readings[i] = w->last[i] + a[i] * x;
    w->point[plane] = point;
    cm_found_take(w->found, b, w->point, cm_board_value2(b, w->readings));
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
    cm_points_near(&b->points[plane], disc.centre, disc.radius, try_last, w);
}
