/* SPDX-License-Identifier: MIT */
/*
 * Planes that move only as their sets do.
 *
 *     x = o + B u        o: the fixed masses, or what is on the rotor now
 *                        B: one column per set in use, a unit vector per plane in use
 *
 * Planes that no column reaches are held. Planes in use by themselves are free. For the others, with R the rows of B
 * that belong to sets, Gauss-Jordan elimination with complete pivoting picks rank(R) of them; the rest follow:
 *
 *     x_q - o_q = sum_p L_qp (x_p - o_p)
 *
 * which are ties like those that a user writes. Masses inside a set are of one size, so the ratios need no scaling.
 */
#include "case/arrays.h"

#include <math.h>

/* Share of the largest ratio below which a pivot is rounding; as for every rank. */
#define PIVOT_ZERO 1e-10

typedef struct bound_planes {
    int planes, sets; /* that follow sets only; sets in use */
    int *plane;
    double complex *r; /* planes × sets, becomes L in the columns of its pivots */
    int *pivot;        /* planes: column of which this plane is the pivot, -1: follows */
    double largest;    /* size of the largest ratio */
} bound_planes;

static bool moves_alone(const cm_case *c, int plane)
{
    return c->goal.use[plane] && !c->goal.fixed[plane];
}

static bool is_reached(const cm_case *c, int plane)
{
    for (int s = 0; c->goal.fixed[plane] != CM_FIXED_ALONE && s < c->set_count; s++)
        for (int t = 0; c->goal.use_set[s] && t < c->sets[s].count; t++)
            if (c->sets[s].terms[t].plane == plane)
                return true;
    return false;
}

bool cm_plane_is_held(const cm_case *c, int plane)
{
    return !moves_alone(c, plane) && !is_reached(c, plane);
}

static double complex ratio_of(const cm_bundle *set, int plane)
{
    for (int t = 0; t < set->count; t++)
        if (set->terms[t].plane == plane)
            return set->terms[t].factor;
    return 0;
}

/* Planes in a set in use that are fixed by themselves take part: they hold the set still. */
static bool is_bound(const cm_case *c, int plane)
{
    for (int s = 0; !moves_alone(c, plane) && s < c->set_count; s++)
        if (c->goal.use_set[s] && cabs(ratio_of(&c->sets[s], plane)) > 0)
            return true;
    return false;
}

static bound_planes find_bound(cm_session *session, const cm_case *c)
{
    bound_planes b = {.plane = CM_NEW(session, c->plane_count, int),
                      .pivot = CM_NEW(session, c->plane_count, int)};
    for (int j = 0; j < c->plane_count; j++) {
        b.pivot[b.planes] = -1;
        if (is_bound(c, j))
            b.plane[b.planes++] = j;
    }
    b.r = CM_NEW(session, (size_t)b.planes * (size_t)c->set_count, double complex);
    for (int s = 0; s < c->set_count; s++) {
        for (int q = 0; c->goal.use_set[s] && q < b.planes; q++) {
            b.r[q + b.sets * b.planes] = ratio_of(&c->sets[s], b.plane[q]);
            b.largest = fmax(b.largest, cabs(b.r[q + b.sets * b.planes]));
        }
        b.sets += c->goal.use_set[s];
    }
    return b;
}

/* The largest entry in a row without pivot and a column from `from` on; false when all are rounding. */
static bool find_pivot(const bound_planes *b, int from, int *row, int *column)
{
    double most = PIVOT_ZERO * b->largest;
    bool found = false;
    for (int s = from; s < b->sets; s++)
        for (int q = 0; q < b->planes; q++)
            if (b->pivot[q] < 0 && cabs(b->r[q + s * b->planes]) > most) {
                most = cabs(b->r[q + s * b->planes]);
                *row = q;
                *column = s;
                found = true;
            }
    return found;
}

/* Column operations that make the pivot 1 and the rest of its row 0. */
static void take_pivot(bound_planes *b, int row, int column, int to)
{
    int n = b->planes;
    double complex pivot = b->r[row + column * n];
    for (int q = 0; q < n; q++) {
        double complex entry = b->r[q + column * n] / pivot;
        b->r[q + column * n] = b->r[q + to * n];
        b->r[q + to * n] = entry;
    }
    for (int s = 0; s < b->sets; s++) {
        double complex factor = b->r[row + s * n];
        for (int q = 0; s != to && q < n; q++)
            b->r[q + s * n] -= factor * b->r[q + to * n];
    }
    b->pivot[row] = to;
}

static void put_tie(const cm_problem *p, const bound_planes *b, int q, double complex *ties,
                    double complex *value, int tie, int count)
{
    ties[tie + count * b->plane[q]] = 1;
    for (int k = 0; k < b->planes; k++)
        if (b->pivot[k] >= 0)
            ties[tie + count * b->plane[k]] = -b->r[q + b->pivot[k] * b->planes];
    for (int k = 0; k < b->planes; k++)
        value[tie] += ties[tie + count * b->plane[k]] * p->held_value[b->plane[k]];
}

void cm_tie_sets(cm_session *session, const cm_case *c, cm_problem *p)
{
    bound_planes b = find_bound(session, c);
    int rank = 0, row, column, old = p->tie_count;
    while (find_pivot(&b, rank, &row, &column))
        take_pivot(&b, row, column, rank++);
    int count = old + b.planes - rank, tie = old;
    if (count == old)
        return;
    double complex *ties = CM_NEW(session, (size_t)count * (size_t)p->planes, double complex);
    double complex *value = CM_NEW(session, count, double complex);
    for (int t = 0; t < old; t++) {
        value[t] = p->tie_value[t];
        for (int j = 0; j < p->planes; j++)
            ties[t + count * j] = p->ties[t + old * j];
    }
    for (int q = 0; q < b.planes; q++)
        if (b.pivot[q] < 0)
            put_tie(p, &b, q, ties, value, tie++, count);
    p->ties = ties;
    p->tie_value = value;
    p->tie_count = count;
}

void cm_put_columns(cm_session *session, const cm_case *c, cm_problem *p)
{
    int sets = 0, at = 0;
    for (int s = 0; s < c->set_count; s++)
        sets += c->goal.use_set[s];
    if (sets == 0)
        return;
    double complex *columns =
        CM_NEW(session, (size_t)c->plane_count * (size_t)(c->plane_count + sets), double complex);
    int *of = CM_NEW(session, c->plane_count + sets, int);
    for (int j = 0; j < c->plane_count; j++)
        if (moves_alone(c, j)) {
            of[at] = j;
            columns[j + c->plane_count * at++] = 1;
        }
    for (int s = 0; s < c->set_count; s++) {
        for (int j = 0; c->goal.use_set[s] && j < c->plane_count; j++)
            columns[j + c->plane_count * at] = ratio_of(&c->sets[s], j);
        if (c->goal.use_set[s])
            of[at++] = c->plane_count + s;
    }
    p->column_of = of;
    p->column_count = at;
    p->columns = columns;
}
