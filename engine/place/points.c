/* SPDX-License-Identifier: MIT */
/* A grid over points of the plane with about two points a cell: cells of one line lie one after the other in memory, so
 * a disc is a few stretches. */
#include "place/points.h"

#include <math.h>
#include <string.h>

#define POINTS_A_CELL 2.0
/* Points this close to each other, as a share of the spread of all, are equally near. */
#define EQUALLY_NEAR 1e-12

enum { MOST_CELLS = 1 << 20 };

static void bounds(cm_points *p, double *right, double *top)
{
    p->left = *right = creal(p->x[0]);
    p->bottom = *top = cimag(p->x[0]);
    for (int i = 1; i < p->count; i++) {
        p->left = fmin(p->left, creal(p->x[i]));
        *right = fmax(*right, creal(p->x[i]));
        p->bottom = fmin(p->bottom, cimag(p->x[i]));
        *top = fmax(*top, cimag(p->x[i]));
    }
}

static int clamp(double value, int most)
{
    return value > 0 ? value < most ? (int)value : most : 0;
}

static int cell_of(const cm_points *p, double complex x)
{
    int column = clamp((creal(x) - p->left) / p->cell, p->wide - 1);
    int line = clamp((cimag(x) - p->bottom) / p->cell, p->high - 1);
    return line * p->wide + column;
}

static void lay_grid(cm_session *session, cm_points *p)
{
    double right, top;
    bounds(p, &right, &top);
    double across = fmax(right - p->left, top - p->bottom);
    double area = (right - p->left) * (top - p->bottom);
    p->cell = fmax(sqrt(area * POINTS_A_CELL / p->count), across / sqrt(MOST_CELLS));
    if (!(p->cell > 0))
        p->cell = 1;
    p->wide = clamp((right - p->left) / p->cell, MOST_CELLS) + 1;
    p->high = clamp((top - p->bottom) / p->cell, MOST_CELLS) + 1;
    p->first = CM_NEW(session, (size_t)p->wide * (size_t)p->high + 1, int);
}

/* Counting sort by cell. */
static void sort_points(cm_session *session, cm_points *p, const double complex *x, const int *handled,
                        const int *origin)
{
    int cells = p->wide * p->high;
    int *next = CM_NEW(session, cells + 1, int);
    for (int i = 0; i < p->count; i++)
        p->first[cell_of(p, x[i]) + 1]++;
    for (int c = 0; c < cells; c++)
        p->first[c + 1] += p->first[c];
    memcpy(next, p->first, (size_t)cells * sizeof *next);
    double complex *sorted = CM_NEW(session, p->count, double complex);
    for (int i = 0; i < p->count; i++) {
        int at = next[cell_of(p, x[i])]++;
        sorted[at] = x[i];
        p->handled[at] = handled[i];
        p->origin[at] = origin[i];
    }
    p->x = sorted;
}

cm_points cm_points_new(cm_session *session, int count, const double complex *x, const int *handled,
                        const int *origin)
{
    cm_points p = {.count = count,
                   .x = CM_NEW(session, count, double complex),
                   .handled = CM_NEW(session, count, int),
                   .origin = CM_NEW(session, count, int)};
    memcpy(p.x, x, (size_t)count * sizeof *x);
    lay_grid(session, &p);
    sort_points(session, &p, x, handled, origin);
    return p;
}

void cm_points_near(const cm_points *p, double complex from, double radius,
                    void (*visit)(void *data, int point), void *data)
{
    double x = creal(from), y = cimag(from);
    if (x + radius < p->left || y + radius < p->bottom || x - radius > p->left + p->wide * p->cell ||
        y - radius > p->bottom + p->high * p->cell)
        return;
    int left = clamp((x - radius - p->left) / p->cell, p->wide - 1);
    int right = clamp((x + radius - p->left) / p->cell, p->wide - 1);
    int low = clamp((y - radius - p->bottom) / p->cell, p->high - 1);
    int high = clamp((y + radius - p->bottom) / p->cell, p->high - 1);
    for (int line = low; line <= high; line++)
        for (int i = p->first[line * p->wide + left]; i < p->first[line * p->wide + right + 1]; i++)
            visit(data, i);
}

double cm_points_spacing(const cm_points *p)
{
    return p->cell / sqrt(POINTS_A_CELL);
}

typedef struct cm_nearest_search {
    const cm_points *points;
    double complex from;
    double best, slack;
    int point;
} cm_nearest_search;

static void take_nearer(void *data, int point)
{
    cm_nearest_search *s = data;
    double away = cabs(s->points->x[point] - s->from);
    if (s->point >= 0 && away > s->best + s->slack)
        return;
    if (s->point < 0 || away < s->best - s->slack ||
        s->points->handled[point] < s->points->handled[s->point]) {
        s->best = away;
        s->point = point;
    }
}

int cm_points_nearest(const cm_points *p, double complex from)
{
    if (!p->count)
        return -1;
    double across = p->cell * fmax(p->wide, p->high);
    double outside = fmax(fmax(p->left - creal(from), creal(from) - p->left - across),
                          fmax(p->bottom - cimag(from), cimag(from) - p->bottom - across));
    cm_nearest_search s = {p, from, 0, EQUALLY_NEAR * across, -1};
    for (double radius = fmax(0, outside) + p->cell;; radius *= 2) {
        s.point = -1;
        cm_points_near(p, from, radius, take_nearer, &s);
        if (s.point >= 0 && s.best <= radius)
            return s.point;
    }
}
