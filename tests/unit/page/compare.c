/* SPDX-License-Identifier: MIT */
/* Expected against found: tolerances, angles modulo 360, phasors, ids, and what must fail. */
#include "fabricated.h"

#include "page/page.h"

#include <string.h>

static fabricated made;
static cm_session *session;
static int checks, failed;

typedef struct reading_of_yaml {
    const char *yaml;
    const cm_node *tree;
} reading_of_yaml;

static cm_status read_yaml(reading_of_yaml *r)
{
    CM_ENTER(session);
    r->tree = cm_yaml_read(session, "made.yaml", r->yaml, strlen(r->yaml));
    return cm_leave(session);
}

/* Verifies the job made by hand against `yaml`; leaves the numbers of checks and of failed ones. */
static int verify(const char *yaml)
{
    reading_of_yaml r = {.yaml = yaml};
    cm_page *page;
    int pass;
    CU_ASSERT_EQUAL_FATAL(read_yaml(&r), CM_OK);
    made.given.expected = r.tree;
    CU_ASSERT_EQUAL_FATAL(cm_page_verify(session, &made.job, &page, &pass), CM_OK);
    const cm_node *list = cm_node_get(page->tree, "checks");
    checks = list->count;
    failed = 0;
    for (const cm_node *check = list->first; check; check = check->next)
        failed += !cm_node_get(check, "pass")->truth;
    return pass;
}

static void test_tolerances(void)
{
    fabricate(&made);
    CU_ASSERT(
        verify("corrections: [{plane: P1, mass: 2.009, angle: 90.4, tolerance: {mass: 0.5 %, angle: 0.5}}]"));
    CU_ASSERT_EQUAL(checks, 2);
    CU_ASSERT(
        !verify("corrections: [{plane: P1, mass: 2.02, angle: 90.4, tolerance: {mass: 0.5 %, angle: 0.5}}]"));
    CU_ASSERT_EQUAL(failed, 1);
    CU_ASSERT(!verify(
        "corrections: [{plane: P1, mass: 2.009, angle: 90.6, tolerance: {mass: 0.5 %, angle: 0.5}}]"));
    CU_ASSERT(verify("corrections: [{plane: P1, mass: 2.09, angle: 90.09, tolerance: 0.1}]"));
    /* relative: 1 % is 0.573 degrees */
    CU_ASSERT(verify("corrections: [{plane: P1, mass: 2.019, angle: 90.56, tolerance: 1 %}]"));
    CU_ASSERT(!verify("corrections: [{plane: P1, mass: 2.019, angle: 90.58, tolerance: 1 %}]"));
    /* none stated: 1e-6 relative */
    CU_ASSERT(verify("corrections: [{plane: P1, mass: 2.000001, angle: 90.00005}]"));
    CU_ASSERT(!verify("corrections: [{plane: P1, mass: 2.00001}]"));
    /* one for all */
    CU_ASSERT(verify("{corrections: [{plane: P1, mass: 2.01}], tolerance: 1 %}"));
}

static void test_angles_wrap(void)
{
    fabricate(&made);
    made.x[0] = turned(2 * OUNCE, -359.9);
    CU_ASSERT(verify("corrections: [{plane: P1, angle: 0.1, tolerance: {angle: 0.21}}]"));
    CU_ASSERT(!verify("corrections: [{plane: P1, angle: 0.1, tolerance: {angle: 0.19}}]"));
}

static void test_zero_has_no_angle(void)
{
    fabricate(&made);
    CU_ASSERT(verify("corrections: [{plane: P2, mass: 0, angle: 123}]"));
    CU_ASSERT_EQUAL(checks, 1);
    CU_ASSERT(!verify("corrections: [{plane: P1, mass: 0, angle: 90}]"));
}

static void test_units_and_phasors(void)
{
    fabricate(&made);
    CU_ASSERT(verify("corrections: [{plane: P1, mass: 56.7 g, tolerance: {mass: 0.01 g}}]"));
    CU_ASSERT(verify("influence: [{plane: P1, speed: service, sensor: FE-x, value: 1 @ 10}]"));
    CU_ASSERT_EQUAL(checks, 2);
    CU_ASSERT(verify("influence: [{plane: P1, speed: service, sensor: FE-x, value: {amplitude: 1}}]"));
    CU_ASSERT(!verify("influence: [{plane: P1, speed: service, sensor: FE-x, value: 1 @ 11}]"));
    CU_ASSERT(verify("predicted: [{speed: slow, sensor: DE-x, before: {amplitude: 1, phase: 390}}]"));
    CU_ASSERT(verify("predicted: [{speed: slow, sensor: DE-x, before: 0.0393700787 mil pp @ 30}]"));
}

static void test_other_results(void)
{
    fabricate(&made);
    CU_ASSERT(verify("{status: optimal, objective: {value: 3}, condition: {overall: 3, by_speed: [{speed: "
                     "slow, value: 2}]}}"));
    CU_ASSERT_EQUAL(checks, 4);
    CU_ASSERT(verify("corrections: [{plane: P1, at_cap: true}]"));
    CU_ASSERT(!verify("corrections: [{plane: P1, at_cap: false}]"));
    CU_ASSERT(!verify("status: infeasible"));
}

static void test_nothing_found_fails(void)
{
    fabricate(&made);
    CU_ASSERT(!verify("corrections: [{plane: P9, mass: 2}]"));
    CU_ASSERT(!verify("condition: {by_speed: [{speed: service, value: 2}]}")); /* infinite: null */
    CU_ASSERT(!verify("permissible: {value: 3}"));
    CU_ASSERT(!verify("source: a book"));
    CU_ASSERT_EQUAL(checks, 0);
    made.given.expected = NULL;
    cm_page *page;
    int pass = 1;
    CU_ASSERT_EQUAL(cm_page_verify(session, &made.job, &page, &pass), CM_OK);
    CU_ASSERT(!pass);
}

int main(void)
{
    static const cm_test tests[] = {
        {"tolerances", test_tolerances},
        {"angles compare modulo 360", test_angles_wrap},
        {"zero has no angle", test_zero_has_no_angle},
        {"units and phasors", test_units_and_phasors},
        {"objective, condition, status", test_other_results},
        {"what is not found fails", test_nothing_found_fails},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("page/compare", tests);
    cm_close(session);
    return status;
}
