/* SPDX-License-Identifier: MIT */
/* Distributions of complex errors against closed forms, scipy and simulation. */
#include "suite.h"
#include "linalg/statistics.h"

static void test_radius(void)
{
    ASSERT_NEAR(cm_radius_factor(0.1, INFINITY), sqrt(log(10)), 1e-14);
    ASSERT_NEAR(cm_radius_factor(0.1, 1), 3, 1e-14);
    for (int k = 1; k < 40; k++)
        ASSERT_NEAR(cm_tail(cm_radius_factor(0.02 * k, k), k), 0.02 * k, 1e-13);
    ASSERT_NEAR(cm_radius_factor(0.1, 1e9), cm_radius_factor(0.1, INFINITY), 1e-8);
}

/* Computed with scipy 1.10: ncx2.cdf(2 L²/s², 2, 2 r²/s²). */
static void test_rice(void)
{
    static const double cases[][4] = {
        {1, 1, 1, 0.3457458387231645},        {0.5, 0.2, 1, 0.9997058017011258},
        {2, 0.3, 1.5, 0.007798576925690616},  {3, 1, 0.1, 1.283946654027814e-06},
        {0, 0.7, 1, 1 - 0.12992260830505947},
    };
    for (int k = 0; k < 5; k++)
        ASSERT_NEAR(cm_within(cases[k][0], cases[k][1], cases[k][2], INFINITY), cases[k][3], 1e-11);
    CU_ASSERT_EQUAL(cm_within(1, 0, 2, 3), 1);
    CU_ASSERT_EQUAL(cm_within(2, 0, 1, 3), 0);
    ASSERT_NEAR(cm_within(1e-9, 1, 2, 4), cm_within(0, 1, 2, 4), 1e-8);
}

static void test_estimated_scatter(void)
{
    cm_random random = cm_seed(7);
    const double dof = 2, r = 1, s = 0.6, limit = 1.4;
    enum { SAMPLES = 400000 };
    int within = 0;
    for (int k = 0; k < SAMPLES; k++) {
        double complex e = s / sqrt(cm_mean_square(&random, dof)) * cm_normal(&random);
        within += cabs(r + e) <= limit;
    }
    double expected = cm_within(r, s, limit, dof);
    CU_ASSERT(fabs(within / (double)SAMPLES - expected) < 4 * sqrt(expected * (1 - expected) / SAMPLES));
}

static void test_random(void)
{
    cm_random random = cm_seed(1);
    cm_random again = cm_seed(1);
    double complex mean = 0;
    double square = 0, gamma = 0, gamma_half = 0;
    enum { SAMPLES = 200000 };
    CU_ASSERT_EQUAL(cm_uniform(&random), cm_uniform(&again));
    for (int k = 0; k < SAMPLES; k++) {
        double complex e = cm_normal(&random);
        mean += e;
        square += creal(e) * creal(e);
        gamma += cm_mean_square(&random, 3);
        gamma_half += cm_mean_square(&random, 0.5);
    }
    CU_ASSERT(cabs(mean) / SAMPLES < 0.01);
    CU_ASSERT(fabs(square / SAMPLES - 0.5) < 0.01);
    CU_ASSERT(fabs(gamma / SAMPLES - 1) < 0.01);
    CU_ASSERT(fabs(gamma_half / SAMPLES - 1) < 0.02);
}

int main(void)
{
    static const cm_test tests[] = {
        {"radius that holds 90 %", test_radius},
        {"Rice's distribution", test_rice},
        {"estimated scatter against simulation", test_estimated_scatter},
        {"random numbers", test_random},
        {NULL, NULL},
    };
    return run_suite("linalg/statistics", tests);
}
