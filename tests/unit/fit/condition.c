/* SPDX-License-Identifier: MIT */
/* Condition numbers: values worked by hand, and the cases without a value. */
#include "suite.h"
#include "countermass.h"

static const int BLOCK[] = {0, 0, 1, 1};
static const double WEIGHT[] = {1, 1, 1, 1};

static cm_problem problem_of(int rows, int planes, const cm_complex *a)
{
    static const cm_complex nothing[4];
    return (cm_problem){.size = sizeof(cm_problem),
                        .rows = rows,
                        .planes = planes,
                        .blocks = 2,
                        .block = BLOCK,
                        .y = nothing,
                        .a = a,
                        .weight = WEIGHT,
                        .base = nothing,
                        .now = nothing,
                        .held_value = nothing};
}

static double overall(const cm_problem *problem)
{
    cm_session *session = cm_open(NULL);
    const cm_condition *found = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_condition_of(session, problem, &found), CM_OK);
    double value = found->overall;
    cm_close(session);
    return value;
}

/* Unit columns with scalar product c have singular values sqrt(1 ± c); here c = 0.6 and the columns differ 1000-fold. */
static void test_two_columns(void)
{
    const cm_complex a[] = {1, 0, 0, 0, 600, 800, 0, 0};
    cm_problem problem = problem_of(4, 2, a);
    ASSERT_NEAR(overall(&problem), 2.0, 1e-14);
    cm_session *session = cm_open(NULL);
    const cm_condition *found = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_condition_of(session, &problem, &found), CM_OK);
    ASSERT_NEAR(found->by_block[0], 2.0, 1e-14);
    CU_ASSERT(isinf(found->by_block[1]));
    ASSERT_NEAR(found->column_norm[1], 1000, 1e-14);
    ASSERT_NEAR_COMPLEX(found->weakest[0] / found->weakest[1], -1, 1e-12);
    cm_close(session);
}

static void test_held_plane_leaves(void)
{
    const cm_complex a[] = {1, 0, 0, 0, 600, 800, 0, 0};
    const unsigned char held[] = {0, 1};
    cm_problem problem = problem_of(4, 2, a);
    problem.held = held;
    ASSERT_NEAR(overall(&problem), 1.0, 1e-14);
}

static void test_no_value(void)
{
    const cm_complex zero_column[] = {1, 2, 3, 4, 0, 0, 0, 0};
    const cm_complex good[] = {1, 2, 3, 4, 4, 3, 2, -1};
    const unsigned char told[] = {1, 1, 1, 1, 1, 1, 0, 1};
    const double nothing[] = {0, 0, 0, 0};
    const double without_third[] = {1, 1, 0, 1};
    const unsigned char both_held[] = {1, 1};
    cm_problem problem = problem_of(4, 2, zero_column);
    CU_ASSERT(isinf(overall(&problem)));
    problem = problem_of(1, 2, (const cm_complex[]){1, 2});
    CU_ASSERT(isinf(overall(&problem)));
    problem = problem_of(4, 2, good);
    CU_ASSERT(isfinite(overall(&problem)));
    problem.coefficient_determined = told;
    CU_ASSERT(isinf(overall(&problem)));
    problem.weight = without_third;
    CU_ASSERT(isfinite(overall(&problem)));
    problem.weight = nothing;
    CU_ASSERT(isinf(overall(&problem)));
    problem.weight = WEIGHT;
    problem.held = both_held;
    CU_ASSERT(isinf(overall(&problem)));
}

int main(void)
{
    static const cm_test tests[] = {
        {"two columns with a known angle", test_two_columns},
        {"a held plane leaves the matrix", test_held_plane_leaves},
        {"cases without a value", test_no_value},
        {NULL, NULL},
    };
    return run_suite("fit/condition", tests);
}
