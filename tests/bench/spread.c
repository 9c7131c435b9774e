/* SPDX-License-Identifier: MIT */
/* Time of fit and spread in process: 96 rows × 24 planes from 40 runs, declared scatter; and with estimated scatter and
 * limits, where the joint probability is simulated. Medians of 21. */
#include "countermass.h"
#include "linalg/statistics.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { ROWS = 96, PLANES = 24, RUNS = 40, TIMES = 21 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void print_median(const char *what, double *times)
{
    qsort(times, TIMES, sizeof *times, by_size);
    printf("%-60s %8.3f ms\n", what, times[TIMES / 2]);
}

static cm_complex masses[RUNS * PLANES], readings[ROWS * RUNS], base[PLANES];
static int repeats[ROWS * RUNS], zero[ROWS];
static double repeatability[ROWS], floor_of[ROWS], weight[ROWS], limit[ROWS];
static unsigned char held[PLANES];

static void make(void)
{
    cm_random random = cm_seed(1);
    static cm_complex a[ROWS * PLANES];
    for (int k = 0; k < ROWS * PLANES; k++)
        a[k] = cm_normal(&random);
    for (int k = 1; k < RUNS; k++)
        masses[k + (k - 1) % PLANES * RUNS] = cm_normal(&random);
    for (int k = 0; k < RUNS * ROWS; k++) {
        repeats[k] = 1;
        readings[k] = 0.01 * cm_normal(&random);
        for (int j = 0; j < PLANES; j++)
            readings[k] += a[k % ROWS + j * ROWS] * (masses[k / ROWS + j * RUNS] + 0.3);
    }
    for (int i = 0; i < ROWS; i++) {
        floor_of[i] = 1;
        weight[i] = 1;
        limit[i] = 0.05;
    }
}

static void measure(const char *fit_title, const char *spread_title)
{
    cm_runs runs = {.size = sizeof runs,
                    .rows = ROWS,
                    .planes = PLANES,
                    .runs = RUNS,
                    .block = zero,
                    .pool = zero,
                    .masses = masses,
                    .readings = readings,
                    .repeats = repeats,
                    .repeatability = repeatability,
                    .assumed_floor = floor_of,
                    .base = base,
                    .mass_zero = 1e-9};
    double fit[TIMES], spread[TIMES];
    for (int k = 0; k < TIMES; k++) {
        cm_session *session = cm_open(NULL);
        cm_job job = {.size = sizeof job, .runs = &runs};
        double start = now();
        if (cm_fit(session, &runs, &job.influence) != CM_OK)
            exit(1);
        fit[k] = now() - start;
        cm_problem problem = {.size = sizeof problem,
                              .objective = CM_LEAST_SQUARES,
                              .rows = ROWS,
                              .planes = PLANES,
                              .blocks = 1,
                              .block = zero,
                              .y = job.influence->y,
                              .a = job.influence->a,
                              .weight = weight,
                              .limit = limit,
                              .base = base,
                              .now = base,
                              .held = held,
                              .held_value = base,
                              .mass_unit = 1,
                              .mass_zero = 1e-9};
        job.problem = &problem;
        if (cm_solve(session, &problem, &job.answer) != CM_OK)
            exit(1);
        start = now();
        if (cm_spread_of(session, &job) != CM_OK)
            exit(1);
        spread[k] = now() - start;
        cm_close(session);
    }
    print_median(fit_title, fit);
    print_median(spread_title, spread);
}

int main(void)
{
    make();
    for (int i = 0; i < ROWS; i++)
        repeatability[i] = 0.01;
    measure("fit 96 x 24 from 40 runs", "spread 96 x 24 from 40 runs");
    for (int i = 0; i < ROWS; i++)
        repeatability[i] = 0;
    measure("fit, scatter estimated", "spread, scatter estimated, joint probability simulated");
    return 0;
}
