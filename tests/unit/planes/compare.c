/* SPDX-License-Identifier: MIT */
/* Comparing sets through the public face, on arrays: order, ties in the order, what repeats what, bad questions. */
#include "suite.h"
#include "countermass/planes.h"
#include "linalg/dense.h"

#include <string.h>

#undef I

enum { ROWS = 3, PLANES = 3 };

typedef struct cm_bench {
    cm_complex y[ROWS], a[ROWS * PLANES], base[PLANES], held_value[PLANES];
    unsigned char held[PLANES];
    double weight[ROWS], limit[ROWS];
    int block[ROWS];
    cm_problem problem;
    cm_job job;
} cm_bench;

/* Plane 0 moves row 0, plane 1 row 1, plane 2 does twice what plane 0 does. Readings 3, 4, 12. */
static void set_up(cm_bench *b)
{
    memset(b, 0, sizeof *b);
    b->y[0] = 3;
    b->y[1] = 4;
    b->y[2] = 12;
    b->a[0] = 1;
    b->a[1 + ROWS] = 1;
    b->a[0 + 2 * ROWS] = 2;
    for (int i = 0; i < ROWS; i++) {
        b->weight[i] = 1;
        b->limit[i] = INFINITY;
    }
    b->problem = (cm_problem){.size = sizeof b->problem,
                              .objective = CM_LEAST_SQUARES,
                              .rows = ROWS,
                              .planes = PLANES,
                              .blocks = 1,
                              .block = b->block,
                              .y = b->y,
                              .a = b->a,
                              .weight = b->weight,
                              .limit = b->limit,
                              .base = b->base,
                              .now = b->base,
                              .held = b->held,
                              .held_value = b->held_value,
                              .mass_unit = 1,
                              .mass_zero = 1e-9};
    b->job = (cm_job){.size = sizeof b->job, .problem = &b->problem};
}

static int in_set(const cm_plane_set *set)
{
    return set->in[0] | set->in[1] << 1 | set->in[2] << 2;
}

/* Values by hand: without plane 1 root(12² + 4²), without the others root(12² + 3²), with both 12. */
static void test_order(void)
{
    static const int order[] = {3, 6, 7, 2, 1, 4, 5};
    static const double value[] = {
        12, 12, 12, 12.36931687685298, 12.64911064067352, 12.64911064067352, 12.64911064067352};
    /* 0 and 2 together on row 0 with least norm: x = (3/5, 6/5), 1.8 in all */
    static const double mass[] = {7, 5.5, 5.8, 4, 3, 1.5, 1.8};
    cm_bench b;
    set_up(&b);
    cm_session *session = cm_open(NULL);
    cm_plane_question question = {.size = sizeof question};
    CU_ASSERT_EQUAL_FATAL(cm_compare_planes(session, &b.job, &question), CM_OK);
    const cm_plane_comparison *found = b.job.comparison;
    CU_ASSERT_EQUAL_FATAL(found->listed, 7);
    for (int k = 0; k < 7; k++) {
        CU_ASSERT_EQUAL(in_set(&found->sets[k]), order[k]);
        ASSERT_NEAR(found->sets[k].value, value[k], 1e-14);
        CU_ASSERT(found->sets[k].proven);
        CU_ASSERT_EQUAL(found->sets[k].starts, -1);
        ASSERT_NEAR(found->sets[k].total_mass, mass[k], 1e-13);
    }
    static const int pareto[] = {0, 1, 0, 1, 0, 1, 0};
    for (int k = 0; k < 7; k++)
        CU_ASSERT_EQUAL(found->sets[k].pareto, pareto[k]);
    cm_close(session);
}

static void test_redundancy(void)
{
    cm_bench b;
    set_up(&b);
    cm_session *session = cm_open(NULL);
    cm_plane_question question = {.size = sizeof question, .at_most = 1};
    CU_ASSERT_EQUAL_FATAL(cm_compare_planes(session, &b.job, &question), CM_OK);
    const cm_plane_comparison *found = b.job.comparison;
    CU_ASSERT_EQUAL(found->listed, 3);
    CU_ASSERT_EQUAL_FATAL(found->share_count, 3);
    ASSERT_NEAR(found->shares[0].own, 0, 1e-14);
    ASSERT_NEAR(found->shares[1].own, 1, 1e-14);
    CU_ASSERT_PTR_NOT_NULL_FATAL(found->shares[0].like);
    CU_ASSERT_PTR_NULL(found->shares[1].like);
    CU_ASSERT(found->shares[0].like[2] && !found->shares[0].like[1] && !found->shares[0].like[0]);
    ASSERT_NEAR(found->value_all, 12, 1e-14);
    cm_close(session);
}

static cm_status ask(cm_bench *b, cm_plane_question question)
{
    cm_session *session = cm_open(NULL);
    question.size = sizeof question;
    cm_status status = cm_compare_planes(session, &b->job, &question);
    CU_ASSERT(status == CM_OK || cm_message_count(session) > 0);
    cm_close(session);
    return status;
}

static void test_bad_questions(void)
{
    const unsigned char first[] = {1, 0, 0}, two[] = {1, 1, 0}, all[] = {1, 1, 1};
    cm_bench b;
    set_up(&b);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.at_most = 4}), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.at_most = -1}), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.must = first, .never = first}), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.must = two, .at_most = 1}), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.never = all}), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.must = two, .at_most = 2}), CM_OK);
    b.held[0] = 1;
    CU_ASSERT_EQUAL(ask(&b, (cm_plane_question){.must = first}), CM_BAD_INPUT);
}

static int at_once(void *context)
{
    (void)context;
    return 1;
}

static void test_stop(void)
{
    const cm_host host = {.size = sizeof host, .stop = at_once};
    cm_bench b;
    set_up(&b);
    cm_session *session = cm_open(&host);
    cm_plane_question question = {.size = sizeof question};
    CU_ASSERT_EQUAL_FATAL(cm_compare_planes(session, &b.job, &question), CM_OK);
    CU_ASSERT(b.job.comparison->stopped);
    CU_ASSERT_EQUAL(b.job.comparison->listed, 0);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"order, equal values, least norm and pareto by hand", test_order},
        {"a plane that another one repeats", test_redundancy},
        {"bad questions", test_bad_questions},
        {"a stop leaves a result", test_stop},
        {NULL, NULL},
    };
    return run_suite("planes/compare", tests);
}
