/* SPDX-License-Identifier: MIT */
/* Weighted least squares that is safe under rank deficiency against a bare LAPACKE zgels on the same weighted data.
 * Two figures: the factorisation with its test of the rank and the residual (cm_plain_solve), and all of cm_solve: weights
 * and scaling, that, predicted readings, value and proven bound. They take turns in one run; medians count. */
#include "linalg/dense.h"
#include "optimise/least_squares.h"

#include <lapacke.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#undef I

enum { MOST_ROWS = 200, MOST_PLANES = 40, TURNS = 401, BATCH = 20 };

typedef struct cm_bench {
    int rows, planes;
    int block[MOST_ROWS];
    double complex a[MOST_ROWS * MOST_PLANES], y[MOST_ROWS], zero[MOST_PLANES], x[MOST_PLANES];
    double complex weighted[MOST_ROWS * MOST_PLANES], side[MOST_ROWS];
    double complex matrix[MOST_ROWS * MOST_PLANES], column[MOST_ROWS];
    double weight[MOST_ROWS], limit[MOST_ROWS];
    double complex bare_x[MOST_PLANES];
} cm_bench;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double complex random_phasor(void)
{
    double re = rand() / (double)RAND_MAX - 0.5;
    return cm_pack(re, rand() / (double)RAND_MAX - 0.5);
}

static void fill(cm_bench *b, int rows, int planes)
{
    memset(b, 0, sizeof *b);
    b->rows = rows;
    b->planes = planes;
    for (int i = 0; i < rows; i++) {
        b->y[i] = random_phasor();
        b->weight[i] = 0.5 + i % 7;
        b->limit[i] = INFINITY;
        b->side[i] = -b->weight[i] * b->y[i];
    }
    for (int k = 0; k < rows * planes; k++) {
        b->a[k] = random_phasor();
        b->weighted[k] = b->weight[k % rows] * b->a[k];
    }
}

static cm_problem problem_of(const cm_bench *b)
{
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = CM_LEAST_SQUARES,
                        .rows = b->rows,
                        .planes = b->planes,
                        .blocks = 1,
                        .block = b->block,
                        .y = b->y,
                        .a = b->a,
                        .weight = b->weight,
                        .limit = b->limit,
                        .base = b->zero,
                        .now = b->zero,
                        .mass_unit = 1,
                        .mass_zero = 1e-12};
}

/* zgels overwrites its matrix: the copy counts, as it does for the engine. */
static bool bare(cm_bench *b)
{
    memcpy(b->matrix, b->weighted, (size_t)(b->rows * b->planes) * sizeof *b->matrix);
    memcpy(b->column, b->side, (size_t)b->rows * sizeof *b->column);
    int info =
        LAPACKE_zgels(LAPACK_COL_MAJOR, 'N', b->rows, b->planes, 1, b->matrix, b->rows, b->column, b->rows);
    memcpy(b->bare_x, b->column, (size_t)b->planes * sizeof *b->column);
    return info == 0;
}

static cm_status plain(cm_session *session, cm_bench *b, const cm_problem *p, double *seconds)
{
    CM_ENTER(session);
    cm_presolved pre = cm_presolve(session, p);
    double start = now();
    for (int k = 0; k < BATCH; k++) {
        cm_mark mark = cm_mark_of(session);
        for (int i = 0; i < b->rows; i++)
            b->column[i] = -b->side[i];
        cm_plain found = cm_plain_solve(session, &pre, b->rows, b->weighted, b->column);
        memcpy(b->x, found.u, (size_t)b->planes * sizeof *b->x);
        cm_release_to(session, mark);
    }
    *seconds = (now() - start) / BATCH;
    return cm_leave(session);
}

static bool whole(cm_session *session, cm_bench *b, const cm_problem *p, double *seconds)
{
    const cm_answer *answer = NULL;
    double start = now();
    for (int k = 0; k < BATCH; k++) {
        cm_reset(session);
        if (cm_solve(session, p, &answer) != CM_OK || answer->gap > 1e-8)
            return false;
    }
    *seconds = (now() - start) / BATCH;
    memcpy(b->x, answer->x, (size_t)b->planes * sizeof *b->x);
    return true;
}

static bool agrees(const cm_bench *b)
{
    for (int j = 0; j < b->planes; j++)
        if (!(cabs(b->x[j] - b->bare_x[j]) <= 1e-10 * (1 + cabs(b->x[j]))))
            return false;
    return true;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static bool measure(cm_session *session, cm_bench *b)
{
    static double times[3][TURNS];
    cm_problem p = problem_of(b);
    for (int turn = 0; turn < TURNS; turn++) {
        double start = now();
        for (int k = 0; k < BATCH; k++)
            if (!bare(b))
                return false;
        times[0][turn] = (now() - start) / BATCH;
        if (plain(session, b, &p, &times[1][turn]) != CM_OK || !agrees(b))
            return false;
        if (!whole(session, b, &p, &times[2][turn]) || !agrees(b))
            return false;
    }
    for (int k = 0; k < 3; k++)
        qsort(times[k], TURNS, sizeof times[k][0], by_size);
    double bare_time = times[0][TURNS / 2];
    printf("least_squares %3d x %2d: zgels %6.2f us; QR, rank, residual %6.2f us, ratio %.2f; cm_solve with "
           "proof "
           "%6.2f us, ratio %.2f\n",
           b->rows, b->planes, 1e6 * bare_time, 1e6 * times[1][TURNS / 2], times[1][TURNS / 2] / bare_time,
           1e6 * times[2][TURNS / 2], times[2][TURNS / 2] / bare_time);
    return true;
}

int main(void)
{
    static const int sizes[][2] = {{16, 4}, {48, 12}, {200, 40}};
    static cm_bench bench;
    cm_session *session = cm_open(NULL);
    bool fine = session != NULL;
    for (size_t k = 0; fine && k < sizeof sizes / sizeof *sizes; k++) {
        fill(&bench, sizes[k][0], sizes[k][1]);
        fine = measure(session, &bench);
    }
    cm_close(session);
    return fine ? 0 : 1;
}
