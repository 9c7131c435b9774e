/* SPDX-License-Identifier: MIT */
#include "place/board.h"

#include "model/counts.h"

#include "linalg/dense.h"

#include <math.h>
#include <string.h>

/* What rounding may exceed a limit by. */
#define WITHIN (1 + 1e-12)

/* ---- which readings ---- */

static int room_for_rows(const cm_problem *p)
{
    return p->rows + 2 * p->pair_count;
}

/* Readings that count by themselves. */
static void put_rows(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    b->row = CM_NEW(session, room_for_rows(p), int);
    b->weight = CM_NEW(session, room_for_rows(p), double);
    b->limit = CM_NEW(session, room_for_rows(p), double);
    b->bound_weight = CM_NEW(session, room_for_rows(p), double);
    for (int i = 0; i < p->rows; i++) {
        if (!(p->weight[i] > 0))
            continue;
        b->weight[b->rows] = b->bound_weight[b->rows] = p->weight[i];
        b->limit[b->rows] = b->limits ? p->limit[i] : INFINITY;
        b->row[b->rows++] = i;
    }
}

static int add_part(cm_board *b, int number)
{
    const cm_pair *given = &b->p->pairs[number];
    b->bound_weight[b->rows] = b->minmax ? given->weight : 0;
    b->limit[b->rows] = b->limits ? given->limit : INFINITY;
    b->row[b->rows] = -1 - number;
    return b->rows++;
}

/* A pair's parts are rows of their own; the pair judges the sum of their sizes, each part alone is no more. */
static void put_pairs(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    b->pair = CM_NEW(session, p->pair_count, cm_pair);
    for (int k = 0; (b->minmax || b->limits) && k < p->pair_count; k++) {
        if (!(p->pairs[k].weight > 0))
            continue;
        cm_pair *pair = &b->pair[b->pairs++];
        *pair = p->pairs[k];
        pair->forward = add_part(b, k);
        pair->backward = cm_pair_part_count(&p->pairs[k]) > 1 ? add_part(b, k) : -1;
    }
}

/* ---- coefficients ---- */

/* A column of the problem (rows) as the board sees it (rows). */
static void put_column(const cm_board *b, const double complex *column, double complex *out)
{
    for (int i = 0; i < b->rows; i++)
        if (b->row[i] >= 0)
            out[i] = column[b->row[i]];
    for (int k = 0; k < b->pairs; k++) {
        const cm_pair *given = &b->p->pairs[-1 - b->row[b->pair[k].forward]];
        out[b->pair[k].forward] = cm_pair_part_at(given, 0, column);
        if (b->pair[k].backward >= 0)
            out[b->pair[k].backward] = cm_pair_part_at(given, 1, column);
    }
}

static void put_columns(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    double complex *still = CM_NEW(session, p->rows, double complex);
    unsigned char *moves = CM_NEW(session, p->planes, unsigned char);
    b->a = CM_NEW(session, (size_t)b->rows * (size_t)b->n, double complex);
    b->start = CM_NEW(session, b->rows, double complex);
    for (int k = 0; k < b->n; k++) {
        moves[b->plane[k]] = 1;
        put_column(b, p->a + (size_t)p->rows * (size_t)b->plane[k], b->a + (size_t)b->rows * (size_t)k);
    }
    for (int i = 0; i < p->rows; i++) {
        still[i] = p->y[i];
        for (int j = 0; j < p->planes; j++)
            still[i] += p->a[i + p->rows * j] * ((moves[j] ? 0 : b->still[j]) - p->base[j]);
    }
    put_column(b, still, b->start);
}

void cm_board_fill(cm_session *session, cm_board *b)
{
    b->minmax = b->p->objective == CM_MIN_MAX;
    b->limits = b->p->within_limits;
    put_rows(session, b);
    put_pairs(session, b);
    put_columns(session, b);
}

/* ---- values ---- */

void cm_board_readings(const cm_board *b, const int *point, double complex *r)
{
    memcpy(r, b->start, (size_t)b->rows * sizeof *r);
    for (int k = 0; k < b->n; k++) {
        double complex x = b->points[k].x[point[k]];
        for (int i = 0; i < b->rows; i++)
            r[i] += b->a[i + b->rows * k] * x;
    }
}

static double pairs_value(const cm_board *b, const double complex *r, double largest)
{
    for (int k = 0; k < b->pairs; k++) {
        const cm_pair *pair = &b->pair[k];
        double sum = cabs(r[pair->forward]) + (pair->backward < 0 ? 0 : cabs(r[pair->backward]));
        if (b->limits && sum > pair->limit * WITHIN)
            return INFINITY;
        largest = b->minmax ? fmax(largest, pair->weight * pair->weight * sum * sum) : largest;
    }
    return largest;
}

double cm_board_value2(const cm_board *b, const double complex *r)
{
    double value = 0;
    for (int i = 0; i < b->rows; i++) {
        double size2 = cm_abs2(r[i]), weighed = b->weight[i] * b->weight[i] * size2;
        if (size2 > b->limit[i] * b->limit[i] * (WITHIN * WITHIN))
            return INFINITY;
        value = b->minmax ? fmax(value, weighed) : value + weighed;
    }
    return pairs_value(b, r, value);
}

void cm_board_masses(const cm_board *b, const int *point, double complex *x)
{
    memcpy(x, b->still, (size_t)b->p->planes * sizeof *x);
    for (int k = 0; k < b->n; k++)
        x[b->plane[k]] = b->points[k].x[point[k]];
}
