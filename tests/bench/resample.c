/* SPDX-License-Identifier: MIT */
/* Time of 10,000 perturbed re-solves at 48 × 12; the numpy form of the same is in resample.py. */
#include "fit/resample.h"
#include "linalg/statistics.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { M = 48, N = 12, SAMPLES = 10000, TIMES = 9 };

static double complex b[M * N], c[M], u[N * SAMPLES];

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static cm_status run(cm_session *session, double *milliseconds)
{
    CM_ENTER(session);
    double b_std[N];
    for (int j = 0; j < N; j++)
        b_std[j] = 0.05;
    double start = now();
    cm_resample(session, M, N, b, c, b_std, 0.05, SAMPLES, 1, u);
    *milliseconds = now() - start;
    return cm_leave(session);
}

static int by_size(const void *a, const void *d)
{
    double x = *(const double *)a, y = *(const double *)d;
    return (x > y) - (x < y);
}

int main(void)
{
    cm_random random = cm_seed(3);
    double times[TIMES];
    for (int k = 0; k < M * N; k++)
        b[k] = cm_normal(&random);
    for (int k = 0; k < M; k++)
        c[k] = cm_normal(&random);
    for (int k = 0; k < TIMES; k++) {
        cm_session *session = cm_open(NULL);
        if (run(session, &times[k]) != CM_OK)
            return 1;
        cm_close(session);
    }
    qsort(times, TIMES, sizeof *times, by_size);
    printf("%-60s %8.3f ms\n", "10,000 perturbed re-solves at 48 x 12", times[TIMES / 2]);
    return 0;
}
