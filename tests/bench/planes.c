/* SPDX-License-Identifier: MIT */
/* All sets of M planes at 48 rows: the time of the deletion tree, for every set and for the best 20 of each size. */
#include "linalg/dense.h"
#include "planes/tree.h"

#include <stdio.h>
#include <time.h>

#undef I

enum { ROWS = 48, MOST = 28 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double next_number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 8388608.0 - 1;
}

static cm_status time_search(cm_session *session, int columns, bool everything, const cm_view *view)
{
    CM_ENTER(session);
    cm_search search = {
        .columns = columns, .views = 1, .view = view, .at_most = columns, .everything = everything};
    double best = 1e9;
    unsigned long long seen = 0;
    for (int repeat = 0; repeat < 3; repeat++) {
        double start = now();
        cm_shortlist list = cm_shortlist_new(session, columns, 20);
        seen = cm_tree_search(session, &search, &list);
        double took = now() - start;
        best = took < best ? took : best;
    }
    printf("planes %2d  %-20s %10llu sets looked at  %9.3f ms\n", columns,
           everything ? "every set" : "best 20 of each size", seen, 1e3 * best);
    return cm_leave(session);
}

int main(void)
{
    static double complex a[ROWS * MOST], y[ROWS];
    unsigned seed = 7;
    for (int i = 0; i < ROWS * MOST; i++) {
        double re = next_number(&seed);
        a[i] = cm_pack(re, next_number(&seed));
    }
    for (int i = 0; i < ROWS; i++) {
        double re = next_number(&seed);
        y[i] = cm_pack(re, next_number(&seed));
    }
    cm_view view = {ROWS, a, y};
    cm_session *session = cm_open(NULL);
    for (int columns = 8; columns <= 20; columns += 4)
        if (time_search(session, columns, true, &view) != CM_OK)
            return 1;
    for (int columns = 12; columns <= MOST; columns += 4)
        if (time_search(session, columns, false, &view) != CM_OK)
            return 1;
    cm_close(session);
    return 0;
}
