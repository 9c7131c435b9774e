/* SPDX-License-Identifier: MIT */
/*
 * Sums of a plane become points: equal ones with the fewest pieces, those outside a cap left out.
 *
 * Twenty-four holes and a full tray make millions of sums, far too many to list. Then the positions are dealt into two
 * halves, every other one to each so that each half is still a ring; the sums of each half are few. A sum of all is one of
 * the first half and one of the second; those near a target are found by looking, for each of the first half, for what is
 * missing among the second (meet in the middle).
 */
#include "place/shelf.h"
#include "base/constants.h"

#include "base/clock.h"
#include "linalg/dense.h"
#include "place/groove.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Sums that are listed in full, and of each half. */
enum { MOST_SUMS = 250000, MOST_OF_HALF = 120000, SUMS_A_LOOK = 1024 };

/* What rounding may exceed a cap by. */
#define WITHIN (1 + 1e-12)
/* ---- equal points ---- */

static bool is_allowed(const cm_problem *p, int plane, double complex x)
{
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane && cabs(x - p->discs[d].centre) > p->discs[d].radius * WITHIN)
            return false;
    return true;
}

/* A list of total masses on its way to points. */
typedef struct cm_listing {
    int count, room;
    double complex *x;
    int *handled;
} cm_listing;

/* A hash table of cells; holds numbers of the listing + 1. */
typedef struct cm_cells {
    const cm_listing *list;
    double cell;
    size_t slots;
    int *slot;
} cm_cells;

static int64_t column_of(const cm_cells *cells, int number)
{
    return (int64_t)floor(creal(cells->list->x[number]) / cells->cell + 0.5);
}

static int64_t line_of(const cm_cells *cells, int number)
{
    return (int64_t)floor(cimag(cells->list->x[number]) / cells->cell + 0.5);
}

static int *slot_of(const cm_cells *cells, int number)
{
    int64_t column = column_of(cells, number), line = line_of(cells, number);
    uint64_t h = ((uint64_t)column * 0x9e3779b97f4a7c15ULL) ^ ((uint64_t)line * 0xc2b2ae3d27d4eb4fULL);
    size_t at = (size_t)(h ^ h >> 29) & (cells->slots - 1);
    while (cells->slot[at] &&
           (column_of(cells, cells->slot[at] - 1) != column || line_of(cells, cells->slot[at] - 1) != line))
        at = (at + 1) & (cells->slots - 1);
    return &cells->slot[at];
}

/* Each value once, with the fewest pieces, of these the first; `origin` is its number in the listing. */
static cm_points distinct(cm_session *session, const cm_listing *list, double cell)
{
    cm_cells cells = {.list = list, .cell = cell, .slots = 1024};
    double complex *x = CM_NEW(session, list->count, double complex);
    int *handled = CM_NEW(session, list->count, int), *origin = CM_NEW(session, list->count, int);
    int count = 0;
    while (cells.slots < (size_t)list->count * 2)
        cells.slots *= 2;
    cells.slot = CM_NEW(session, cells.slots, int);
    for (int i = 0; i < list->count; i++) {
        int *slot = slot_of(&cells, i);
        if (!*slot || list->handled[i] < list->handled[*slot - 1])
            *slot = i + 1;
    }
    for (int i = 0; i < list->count; i++)
        if (*slot_of(&cells, i) == i + 1) {
            x[count] = list->x[i];
            handled[count] = list->handled[i];
            origin[count++] = i;
        }
    return cm_points_new(session, count, x, handled, origin);
}

/* ---- sums listed in full ---- */

static void enclose_points(cm_shelf *shelf)
{
    const cm_points *p = &shelf->points;
    shelf->centre = cm_pack(p->left + p->cell * p->wide / 2, p->bottom + p->cell * p->high / 2);
    shelf->reach = 0;
    for (int i = 0; i < p->count; i++)
        shelf->reach = fmax(shelf->reach, cabs(p->x[i] - shelf->centre));
    shelf->spacing = cm_points_spacing(p);
}

/* The points' origin is the number of the sum. */
static void list_all(cm_session *session, const cm_problem *p, int plane, cm_shelf *shelf)
{
    const cm_sums *sums = &shelf->sums;
    cm_listing list = {.x = CM_NEW(session, sums->count, double complex),
                       .handled = CM_NEW(session, sums->count, int)};
    int *number = CM_NEW(session, sums->count, int);
    for (int i = 0; i < sums->count; i++) {
        if (sums->sum[i].dead || !is_allowed(p, plane, p->now[plane] + sums->sum[i].x))
            continue;
        list.x[list.count] = p->now[plane] + sums->sum[i].x;
        list.handled[list.count] = sums->sum[i].handled;
        number[list.count++] = i;
    }
    shelf->allowed = list.count > 0;
    if (!list.count)
        return;
    shelf->points = distinct(session, &list, cm_sums_cell(&shelf->loads));
    for (int i = 0; i < shelf->points.count; i++)
        shelf->points.origin[i] = number[shelf->points.origin[i]];
    enclose_points(shelf);
}

/* ---- halves ---- */

static cm_sums half(cm_session *session, const cm_loads *loads, int rest, double deadline, bool *partial)
{
    const cm_shop_plane *shop = loads->shop;
    unsigned char *which = CM_NEW(session, shop->site_count, unsigned char);
    int turn = 0, pieces = 0;
    for (int s = 0; s < shop->site_count; s++)
        if (loads->count[s] > 0) {
            which[s] = turn++ % 2 == rest;
            pieces += which[s] ? shop->per_site : 0;
        }
    cm_sums sums = cm_sums_of(session, loads, which, INT_MAX, MOST_OF_HALF, cm_sums_cell(loads), deadline);
    for (int fewer = pieces < 8 ? pieces : 8; !sums.all; fewer--) {
        *partial = true;
        sums = cm_sums_of(session, loads, which, fewer, MOST_OF_HALF, cm_sums_cell(loads),
                          fewer > 0 ? deadline : INFINITY);
    }
    return sums;
}

static cm_points grid_of(cm_session *session, const cm_sums *sums)
{
    double complex *x = CM_NEW(session, sums->count, double complex);
    int *handled = CM_NEW(session, sums->count, int), *origin = CM_NEW(session, sums->count, int), count = 0;
    for (int i = 0; i < sums->count; i++) {
        if (sums->sum[i].dead)
            continue;
        x[count] = sums->sum[i].x;
        handled[count] = sums->sum[i].handled;
        origin[count++] = i;
    }
    return cm_points_new(session, count, x, handled, origin);
}

static double farthest(const cm_sums *sums)
{
    double most = 0;
    for (int i = 0; i < sums->count; i++)
        most = fmax(most, cabs(sums->sum[i].x));
    return most;
}

/* The smallest of the discs that are known to hold everything: what the pieces reach, or a cap. */
static void enclose_halves(cm_session *session, const cm_problem *p, int plane, cm_shelf *shelf)
{
    shelf->centre = p->now[plane];
    shelf->reach = farthest(&shelf->sums) + farthest(&shelf->others);
    if (shelf->partial) /* pieces that are not listed reach farther */
        shelf->reach = cm_loads_reach(session, &shelf->loads);
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane && p->discs[d].radius < shelf->reach) {
            shelf->centre = p->discs[d].centre;
            shelf->reach = p->discs[d].radius;
        }
    shelf->spacing = shelf->reach * sqrt(CM_PI / ((double)shelf->sums.count * shelf->others.count));
}

static void list_halves(cm_session *session, const cm_problem *p, int plane, double deadline, cm_shelf *shelf)
{
    shelf->halves = true;
    shelf->sums = half(session, &shelf->loads, 0, deadline, &shelf->partial);
    shelf->others = half(session, &shelf->loads, 1, deadline, &shelf->partial);
    shelf->grid = grid_of(session, &shelf->others);
    enclose_halves(session, p, plane, shelf);
}

typedef struct cm_windowing {
    cm_session *session;
    const cm_problem *p;
    cm_shelf *shelf;
    cm_listing list;
    int (*pair)[2];
    int pair_room, most, plane;
    double complex target;
    double radius;
    int first; /* sum of the first half at hand */
    bool overflow;
} cm_windowing;

static void add_pair(cm_windowing *w, int second)
{
    const cm_sum *a = &w->shelf->sums.sum[w->first], *b = &w->shelf->others.sum[second];
    int room = w->list.room;
    w->list.x = cm_grow(w->session, w->list.x, w->list.count, &w->list.room, sizeof *w->list.x);
    w->list.handled = cm_grow(w->session, w->list.handled, w->list.count, &room, sizeof *w->list.handled);
    w->pair = cm_grow(w->session, w->pair, w->list.count, &w->pair_room, sizeof *w->pair);
    w->pair[w->list.count][0] = w->first;
    w->pair[w->list.count][1] = second;
    w->list.handled[w->list.count] = a->handled + b->handled;
    w->list.x[w->list.count++] = w->p->now[w->plane] + a->x + b->x;
}

static void try_pair(void *data, int point)
{
    cm_windowing *w = data;
    int second = w->shelf->grid.origin[point];
    const cm_sum *a = &w->shelf->sums.sum[w->first], *b = &w->shelf->others.sum[second];
    double complex x = w->p->now[w->plane] + a->x + b->x;
    if (w->overflow || cabs(x - w->target) > w->radius || !cm_in_stock(&w->shelf->loads, a->used, b->used) ||
        !is_allowed(w->p, w->plane, x))
        return;
    w->overflow = w->list.count >= w->most;
    if (!w->overflow)
        add_pair(w, second);
}

/* Leaving everything as it is stands in every window: number 0 of both halves. */
static void add_present(cm_windowing *w)
{
    if (cabs(w->p->now[w->plane] - w->target) <= w->radius ||
        !is_allowed(w->p, w->plane, w->p->now[w->plane]))
        return;
    w->first = 0;
    add_pair(w, 0);
}

bool cm_shelf_window(cm_session *session, const cm_problem *p, int plane, double complex target,
                     double radius, int most, double deadline, cm_shelf *shelf)
{
    cm_mark mark = cm_mark_of(session);
    cm_windowing w = {.session = session,
                      .p = p,
                      .shelf = shelf,
                      .most = most,
                      .plane = plane,
                      .target = target,
                      .radius = radius};
    for (w.first = 0; w.first < shelf->sums.count && !w.overflow; w.first++) {
        if (w.first % SUMS_A_LOOK == 0)
            w.overflow = cm_is_over(session, deadline);
        if (!shelf->sums.sum[w.first].dead)
            cm_points_near(&shelf->grid, target - p->now[plane] - shelf->sums.sum[w.first].x, radius,
                           try_pair, &w);
    }
    if (w.overflow) {
        cm_release_to(session, mark);
        return false;
    }
    add_present(&w);
    shelf->points.count = 0;
    if (w.list.count)
        shelf->points = distinct(session, &w.list, cm_sums_cell(&shelf->loads));
    shelf->pair = w.pair;
    return true;
}

void cm_shelf_present(cm_session *session, const cm_problem *p, int plane, cm_shelf *shelf)
{
    cm_windowing w = {
        .session = session, .p = p, .shelf = shelf, .plane = plane, .target = p->now[plane], .radius = -1};
    add_present(&w);
    shelf->points.count = 0;
    if (w.list.count)
        shelf->points = distinct(session, &w.list, cm_sums_cell(&shelf->loads));
    shelf->pair = w.pair;
}

/* ---- a plane ---- */

static void list_sums(cm_session *session, const cm_problem *p, int plane, double deadline, cm_shelf *shelf)
{
    shelf->sums =
        cm_sums_of(session, &shelf->loads, NULL, INT_MAX, MOST_SUMS, cm_sums_cell(&shelf->loads), deadline);
    if (!shelf->sums.all) {
        list_halves(session, p, plane, deadline, shelf);
        shelf->moves = true;
        return;
    }
    if (shelf->sums.count == 1)
        return;
    list_all(session, p, plane, shelf);
    bool nothing_only = shelf->allowed && shelf->points.count == 1 && shelf->points.handled[0] == 0;
    shelf->moves = shelf->allowed && !nothing_only;
}

cm_shelf cm_shelf_of(cm_session *session, const cm_problem *p, const cm_shop_plane *shop, int plane,
                     double deadline)
{
    cm_shelf shelf = {.allowed = true};
    if (!shop->used)
        return shelf;
    shelf.loads = cm_loads_of(session, shop);
    if (shop->piece_angle > 0) {
        cm_groove_list(session, p, plane, &shelf);
        return shelf;
    }
    list_sums(session, p, plane, deadline, &shelf);
    return shelf;
}

/* ---- planes that are alike ---- */

/* NaN says that there is none: equal to itself here. */
static bool same(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool same_phasor(double complex a, double complex b)
{
    return same(creal(a), creal(b)) && same(cimag(a), cimag(b));
}

static bool same_piece(const cm_shop_piece *a, const cm_shop_piece *b)
{
    return same(a->mass, b->mass) && same(a->screw, b->screw) && same(a->replaces, b->replaces) &&
           a->stock == b->stock;
}

static bool same_pieces(const cm_shop_plane *a, const cm_shop_plane *b)
{
    bool alike = a->piece_count == b->piece_count;
    for (int k = 0; alike && k < a->piece_count; k++)
        alike = same_piece(&a->pieces[k], &b->pieces[k]);
    return alike;
}

static bool same_sites(const cm_shop_plane *a, const cm_shop_plane *b)
{
    bool alike = a->site_count == b->site_count;
    for (int s = 0; alike && s < a->site_count; s++)
        alike = same_phasor(a->sites[s].direction, b->sites[s].direction) &&
                a->sites[s].blocked == b->sites[s].blocked && !a->sites[s].taken && !b->sites[s].taken;
    return alike;
}

static bool same_caps(const cm_problem *p, int a, int b)
{
    int of_a = 0, of_b = 0, matched = 0;
    for (int d = 0; d < p->disc_count; d++) {
        of_a += p->discs[d].plane == a;
        of_b += p->discs[d].plane == b;
        for (int e = 0; e < p->disc_count; e++)
            matched += p->discs[d].plane == a && p->discs[e].plane == b &&
                       same_phasor(p->discs[d].centre, p->discs[e].centre) &&
                       same(p->discs[d].radius, p->discs[e].radius);
    }
    return of_a == of_b && matched == of_a;
}

bool cm_shelves_alike(const cm_problem *p, const cm_shop *shop, int a, int b)
{
    const cm_shop_plane *first = &shop->plane[a], *second = &shop->plane[b];
    return first->used && second->used && first->action == second->action &&
           first->per_site == second->per_site && first->most == second->most && first->drill_diameter <= 0 &&
           second->drill_diameter <= 0 && first->piece_angle <= 0 && second->piece_angle <= 0 &&
           same(first->site_screw, second->site_screw) && same(first->reduce, second->reduce) &&
           same_phasor(p->now[a], p->now[b]) && same_pieces(first, second) && same_sites(first, second) &&
           same_caps(p, a, b);
}

static int by_site(const void *a, const void *b)
{
    return ((const cm_used_load *)a)->site - ((const cm_used_load *)b)->site;
}

static int trace(const cm_loads *loads, const cm_sums *sums, int number, cm_used_load *list, int count)
{
    for (const cm_sum *sum = &sums->sum[number]; sum->parent >= 0; sum = &sums->sum[sum->parent])
        list[count++] = (cm_used_load){sum->site, &loads->load[sum->load]};
    return count;
}

int cm_shelf_loads(const cm_shelf *shelf, int point, cm_used_load *list)
{
    int origin = shelf->points.origin[point];
    int count = trace(&shelf->loads, &shelf->sums, shelf->halves ? shelf->pair[origin][0] : origin, list, 0);
    if (shelf->halves)
        count = trace(&shelf->loads, &shelf->others, shelf->pair[origin][1], list, count);
    qsort(list, (size_t)count, sizeof *list, by_site);
    return count;
}
