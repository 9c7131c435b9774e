/* SPDX-License-Identifier: MIT */
/*
 * Choices to begin with. Masses of any size at their optimum are rounded to points in two ways (each plane by itself;
 * one after the other, each making up for what rounding the ones before cost: Babai 1986). Then one plane at a time
 * moves to the best of the points near where the sum of squares would have it, while that helps. Nothing here is needed
 * for the proof; it makes the search short.
 */
#include "place/search.h"

#include "base/clock.h"
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

enum { MOST_ROUNDS = 60 };

/* Points looked at around a target, in spacings of the points. */
#define LOOK_AROUND 3.0

typedef struct cm_polishing {
    const cm_levels *levels;
    cm_session *session;
    cm_found *found;
    double deadline;
    int *point;        /* by plane */
    double complex *r; /* rows: readings at `point` */
    double value2;
    int plane;                /* being moved */
    double complex *without;  /* rows: readings without that plane */
    double complex *trial;    /* rows */
    double complex *by_level; /* n */
    int better;               /* best point for it so far */
    double better2;
} cm_polishing;

static void try_point(void *data, int point)
{
    cm_polishing *p = data;
    const cm_board *b = p->levels->board;
    double complex x = b->points[p->plane].x[point];
    for (int i = 0; i < b->rows; i++)
        p->trial[i] = p->without[i] + b->a[i + b->rows * p->plane] * x;
    double value2 = cm_board_value2(b, p->trial);
    if (value2 < p->better2) {
        p->better2 = value2;
        p->better = point;
    }
}

/* Where the weighted sum of squares is least, the other planes as they are. */
static double complex target(const cm_polishing *p)
{
    const cm_board *b = p->levels->board;
    double complex pull = 0;
    double size = 0;
    for (int i = 0; i < b->rows; i++) {
        double weight = p->levels->row_weight[i] * p->levels->row_weight[i];
        double complex a = b->a[i + b->rows * p->plane];
        pull += weight * conj(a) * p->without[i];
        size += weight * cm_abs2(a);
    }
    return size > 0 ? -pull / size : b->points[p->plane].x[p->point[p->plane]];
}

static bool move_one(cm_polishing *p, int plane)
{
    const cm_board *b = p->levels->board;
    const cm_points *points = &b->points[plane];
    double complex x = points->x[p->point[plane]];
    p->plane = plane;
    p->better = p->point[plane];
    p->better2 = p->value2;
    for (int i = 0; i < b->rows; i++)
        p->without[i] = p->r[i] - b->a[i + b->rows * plane] * x;
    double around = LOOK_AROUND * cm_points_spacing(points);
    try_point(p, cm_points_nearest(points, target(p)));
    cm_points_near(points, target(p), around, try_point, p);
    cm_points_near(points, x, around, try_point, p);
    if (p->better == p->point[plane])
        return false;
    p->point[plane] = p->better;
    cm_board_readings(b, p->point, p->r);
    p->value2 = cm_board_value2(b, p->r);
    return true;
}

static void descend(cm_polishing *p)
{
    const cm_board *b = p->levels->board;
    cm_board_readings(b, p->point, p->r);
    p->value2 = cm_board_value2(b, p->r);
    cm_found_take(p->found, b, p->point, p->value2);
    bool moved = true;
    for (int round = 0; round < MOST_ROUNDS && moved && !cm_is_over(p->session, p->deadline); round++) {
        moved = false;
        for (int k = 0; k < b->n; k++) {
            bool helped = move_one(p, k);
            moved = moved || helped;
            if (helped)
                cm_found_take(p->found, b, p->point, p->value2);
        }
    }
}

/* ---- places to begin ---- */

static void round_each(cm_polishing *p)
{
    const cm_levels *l = p->levels;
    for (int k = 0; k < l->n; k++)
        p->point[l->order[k]] = cm_points_nearest(&l->board->points[l->order[k]], l->best[k]);
}

static void round_in_turn(cm_polishing *p)
{
    const cm_levels *l = p->levels;
    for (int k = l->n - 1; k >= 0; k--)
        p->point[l->order[k]] = cm_level_nearest(l, k, p->by_level);
}

static void stay(cm_polishing *p)
{
    const cm_board *b = p->levels->board;
    for (int k = 0; k < b->n; k++)
        p->point[k] = cm_points_nearest(&b->points[k], b->p->now[b->plane[k]]);
}

void cm_polish(cm_session *session, const cm_levels *levels, double deadline, cm_found *found)
{
    const cm_board *b = levels->board;
    cm_polishing p = {.levels = levels,
                      .session = session,
                      .found = found,
                      .deadline = deadline,
                      .point = CM_NEW(session, b->n, int),
                      .r = CM_NEW(session, b->rows, double complex),
                      .without = CM_NEW(session, b->rows, double complex),
                      .trial = CM_NEW(session, b->rows, double complex),
                      .by_level = CM_NEW(session, b->n, double complex)};
    void (*const begin[])(cm_polishing *) = {round_in_turn, round_each, stay};
    for (size_t i = 0; i < sizeof begin / sizeof *begin; i++) {
        if (i > 0 && cm_is_over(session, deadline))
            return;
        begin[i](&p);
        descend(&p);
    }
}

/* ---- neighbours ---- */

typedef struct cm_neighbouring {
    const cm_board *board;
    cm_found *found;
    const double complex *without; /* rows: readings without the plane */
    double complex *trial;
    int *point;
    int plane;
} cm_neighbouring;

static void take_neighbour(void *data, int point)
{
    cm_neighbouring *n = data;
    const cm_board *b = n->board;
    int before = n->point[n->plane];
    double complex x = b->points[n->plane].x[point];
    for (int i = 0; i < b->rows; i++)
        n->trial[i] = n->without[i] + b->a[i + b->rows * n->plane] * x;
    n->point[n->plane] = point;
    cm_found_take(n->found, b, n->point, cm_board_value2(b, n->trial));
    n->point[n->plane] = before;
}

void cm_neighbours(cm_session *session, const cm_levels *levels, const int *point, cm_found *found)
{
    const cm_board *b = levels->board;
    double complex *r = CM_NEW(session, b->rows, double complex),
                   *without = CM_NEW(session, b->rows, double complex);
    int *own = CM_NEW(session, b->n, int);
    cm_neighbouring next = {.board = b,
                            .found = found,
                            .without = without,
                            .trial = CM_NEW(session, b->rows, double complex),
                            .point = own};
    memcpy(own, point, (size_t)b->n * sizeof *own);
    cm_board_readings(b, point, r);
    for (next.plane = 0; next.plane < b->n; next.plane++) {
        const cm_points *points = &b->points[next.plane];
        double complex x = points->x[point[next.plane]];
        for (int i = 0; i < b->rows; i++)
            without[i] = r[i] - b->a[i + b->rows * next.plane] * x;
        cm_points_near(points, x, LOOK_AROUND * cm_points_spacing(points), take_neighbour, &next);
    }
}
