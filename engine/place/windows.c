/* SPDX-License-Identifier: MIT */
/*
 * Windows on long lists.
 *
 * A total mass on level k at distance s from the optimum for masses of any size costs at least floor² + s² grow_k,
 * whatever stands on the other planes. So once some choice with value v is known, only masses within
 *
 *   s_k = sqrt((v² - floor²) / grow_k)
 *
 * can be part of a better one. First a small window gives a good v, then the windows are opened just that far. Where this
 * would be too much to list, the window stays smaller and its edge is a bound: the proof is open by the difference.
 */
#include "place/windows.h"

#include "base/clock.h"
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

enum { MOST_LISTED = 600000, FEW_LISTED = 1500 };

#define JUST_OVER (1 + 1e-9)

static int level_of(const cm_levels *l, int k)
{
    for (int level = 0; level < l->n; level++)
        if (l->order[level] == k)
            return level;
    return -1;
}

/* What all windows are opened for. */
typedef struct cm_opening {
    cm_session *session;
    cm_board *b;
    const cm_levels *l;
    cm_shelf *shelves;
    double deadline;
} cm_opening;

static bool open_to(const cm_opening *o, int k, double radius)
{
    cm_board *b = o->b;
    cm_shelf *shelf = &o->shelves[b->plane[k]];
    if (cm_is_over(o->session, o->deadline) ||
        !cm_shelf_window(o->session, b->p, b->plane[k], o->l->best[level_of(o->l, k)], radius, MOST_LISTED,
                         o->deadline, shelf))
        return false;
    shelf->window = radius;
    b->points[k] = shelf->points;
    return true;
}

/* From a few spacings on until there is a choice. Where even the first window is too much to list, the present total
 * stands for it: its edge is then at the target itself, and bounds nothing. */
static void open_a_little(const cm_opening *o, int k)
{
    cm_shelf *shelf = &o->shelves[o->b->plane[k]];
    double most = 4 * shelf->reach + cabs(o->l->best[level_of(o->l, k)] - shelf->centre);
    bool opened = shelf->window > 0;
    double radius = 8 * shelf->spacing;
    while (radius < 2 * most && open_to(o, k, radius)) {
        opened = true;
        if (o->b->points[k].count >= FEW_LISTED)
            break;
        radius *= 2;
    }
    if (opened)
        return;
    cm_shelf_present(o->session, o->b->p, o->b->plane[k], shelf);
    o->b->points[k] = shelf->points;
}

/* As far as masses can matter; else as far as can be listed. */
static bool open_enough(const cm_opening *o, int k, double best2)
{
    const cm_levels *l = o->l;
    const cm_shelf *shelf = &o->shelves[o->b->plane[k]];
    double grow = l->grow[level_of(l, k)];
    double everything = 2 * shelf->reach + cabs(l->best[level_of(l, k)] - shelf->centre);
    double radius = grow > 0 ? sqrt(fmax(0, best2 - l->floor2) / grow) * JUST_OVER : INFINITY;
    radius = fmin(radius, everything);
    if (radius <= shelf->window)
        return false;
    while (radius > shelf->window * JUST_OVER) {
        if (open_to(o, k, radius))
            return true;
        radius = sqrt(radius * fmax(shelf->window, radius / 4));
    }
    return false;
}

/* The best choice so far, found again among lists that have grown. */
void cm_find_again(cm_session *session, const cm_board *b, const double complex *x, cm_found *found)
{
    int *point = CM_NEW(session, b->n, int);
    double complex *r = CM_NEW(session, b->rows, double complex);
    for (int k = 0; k < b->n; k++)
        point[k] = cm_points_nearest(&b->points[k], x[b->plane[k]]);
    cm_board_readings(b, point, r);
    cm_found_take(found, b, point, cm_board_value2(b, r));
}

static void begin(cm_session *session, const cm_board *b, const cm_levels *l, double deadline,
                  cm_found *found)
{
    *found = cm_found_new(session, b, 1);
    cm_polish(session, l, deadline, found);
}

bool cm_windows_empty(const cm_board *b)
{
    for (int k = 0; k < b->n; k++)
        if (!b->points[k].count)
            return true;
    return false;
}

void cm_windows_open(cm_session *session, cm_board *b, const cm_levels *l, cm_shelf *shelves, double deadline,
                     cm_found *found)
{
    const cm_opening o = {session, b, l, shelves, deadline};
    bool any = false, grown = false;
    for (int k = 0; k < b->n; k++)
        if (shelves[b->plane[k]].halves) {
            open_a_little(&o, k);
            any = true;
        }
    if (cm_windows_empty(b)) {
        *found = cm_found_new(session, b, 1);
        return;
    }
    begin(session, b, l, deadline, found);
    if (!any)
        return;
    double complex *x = CM_NEW(session, b->p->planes, double complex);
    double best2 = found->count ? found->value2[0] : INFINITY;
    if (found->count)
        cm_board_masses(b, found->point, x);
    for (int k = 0; k < b->n; k++)
        if (shelves[b->plane[k]].halves)
            grown = open_enough(&o, k, best2) || grown;
    if (!grown)
        return;
    begin(session, b, l, deadline, found);
    if (isfinite(best2))
        cm_find_again(session, b, x, found);
}

double cm_windows_edge(const cm_board *b, const cm_levels *l, const cm_shelf *shelves)
{
    double edge2 = INFINITY;
    for (int k = 0; k < b->n; k++) {
        const cm_shelf *shelf = &shelves[b->plane[k]];
        double everything = 2 * shelf->reach + cabs(l->best[level_of(l, k)] - shelf->centre);
        if (shelf->halves && shelf->window < everything)
            edge2 = fmin(edge2, l->floor2 + shelf->window * shelf->window * l->grow[level_of(l, k)]);
    }
    return edge2;
}
