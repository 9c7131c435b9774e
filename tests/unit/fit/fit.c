/* SPDX-License-Identifier: MIT */
/* The fit itself: values by hand, the order of scatter, priors, and bad input. Random cases against numpy are in
 * tests/reference/fit_reference.py. */
#include "suite.h"
#include "countermass.h"

#include <stdlib.h>

static const int ZERO[] = {0, 0, 0};
static const double FLOOR[] = {0.5, 0.5, 0.5};
static const cm_complex NOTHING[] = {0, 0};

static cm_session *session;

static const cm_influence *fit(const cm_runs *runs)
{
    const cm_influence *influence = NULL;
    session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, runs, &influence), CM_OK);
    return influence;
}

static cm_runs one_row(int planes, int count, const cm_complex *masses, const cm_complex *readings,
                       const int *repeats)
{
    return (cm_runs){.size = sizeof(cm_runs),
                     .rows = 1,
                     .planes = planes,
                     .runs = count,
                     .block = ZERO,
                     .pool = ZERO,
                     .masses = masses,
                     .readings = readings,
                     .repeats = repeats,
                     .assumed_floor = FLOOR,
                     .base = NOTHING,
                     .mass_zero = 1e-9};
}

static const int ONCE[] = {1, 1, 1, 1, 1, 1};

/* Trial left on: 10 -> 12 with mass 2 on plane 1 -> 9 with mass 3 on plane 2 as well; base is as found. */
static void test_trial_left_on(void)
{
    const cm_complex masses[] = {0, 2, 2, 0, 0, 3}, readings[] = {10, 12, 9};
    cm_runs runs = one_row(2, 3, masses, readings, ONCE);
    const cm_influence *found = fit(&runs);
    ASSERT_NEAR_COMPLEX(found->a[0], 1, 1e-13);
    ASSERT_NEAR_COMPLEX(found->a[1], -1, 1e-13);
    ASSERT_NEAR_COMPLEX(found->y[0], 10, 1e-13);
    CU_ASSERT(found->determined[0] && found->determined[1] && found->base_runs[0] == 1);
    CU_ASSERT_EQUAL(found->scatter_source[0], CM_SCATTER_ASSUMED);
    ASSERT_NEAR(found->scatter[0], 0.03 * 31.0 / 3 + 0.5, 1e-13);
    ASSERT_NEAR(found->std[0], found->scatter[0] * sqrt(2) / 2, 1e-13);
    CU_ASSERT(!found->std_known[0] && found->dof[0] <= 0);
    cm_close(session);
}

/* As found twice (10, 10.2) and two equal trials (12, 12.4): two degrees of freedom, residuals ±0.1 and ±0.2. */
static void test_scatter_of_the_fit(void)
{
    const cm_complex masses[] = {0, 1, 0, 1}, readings[] = {10, 12, 10.2, 12.4};
    cm_runs runs = one_row(1, 4, masses, readings, ONCE);
    const cm_influence *found = fit(&runs);
    CU_ASSERT_EQUAL(found->scatter_source[0], CM_SCATTER_FIT);
    ASSERT_NEAR(found->dof[0], 2, 0);
    ASSERT_NEAR(found->scatter[0], sqrt(0.1 / 2), 1e-12);
    ASSERT_NEAR_COMPLEX(found->a[0], 2.1, 1e-13);
    ASSERT_NEAR(found->std[0], found->scatter[0], 1e-12);
    ASSERT_NEAR_COMPLEX(found->y[0], 10.1, 1e-13);
    CU_ASSERT(found->std_known[0]);
    cm_close(session);
}

/* The same, declared; then nothing but repeats inside runs: sum of squares 0.08 over 2 degrees of freedom. */
static void test_order_of_scatter(void)
{
    const cm_complex masses[] = {0, 1, 0, 1}, readings[] = {10, 12, 10.2, 12.4};
    const double declared[] = {0.7}, spread[] = {0.05, 0.03};
    const int twice[] = {2, 2};
    cm_runs runs = one_row(1, 4, masses, readings, ONCE);
    runs.repeatability = declared;
    const cm_influence *found = fit(&runs);
    CU_ASSERT_EQUAL(found->scatter_source[0], CM_SCATTER_DECLARED);
    ASSERT_NEAR(found->scatter[0], 0.7, 0);
    CU_ASSERT(isinf(found->dof[0]));
    cm_close(session);
    runs = one_row(1, 2, masses, readings, twice);
    runs.repeat_spread = spread;
    found = fit(&runs);
    CU_ASSERT_EQUAL(found->scatter_source[0], CM_SCATTER_REPEATS);
    ASSERT_NEAR(found->scatter[0], 0.2, 1e-13);
    ASSERT_NEAR(found->std[0], 0.2 * sqrt(2), 1e-13);
    cm_close(session);
}

/* Exact data leave rounding errors as residuals: the scatter stays small and positive. */
static void test_exact_data(void)
{
    const cm_complex masses[] = {0, 1, 0, 1}, readings[] = {10, 12, 10, 12};
    cm_runs runs = one_row(1, 4, masses, readings, ONCE);
    const cm_influence *found = fit(&runs);
    CU_ASSERT(found->scatter[0] > 0 && found->scatter[0] < 1e-7);
    ASSERT_NEAR_COMPLEX(found->a[0], 2, 1e-13);
    cm_close(session);
}

/* One plane exact (leaves the fit), one with a prior, tried once: precisions add up. */
static void test_known(void)
{
    const cm_complex masses[] = {0, 0, 5, 0, 1, 0}, readings[] = {10, 13, 20};
    const double declared[] = {0.5};
    const cm_known known[] = {{.row = 0, .plane = 0, .value = 2},
                              {.row = 0, .plane = 1, .value = 2, .uncertainty = 1}};
    cm_runs runs = one_row(2, 3, masses, readings, ONCE);
    runs.repeatability = declared;
    runs.known_count = 2;
    runs.known = known;
    const cm_influence *found = fit(&runs);
    ASSERT_NEAR_COMPLEX(found->a[0], 2, 0);
    ASSERT_NEAR(found->std[0], 0, 0);
    double variance = 0.25 + 0.125; /* trial minus the mean of two as-found readings */
    ASSERT_NEAR_COMPLEX(found->a[1], (3 / variance + 2) / (1 / variance + 1), 1e-13);
    ASSERT_NEAR(found->std[1], sqrt(1 / (1 / variance + 1)), 1e-13);
    CU_ASSERT_EQUAL(found->null_count[0], 0);
    cm_close(session);
}

/* A prior without a trial is what it was; a plane with neither is open. */
static void test_not_tried(void)
{
    const cm_complex masses[] = {0, 0}, readings[] = {10};
    const cm_known known[] = {{.row = 0, .plane = 0, .value = 2, .uncertainty = 0.25}};
    cm_runs runs = one_row(2, 1, masses, readings, ONCE);
    runs.known_count = 1;
    runs.known = known;
    const cm_influence *found = fit(&runs);
    ASSERT_NEAR_COMPLEX(found->a[0], 2, 1e-15);
    ASSERT_NEAR(found->std[0], 0.25, 1e-15);
    CU_ASSERT(found->determined[0] && !found->determined[1]);
    CU_ASSERT(cabs(found->a[1]) <= 0 && isnan(found->std[1]) && !found->std_known[1]);
    CU_ASSERT_EQUAL(found->null_count[0], 1);
    cm_close(session);
}

/* Two rows share the whole error of their prior (common = 1): a trial read by one tells the other. Both priors are 2 ± 1,
 * the true value is 3: seen with negligible scatter in row 0, row 1 follows by the same relative error. */
static void test_wholly_common(void)
{
    const cm_complex masses[] = {0, 1}, readings[] = {10, 20, 13, 0};
    const int repeats[] = {1, 1, 1, 0};
    const double declared[] = {1e-6, 1e-6};
    const cm_known known[] = {{.row = 0, .plane = 0, .value = 2, .uncertainty = 1, .common = 1},
                              {.row = 1, .plane = 0, .value = -4, .uncertainty = 2, .common = 1}};
    cm_runs runs = one_row(1, 2, masses, readings, repeats);
    runs.rows = 2;
    runs.repeatability = declared;
    runs.known_count = 2;
    runs.known = known;
    const cm_influence *found = fit(&runs);
    ASSERT_NEAR_COMPLEX(found->a[0], 3, 1e-9);
    ASSERT_NEAR_COMPLEX(found->a[1], -6, 1e-9);
    CU_ASSERT(found->std[1] < 1e-5 && found->common_count == 1);
    cm_close(session);
}

/* Masses that cancel to a rounding error are no trial; states that differ by one are the same state. */
static void test_nothing_is_nothing(void)
{
    const cm_complex masses[] = {0, 1e-15, 1}, readings[] = {10, 10.4, 12};
    cm_runs runs = one_row(1, 3, masses, readings, ONCE);
    const cm_influence *found = fit(&runs);
    CU_ASSERT_EQUAL(found->base_runs[0], 2);
    ASSERT_NEAR_COMPLEX(found->a[0], 1.8, 1e-12);
    cm_close(session);
}

static void refuse(const cm_runs *runs)
{
    const cm_influence *influence = NULL;
    session = cm_open(NULL);
    CU_ASSERT_EQUAL(cm_fit(session, runs, &influence), CM_BAD_INPUT);
    CU_ASSERT_PTR_NULL(influence);
    CU_ASSERT_EQUAL(cm_message_count(session), 1);
    cm_close(session);
}

static void test_bad_input(void)
{
    const cm_complex masses[] = {0, 1}, readings[] = {10, 12}, broken[] = {10, NAN}, silent[] = {0, 0};
    const double no_floor[] = {0}, no_weight[] = {1, 0};
    const cm_complex no_mass[] = {NAN, 1};
    const int no_pool[] = {-1};
    const cm_known wrong[] = {{.row = 0, .plane = 5, .value = 2},
                              {.row = 0, .plane = 0, .value = 2, .uncertainty = -1},
                              {.row = 0, .plane = 0, .value = 2, .uncertainty = 1, .common = 1.5}};
    const cm_known twice[] = {{.row = 0, .plane = 0, .value = 2}, {.row = 0, .plane = 0, .value = 3}};
    cm_runs runs = one_row(1, 2, masses, broken, ONCE);
    refuse(&runs);
    runs = one_row(1, 0, masses, readings, ONCE);
    refuse(&runs);
    runs = one_row(1, 2, masses, silent, ONCE);
    runs.assumed_floor = no_floor;
    refuse(&runs);
    runs = one_row(1, 2, masses, readings, ONCE);
    runs.known_count = 1;
    for (int k = 0; k < 3; k++) {
        runs.known = &wrong[k];
        refuse(&runs);
    }
    runs.known_count = 2;
    runs.known = twice;
    refuse(&runs);
    runs = one_row(1, 2, no_mass, readings, ONCE);
    refuse(&runs);
    runs = one_row(1, 2, masses, readings, ONCE);
    runs.base = no_mass;
    refuse(&runs);
    runs = one_row(1, 2, masses, readings, ONCE);
    runs.reading_weight = no_weight;
    refuse(&runs);
    runs = one_row(1, 2, masses, readings, ONCE);
    runs.pool = no_pool;
    refuse(&runs);
}

static void *counting(void *context, size_t bytes)
{
    int *left = context;
    return (*left)-- > 0 ? malloc(bytes) : NULL;
}

static void release(void *context, void *memory)
{
    (void)context;
    free(memory);
}

/* Whichever allocation fails, the fit says so and leaks nothing. */
static void test_memory_short(void)
{
    const cm_complex masses[] = {0, 2, 2, 0, 0, 3}, readings[] = {10, 12, 9};
    cm_runs runs = one_row(2, 3, masses, readings, ONCE);
    cm_status status = CM_NO_MEMORY;
    int failures = 0;
    for (int k = 1; status != CM_OK && k < 50; k++) {
        int left = k;
        const cm_influence *influence = NULL;
        cm_host host = {.size = sizeof host, .context = &left, .allocate = counting, .release = release};
        cm_session *hungry = cm_open(&host);
        status = cm_fit(hungry, &runs, &influence);
        CU_ASSERT(status == CM_OK || status == CM_NO_MEMORY);
        failures += status == CM_NO_MEMORY;
        cm_close(hungry);
    }
    CU_ASSERT_EQUAL(status, CM_OK);
    CU_ASSERT(failures > 0);
}

int main(void)
{
    static const cm_test tests[] = {
        {"trial left on", test_trial_left_on},
        {"scatter of the fit", test_scatter_of_the_fit},
        {"order of scatter", test_order_of_scatter},
        {"exact data", test_exact_data},
        {"exact and uncertain knowledge", test_known},
        {"planes not tried", test_not_tried},
        {"a wholly common error", test_wholly_common},
        {"nothing is nothing", test_nothing_is_nothing},
        {"bad input", test_bad_input},
        {"memory runs short", test_memory_short},
        {NULL, NULL},
    };
    return run_suite("fit/fit", tests);
}
