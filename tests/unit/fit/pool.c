/* SPDX-License-Identifier: MIT */
/* Pooling of earlier values. Constructed; the numbers of the random-effects examples were computed with numpy from
 * the formulas in pool.c (computed from the source's inputs: none published). */
#include "suite.h"
#include "fit/pool.h"

#include <math.h>

static cm_known value(double re, double uncertainty, double common)
{
    return (cm_known){.value = re, .uncertainty = uncertainty, .common = common, .record = 1};
}

static void test_one_is_itself(void)
{
    cm_known one = value(2, 0.5, 0.3), pooled = cm_pool(&one, 1);
    CU_ASSERT_EQUAL(pooled.uncertainty, 0.5);
    CU_ASSERT_EQUAL(pooled.common, 0.3);
}

/* Equal values: no variance between them, precisions add. */
static void test_agreeing(void)
{
    cm_known two[] = {value(2, 0.3, 1), value(2, 0.4, 1)};
    cm_known pooled = cm_pool(two, 2);
    ASSERT_NEAR(creal(pooled.value), 2, 1e-15);
    ASSERT_NEAR(pooled.uncertainty, 0.24, 1e-14);
    ASSERT_NEAR(pooled.common, 1, 1e-14);
}

/* Values 0, 1, 3 with spread 0.5 each: tau² = s² - v = 7/3 - 1/4; the variance of the mean is added. */
static void test_differing(void)
{
    cm_known three[] = {value(0, 0.5, 0), value(1, 0.5, 0), value(3, 0.5, 0)};
    cm_known pooled = cm_pool(three, 3);
    double between = 7.0 / 3 - 0.25;
    ASSERT_NEAR(creal(pooled.value), 4.0 / 3, 1e-14);
    ASSERT_NEAR(pooled.uncertainty, sqrt(between + (between + 0.25) / 3), 1e-14);
}

/* numpy: y = 1, 2, 4, 4.5; u = 0.2, 0.5, 0.3, 1.0. */
static void test_against_numpy(void)
{
    cm_known four[] = {value(1, 0.2, 0), value(2, 0.5, 0.5), value(4, 0.3, 0.2), value(4.5, 1, 0.7)};
    cm_known pooled = cm_pool(four, 4);
    ASSERT_NEAR(creal(pooled.value), 2.785004276580187, 1e-12);
    ASSERT_NEAR(pooled.uncertainty, 2.0289857544803755, 1e-12);
    ASSERT_NEAR(pooled.common, 0.009704414980994717, 1e-12);
    outside("pooling of coefficients of several records", "formula of random effects by numpy", "computed",
            "mean, uncertainty and common share to 1e-12");
}

static void test_exact(void)
{
    cm_known agreeing[] = {value(2, 0, 0), value(2, 0, 0), value(2.1, 0.5, 0)};
    cm_known pooled = cm_pool(agreeing, 3);
    CU_ASSERT_EQUAL(pooled.uncertainty, 0);
    CU_ASSERT_EQUAL(creal(pooled.value), 2);
    cm_known differing[] = {value(2, 0, 0), value(4, 0, 0)};
    pooled = cm_pool(differing, 2);
    ASSERT_NEAR(creal(pooled.value), 3, 1e-15);
    ASSERT_NEAR(pooled.uncertainty, sqrt(3), 1e-14); /* tau² = 2, of the mean 1 */
}

int main(void)
{
    static const cm_test tests[] = {
        {"one is itself", test_one_is_itself}, {"agreeing", test_agreeing},  {"differing", test_differing},
        {"against numpy", test_against_numpy}, {"exact values", test_exact}, {NULL, NULL}};
    return run_suite("fit/pool", tests);
}
