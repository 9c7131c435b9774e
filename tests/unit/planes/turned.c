/* SPDX-License-Identifier: MIT */
/* Parts refitted in steps, by hand: plane 0 moves row 0 and plane 1 row 1 by one per unit of mass. The part at plane 0,
 * which takes no correction, carries 1.5; row 0 reads 3 as found and 3 - 2 · 1.5 = 0 with the part turned by half. */
#include "suite.h"
#include "countermass/planes.h"
#include "linalg/dense.h"

#include <string.h>

#undef I

enum { ROWS = 2, PLANES = 2, RUNS = 4 };

typedef struct cm_bench {
    cm_complex masses[RUNS * PLANES], readings[ROWS * RUNS], base[PLANES];
    int block[ROWS], pool[ROWS], repeats[ROWS * RUNS], positions[PLANES], turned[RUNS * PLANES],
        kept[ROWS * RUNS];
    double repeatability[ROWS], floors[ROWS], weight[ROWS], limit[ROWS];
    unsigned char held[PLANES];
    cm_runs runs;
    cm_problem problem;
    cm_job job;
} cm_bench;

static void set_up(cm_bench *b)
{
    static const double readings[ROWS * RUNS] = {3, 5, 4, 5, 3, 6, 0, 5};
    memset(b, 0, sizeof *b);
    for (int n = 0; n < ROWS * RUNS; n++) {
        b->readings[n] = readings[n];
        b->repeats[n] = n < ROWS * (RUNS - 1);
        b->kept[n] = !b->repeats[n];
    }
    b->masses[1] = 1;
    b->masses[2 + RUNS] = 1;
    b->turned[3] = 2;
    b->positions[0] = 4;
    b->held[0] = 1;
    for (int i = 0; i < ROWS; i++) {
        b->weight[i] = b->repeatability[i] = b->floors[i] = 1;
        b->limit[i] = INFINITY;
    }
    b->runs = (cm_runs){.size = sizeof b->runs,
                        .rows = ROWS,
                        .planes = PLANES,
                        .runs = RUNS,
                        .block = b->block,
                        .pool = b->pool,
                        .masses = b->masses,
                        .readings = b->readings,
                        .repeats = b->repeats,
                        .repeatability = b->repeatability,
                        .assumed_floor = b->floors,
                        .base = b->base,
                        .mass_zero = 1e-9,
                        .positions = b->positions,
                        .turned = b->turned,
                        .turned_repeats = b->kept};
}

static const cm_plane_comparison *compare(cm_session *session, cm_bench *b)
{
    cm_plane_question question = {.size = sizeof question};
    b->job = (cm_job){.size = sizeof b->job, .runs = &b->runs, .problem = &b->problem};
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, &b->runs, &b->job.influence), CM_OK);
    b->problem = (cm_problem){.size = sizeof b->problem,
                              .objective = CM_LEAST_SQUARES,
                              .rows = ROWS,
                              .planes = PLANES,
                              .blocks = 1,
                              .block = b->block,
                              .y = b->job.influence->y,
                              .a = b->job.influence->a,
                              .weight = b->weight,
                              .limit = b->limit,
                              .base = b->base,
                              .now = b->base,
                              .held = b->held,
                              .held_value = b->base,
                              .mass_unit = 1,
                              .mass_zero = 1e-9};
    CU_ASSERT_EQUAL_FATAL(cm_compare_planes(session, &b->job, &question), CM_OK);
    return b->job.comparison;
}

static void test_by_hand(void)
{
    static const int order[] = {2, 1, 3, 0};
    static const double value[] = {0, 2.1213203435596424, 2.1213203435596424,
                                   3}; /* |3 + 1.5 (exp(if) - 1)| */
    cm_bench b;
    cm_session *session = cm_open(NULL);
    set_up(&b);
    const cm_plane_comparison *found = compare(session, &b);
    CU_ASSERT_EQUAL_FATAL(found->part_count, 1);
    CU_ASSERT_FATAL(found->parts[0].told);
    ASSERT_NEAR(creal(*found->parts[0].unbalance), 1.5, 1e-14);
    ASSERT_NEAR(cimag(*found->parts[0].unbalance), 0, 1e-14);
    CU_ASSERT_EQUAL(found->turned_readings, 2);
    CU_ASSERT_EQUAL_FATAL(found->position_count, 4);
    for (int n = 0; n < 4; n++) {
        CU_ASSERT_EQUAL(found->positions[n].steps[0], order[n]);
        ASSERT_NEAR(found->positions[n].answer.value, value[n], 1e-13);
    }
    cm_close(session);
}

/* With the plane itself in use all values are 0; turned by half no mass is needed at plane 0. */
static void test_mass_decides(void)
{
    cm_bench b;
    cm_session *session = cm_open(NULL);
    set_up(&b);
    b.held[0] = 0;
    const cm_plane_comparison *found = compare(session, &b);
    CU_ASSERT_EQUAL_FATAL(found->position_count, 4);
    CU_ASSERT_EQUAL(found->positions[0].steps[0], 2);
    ASSERT_NEAR(found->positions[0].answer.total_mass, 5, 1e-13);
    ASSERT_NEAR(found->positions[3].answer.total_mass, 8, 1e-13);
    cm_close(session);
}

static void test_not_told(void)
{
    cm_bench b;
    cm_session *session = cm_open(NULL);
    set_up(&b);
    b.turned[3] = 0;
    const cm_plane_comparison *found = compare(session, &b);
    CU_ASSERT_EQUAL_FATAL(found->part_count, 1);
    CU_ASSERT(!found->parts[0].told && found->parts[0].why_not);
    CU_ASSERT_EQUAL(found->position_count, 0);
    set_up(&b);
    b.positions[0] = 0;
    CU_ASSERT_EQUAL(compare(session, &b)->part_count, 0);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"unbalance and order of positions by hand", test_by_hand},
        {"equal values: the least mass stands first", test_mass_decides},
        {"a part that no run turned, and none at all", test_not_told},
        {NULL, NULL},
    };
    return run_suite("planes/turned", tests);
}
