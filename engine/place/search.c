/* SPDX-License-Identifier: MIT */
/*
 * Depth first over the levels, nearest point first (Schnorr & Euchner 1994).
 *
 * At level k the points above are chosen; what the bound has gathered so far is `spent`. A point at x costs
 * cm_level_cost() more, at least |R_kk|² |x - t|² with t the point that costs nothing. So only points within
 * sqrt(U - spent) / |R_kk| of t are looked at, U the squared value to beat. Each branch hands back the least bound among
 * what it left out for want of time: the least of all is a true bound on everything not looked at.
 *
 * For a largest reading, or limits, the sum of squares alone says little about a single reading. With the planes below
 * still free within their discs, reading i is at least |r_i| - sum |a_ik| rho_k: a second test on every branch.
 */
#include "place/walk.h"

#include "base/clock.h"
#include "linalg/dense.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Choices between two looks at the clock; so many children gathered take as long as one choice. */
enum { NODES_A_LOOK = 256, NODES_A_WORD = 1024, CHILDREN_A_NODE = 16 };

/* ---- children ---- */

static int by_cost(const void *a, const void *b)
{
    const cm_child *first = a, *second = b;
    if (first->cost < second->cost || first->cost > second->cost)
        return first->cost < second->cost ? -1 : 1;
    return first->handled != second->handled ? first->handled - second->handled
                                             : first->point - second->point;
}

static void gather(void *data, int point)
{
    cm_walk *w = data;
    int k = w->level;
    const cm_points *points = &w->board->points[w->levels->order[k]];
    double cost = cm_level_cost(w->levels, k, w->above, points->x[point]);
    if (cost > w->budget)
        return;
    if (w->child_count[k] == w->child_room[k])
        w->children[k] =
            cm_grow(w->session, w->children[k], w->child_count[k], &w->child_room[k], sizeof(cm_child));
    w->children[k][w->child_count[k]++] = (cm_child){cost, points->handled[point], point};
}

void cm_walk_children(cm_walk *w, int k, double spent, int (*order)(const void *a, const void *b))
{
    const cm_levels *l = w->levels;
    const cm_points *points = &w->board->points[l->order[k]];
    double complex own = l->r[k + l->n * k];
    w->above = l->d[k];
    for (int j = k + 1; j < l->n; j++)
        w->above += l->r[k + l->n * j] * w->x[j];
    w->level = k;
    w->budget = cm_to_beat(w) - spent;
    w->child_count[k] = 0;
    if (!points->count)
        return;
    double radius = sqrt(fmax(0, w->budget)) / cabs(own);
    if (isfinite(radius) && w->budget >= 0)
        cm_points_near(points, -w->above / own, radius, gather, w);
    else if (w->budget >= 0)
        for (int i = 0; i < points->count; i++)
            gather(w, i);
    w->work += (double)w->child_count[k] / CHILDREN_A_NODE;
    if (w->child_count[k]) /* without children there may be no list */
        qsort(w->children[k], (size_t)w->child_count[k], sizeof(cm_child), order);
}

/* ---- the second test ---- */

/* r of level k := r of level k+1 with the plane at x instead of its centre. */
static void move_readings(cm_walk *w, int k, double complex x)
{
    const cm_board *b = w->board;
    int plane = w->levels->order[k];
    const double complex *from = w->readings + (size_t)b->rows * (size_t)(k + 1);
    double complex *to = w->readings + (size_t)b->rows * (size_t)k;
    double complex step = x - b->centre[plane];
    for (int i = 0; i < b->rows; i++)
        to[i] = from[i] + b->a[i + b->rows * plane] * step;
}

void cm_walk_choose(cm_walk *w, int k, const cm_child *child)
{
    int plane = w->levels->order[k];
    w->point[plane] = child->point;
    w->x[k] = w->board->points[plane].x[child->point];
    move_readings(w, k, w->x[k]);
}

static bool can_reach(const cm_walk *w, int k)
{
    const cm_board *b = w->board;
    const double complex *r = w->readings + (size_t)b->rows * (size_t)k;
    const double *give = w->give + (size_t)b->rows * (size_t)k;
    double beat = b->minmax ? sqrt(cm_to_beat(w)) : INFINITY;
    for (int i = 0; i < b->rows; i++) {
        double most = b->limit[i] * (1 + CM_EQUAL_SHARE);
        if (b->bound_weight[i] > 0 && beat / b->bound_weight[i] < most)
            most = beat / b->bound_weight[i];
        if (cm_abs2(r[i]) > (most + give[i]) * (most + give[i]))
            return false;
    }
    return true;
}

/* ---- the walk ---- */

bool cm_walk_must_halt(cm_walk *w)
{
    const cm_patience *p = w->patience;
    w->result.nodes++;
    w->work++;
    if (w->halted || w->work < NODES_A_LOOK)
        return w->halted;
    w->work = 0;
    w->result.stopped = cm_stop_wanted(w->session);
    w->halted = w->result.stopped || w->result.nodes > p->most_nodes || cm_clock_seconds() > p->deadline;
    if (p->question && p->question->progress && w->result.nodes >= w->next_word) {
        w->next_word = w->result.nodes + NODES_A_WORD;
        p->question->progress(p->question->context, w->result.nodes,
                              w->found && w->found->count ? sqrt(w->found->value2[0]) : NAN,
                              sqrt(fmax(0, w->levels->floor2)));
    }
    return w->halted;
}

/* Free planes go to the points next to where the sum of squares would have them, one after the other. */
static void take_relaxed(cm_walk *w, double spent)
{
    const cm_levels *l = w->levels;
    if (!(spent < w->least2))
        return;
    w->least2 = spent;
    memcpy(w->least_point, w->point, (size_t)l->n * sizeof *w->point);
    for (int k = w->leaf - 1; k >= 0; k--)
        w->least_point[l->order[k]] = cm_level_nearest(l, k, w->x);
}

/* Least bound among what is left out below level k for want of time; INFINITY: nothing is. */
static double walk(cm_walk *w, int k, double spent)
{
    const cm_board *b = w->board;
    double open = INFINITY;
    if (k == 0) {
        cm_walk_last(w, spent);
        return INFINITY;
    }
    cm_walk_children(w, k, spent, by_cost);
    for (int i = 0; i < w->child_count[k]; i++) {
        cm_child child = w->children[k][i];
        if (spent + child.cost > cm_to_beat(w))
            break;
        if (cm_walk_must_halt(w))
            return fmin(open, spent + child.cost);
        cm_walk_choose(w, k, &child);
        if (w->relaxed && k == w->leaf)
            take_relaxed(w, spent + child.cost);
        else if (!(b->minmax || b->limits) || can_reach(w, k))
            open = fmin(open, walk(w, k - 1, spent + child.cost));
    }
    return open;
}

static void prepare(cm_walk *w)
{
    const cm_board *b = w->board;
    int n = b->n;
    size_t rows = (size_t)b->rows;
    double complex *top = w->readings + rows * (size_t)n;
    memcpy(top, b->start, rows * sizeof *top);
    for (int i = 0; i < b->rows; i++)
        w->last_rows[i].row = i;
    for (int k = 0; k < n; k++)
        for (int i = 0; i < b->rows; i++)
            top[i] += b->a[i + b->rows * k] * b->centre[k];
    for (int k = 1; k < n; k++) {
        int below = w->levels->order[k - 1];
        for (int i = 0; i < b->rows; i++)
            w->give[i + b->rows * k] =
                w->give[i + b->rows * (k - 1)] + cabs(b->a[i + b->rows * below]) * b->reach[below];
    }
}

cm_walk cm_walk_new(cm_session *session, const cm_levels *levels, const cm_patience *patience)
{
    const cm_board *b = levels->board;
    size_t rows = (size_t)b->rows, n = (size_t)b->n;
    cm_walk w = {.session = session,
                 .levels = levels,
                 .board = b,
                 .patience = patience,
                 .point = CM_NEW(session, n, int),
                 .x = CM_NEW(session, n, double complex),
                 .readings = CM_NEW(session, rows * (n + 1), double complex),
                 .give = CM_NEW(session, rows * n, double),
                 .children = CM_NEW(session, n, cm_child *),
                 .child_count = CM_NEW(session, n, int),
                 .child_room = CM_NEW(session, n, int),
                 .last_rows = CM_NEW(session, rows, cm_last_row),
                 .last = CM_NEW(session, rows, double complex)};
    prepare(&w);
    return w;
}

cm_search_result cm_search(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                           cm_found *found)
{
    cm_walk w = cm_walk_new(session, levels, patience);
    w.found = found;
    double open = walk(&w, levels->n - 1, levels->constant);
    w.result.complete = !w.halted;
    w.result.bound2 = open;
    return w.result;
}

double cm_search_relaxed(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                         double beat2, int *point)
{
    cm_walk w = cm_walk_new(session, levels, patience);
    w.relaxed = true;
    w.least2 = beat2;
    w.least_point = point;
    point[0] = -1;
    while (w.leaf < levels->n && levels->board->free_plane[levels->order[w.leaf]])
        w.leaf++;
    if (w.leaf == levels->n) {
        take_relaxed(&w, levels->floor2);
        return fmin(levels->floor2, beat2);
    }
    double open = walk(&w, levels->n - 1, levels->constant);
    return fmin(open, w.least2);
}
