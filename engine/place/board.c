/* SPDX-License-Identifier: MIT */
#include "place/board.h"

#include "model/counts.h"

#include "linalg/dense.h"

#include <math.h>
#include <string.h>

/* What rounding may exceed a limit by. */
#define WITHIN (1 + 1e-12)

/* ---- which readings ---- */

static bool in_pair(const cm_problem *p, int row)
{
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0 && (p->pairs[k].forward == row || p->pairs[k].backward == row))
            return true;
    return false;
}

static bool is_on_board(const cm_board *b, int row)
{
    return b->p->weight[row] > 0 || ((b->minmax || b->limits) && in_pair(b->p, row));
}

static void put_rows(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    b->row = CM_NEW(session, p->rows, int);
    b->weight = CM_NEW(session, p->rows, double);
    b->limit = CM_NEW(session, p->rows, double);
    for (int i = 0; i < p->rows; i++) {
        if (!is_on_board(b, i))
            continue;
        b->weight[b->rows] = p->weight[i];
        b->limit[b->rows] = b->limits && p->weight[i] > 0 ? p->limit[i] : INFINITY;
        b->row[b->rows++] = i;
    }
}

static int on_board(const cm_board *b, int row)
{
    for (int i = 0; i < b->rows; i++)
        if (b->row[i] == row)
            return i;
    return -1;
}

static void put_pairs(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    b->pair = CM_NEW(session, p->pair_count, cm_pair);
    for (int k = 0; (b->minmax || b->limits) && k < p->pair_count; k++) {
        if (!(p->pairs[k].weight > 0))
            continue;
        cm_pair *pair = &b->pair[b->pairs++];
        *pair = p->pairs[k];
        pair->forward = on_board(b, pair->forward);
        pair->backward = pair->backward < 0 ? -1 : on_board(b, pair->backward);
    }
}

/* ---- coefficients ---- */

static void put_columns(cm_session *session, cm_board *b)
{
    const cm_problem *p = b->p;
    b->a = CM_NEW(session, (size_t)b->rows * (size_t)b->n, double complex);
    b->start = CM_NEW(session, b->rows, double complex);
    unsigned char *moves = CM_NEW(session, p->planes, unsigned char);
    for (int k = 0; k < b->n; k++)
        moves[b->plane[k]] = 1;
    for (int i = 0; i < b->rows; i++) {
        b->start[i] = p->y[b->row[i]];
        for (int j = 0; j < p->planes; j++)
            b->start[i] += p->a[b->row[i] + p->rows * j] * ((moves[j] ? 0 : b->still[j]) - p->base[j]);
        for (int k = 0; k < b->n; k++)
            b->a[i + b->rows * k] = p->a[b->row[i] + p->rows * b->plane[k]];
    }
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
        double sum = cm_pair_size_at(pair, r);
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
