/* SPDX-License-Identifier: MIT */
/* Plain least squares: exact plane geometry, ties, held planes, dependent planes. */
#include "suite.h"
#include "countermass/solve.h"

#include <string.h>

/* One plane seen equally by three sensors: the centroid of 0, 8, 6i is the answer. CONSTRUCTED. */
static const double complex TRIANGLE[3] = {0, 8, 6 * _Complex_I};
static const double complex ONES[3] = {1, 1, 1};
static const double WEIGHTS[4] = {1, 1, 1, 1};
static const double NO_LIMITS[4] = {INFINITY, INFINITY, INFINITY, INFINITY};
static const double complex ZEROS[4] = {0};
static const int BLOCKS[4] = {0};

static cm_problem three_sensors(void)
{
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = CM_LEAST_SQUARES,
                        .rows = 3,
                        .planes = 1,
                        .blocks = 1,
                        .block = BLOCKS,
                        .y = TRIANGLE,
                        .a = ONES,
                        .weight = WEIGHTS,
                        .limit = NO_LIMITS,
                        .base = ZEROS,
                        .now = ZEROS,
                        .mass_unit = 1,
                        .mass_zero = 1e-9};
}

static void test_centroid(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = three_sensors();
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    CU_ASSERT_EQUAL(answer->outcome, CM_OPTIMAL);
    ASSERT_NEAR_COMPLEX(answer->x[0], -8.0 / 3 - 2 * _Complex_I, 1e-14);
    ASSERT_NEAR(cabs(answer->r[0]), 3.333333333, 1e-9);
    ASSERT_NEAR(cabs(answer->r[1]), 5.696002, 1e-6);
    ASSERT_NEAR(cabs(answer->r[2]), 4.807402, 1e-6);
    CU_ASSERT(answer->gap < 1e-14 && answer->bound > 0);
    CU_ASSERT_EQUAL(answer->rank, 1);
    cm_close(session);
}

static const double complex TWO_PLANES[8] = {1, 0, 0, 0, 0, 2, 0, 0};
static const double complex FOUR[4] = {3, 4 * _Complex_I, 1, 0};

static cm_problem two_planes(void)
{
    cm_problem p = three_sensors();
    p.rows = 4;
    p.planes = 2;
    p.y = FOUR;
    p.a = TWO_PLANES;
    return p;
}

/* x_1 + x_2 = 0: min |3 + x|² + |4i - 2x|² + 1 gives x = (-3 + 8i)/5. CONSTRUCTED. */
static void test_tie(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = two_planes();
    const double complex zero = 0;
    p.tie_count = 1;
    p.ties = ONES;
    p.tie_value = &zero;
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    ASSERT_NEAR_COMPLEX(answer->x[0], (-3 + 8 * _Complex_I) / 5.0, 1e-13);
    ASSERT_NEAR_COMPLEX(answer->x[1], -(-3 + 8 * _Complex_I) / 5.0, 1e-13);
    CU_ASSERT(answer->gap < 1e-13);
    CU_ASSERT_EQUAL(answer->unknowns, 1);
    cm_close(session);
}

static void test_held_plane_is_exact(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = two_planes();
    const unsigned char held[2] = {0, 1};
    const double complex value[2] = {0, 0.1 + 0.7 * _Complex_I};
    const double complex base[2] = {0.3, 0.2};
    p.held = held;
    p.held_value = value;
    p.base = base;
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    CU_ASSERT(answer->x[1] == value[1]);
    ASSERT_NEAR_COMPLEX(answer->x[0], -2.7, 1e-14);
    ASSERT_NEAR_COMPLEX(answer->r[1], 4 * _Complex_I + 2 * (value[1] - 0.2), 1e-14);
    CU_ASSERT(answer->gap < 1e-13);
    cm_close(session);
}

static void test_contradiction_names_the_tie(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = two_planes();
    const double complex ties[4] = {1, 2, 1, 2};
    const double complex value[2] = {1, 3};
    p.tie_count = 2;
    p.ties = ties;
    p.tie_value = value;
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL(cm_solve(session, &p, &answer), CM_BAD_INPUT);
    CU_ASSERT_PTR_NOT_NULL_FATAL(cm_message_at(session, 0));
    CU_ASSERT_PTR_NOT_NULL(strstr(cm_message_at(session, 0)->text, "tie "));
    cm_close(session);
}

/* Two planes with the same influence: the least |z| shares the work equally. */
static void test_dependent_planes_share(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = three_sensors();
    const double complex twins[6] = {1, 1, 1, 1, 1, 1};
    p.planes = 2;
    p.a = twins;
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    ASSERT_NEAR_COMPLEX(answer->x[0], -4.0 / 3 - 1 * _Complex_I, 1e-13);
    ASSERT_NEAR_COMPLEX(answer->x[1], answer->x[0], 1e-13);
    CU_ASSERT_EQUAL(answer->rank, 1);
    CU_ASSERT(answer->dependent[0] && answer->dependent[1]);
    CU_ASSERT(answer->gap < 1e-13);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"the centroid of three readings", test_centroid},
        {"two planes tied", test_tie},
        {"a held plane keeps its bits", test_held_plane_is_exact},
        {"contradicting ties are named", test_contradiction_names_the_tie},
        {"dependent planes share the work", test_dependent_planes_share},
        {NULL, NULL},
    };
    return run_suite("optimise/least_squares", tests);
}
