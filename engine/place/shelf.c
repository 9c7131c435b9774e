/* SPDX-License-Identifier: MIT */
/* Sums of a plane become points: equal ones with the fewest pieces, those outside a cap left out. */
#include "place/shelf.h"

#include <math.h>
#include <stdlib.h>

/* Sums that are listed in full. */
enum { MOST_SUMS = 600000 };

/* What rounding may exceed a cap by. */
#define WITHIN (1 + 1e-12)

typedef struct cm_keyed {
    int64_t column, line;
    int handled, sum;
} cm_keyed;

static int by_place(const void *a, const void *b)
{
    const cm_keyed *first = a, *second = b;
    if (first->column != second->column)
        return first->column < second->column ? -1 : 1;
    if (first->line != second->line)
        return first->line < second->line ? -1 : 1;
    return first->handled != second->handled ? first->handled - second->handled : first->sum - second->sum;
}

static bool is_allowed(const cm_problem *p, int plane, double complex x)
{
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane && cabs(x - p->discs[d].centre) > p->discs[d].radius * WITHIN)
            return false;
    return true;
}

/* The allowed sums, each value once. */
static void put_points(cm_session *session, const cm_problem *p, int plane, cm_shelf *shelf)
{
    const cm_sums *sums = &shelf->sums;
    double cell = cm_sums_cell(&shelf->loads);
    cm_keyed *key = CM_NEW(session, sums->count, cm_keyed);
    double complex *x = CM_NEW(session, sums->count, double complex);
    int *handled = CM_NEW(session, sums->count, int), *origin = CM_NEW(session, sums->count, int);
    int keys = 0, count = 0;
    for (int i = 0; i < sums->count; i++)
        if (!sums->sum[i].dead && is_allowed(p, plane, p->now[plane] + sums->sum[i].x))
            key[keys++] =
                (cm_keyed){(int64_t)floor(creal(sums->sum[i].x) / cell + 0.5),
                           (int64_t)floor(cimag(sums->sum[i].x) / cell + 0.5), sums->sum[i].handled, i};
    qsort(key, (size_t)keys, sizeof *key, by_place);
    for (int i = 0; i < keys; i++) {
        if (i && key[i].column == key[i - 1].column && key[i].line == key[i - 1].line)
            continue;
        x[count] = p->now[plane] + sums->sum[key[i].sum].x;
        handled[count] = key[i].handled;
        origin[count++] = key[i].sum;
    }
    shelf->allowed = count > 0;
    if (count)
        shelf->points = cm_points_new(session, count, x, handled, origin);
}

cm_shelf cm_shelf_of(cm_session *session, const cm_problem *p, const cm_shop_plane *shop, int plane)
{
    cm_shelf shelf = {.allowed = true};
    if (!shop->used)
        return shelf;
    shelf.loads = cm_loads_of(session, shop);
    shelf.sums = cm_sums_of(session, &shelf.loads, NULL, MOST_SUMS, cm_sums_cell(&shelf.loads));
    if (!shelf.sums.all)
        cm_fail(session, CM_BAD_INPUT,
                "the positions and pieces of a plane make more than %d different masses", MOST_SUMS);
    if (shelf.sums.count == 1)
        return shelf;
    put_points(session, p, plane, &shelf);
    bool nothing_only = shelf.allowed && shelf.points.count == 1 && shelf.points.handled[0] == 0;
    shelf.moves = shelf.allowed && !nothing_only;
    return shelf;
}

static int by_site(const void *a, const void *b)
{
    return ((const cm_used_load *)a)->site - ((const cm_used_load *)b)->site;
}

int cm_shelf_loads(const cm_shelf *shelf, int point, cm_used_load *list)
{
    int count = 0;
    for (const cm_sum *sum = &shelf->sums.sum[shelf->points.origin[point]]; sum->parent >= 0;
         sum = &shelf->sums.sum[sum->parent])
        list[count++] = (cm_used_load){sum->site, &shelf->loads.load[sum->load]};
    qsort(list, (size_t)count, sizeof *list, by_site);
    return count;
}
