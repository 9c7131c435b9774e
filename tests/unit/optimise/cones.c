/* SPDX-License-Identifier: MIT */
/* Caps, min-max and least mass on exact plane geometry; units and order must not matter. All cases CONSTRUCTED. */
#include "suite.h"
#include "countermass/solve.h"

#include <stdlib.h>

static const int BLOCKS[12] = {0};
static const double complex ZEROS[12] = {0};
static const double ONES_REAL[12] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
static const double complex ONES[12] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
static const double complex TRIANGLE[3] = {0, 8, 6 * _Complex_I};
static const double NO_LIMITS[12] = {INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY,
                                     INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};

/* One plane seen equally by three sensors: least squares is the centroid, min-max the smallest circle. */
static cm_problem circle(cm_objective objective)
{
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = objective,
                        .rows = 3,
                        .planes = 1,
                        .blocks = 1,
                        .block = BLOCKS,
                        .y = TRIANGLE,
                        .a = ONES,
                        .weight = ONES_REAL,
                        .limit = NO_LIMITS,
                        .base = ZEROS,
                        .now = ZEROS,
                        .mass_unit = 1,
                        .mass_zero = 1e-12};
}

static const cm_answer *solved(cm_session *session, const cm_problem *p, cm_outcome outcome)
{
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, p, &answer), CM_OK);
    CU_ASSERT_EQUAL_FATAL(answer->outcome, outcome);
    if (outcome == CM_OPTIMAL) {
        CU_ASSERT(answer->gap >= 0 && answer->gap <= 1e-9);
    }
    return answer;
}

static void test_smallest_circle(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = circle(CM_MIN_MAX);
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    ASSERT_NEAR(a->value, 5, 1e-9);
    ASSERT_NEAR_COMPLEX(a->x[0], -4 - 3 * _Complex_I, 1e-4);
    CU_ASSERT(!a->at_cap[0]);
    cm_close(session);
}

static void test_caps(void)
{
    cm_session *session = cm_open(NULL);
    const cm_disc cap = {0, 0, 2};
    cm_problem p = circle(CM_LEAST_SQUARES);
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    ASSERT_NEAR_COMPLEX(a->x[0], -1.6 - 1.2 * (double complex)_Complex_I, 1e-9);
    CU_ASSERT(a->at_cap[0] && cabs(a->x[0]) <= 2);
    p.objective = CM_MIN_MAX;
    a = solved(session, &p, CM_OPTIMAL);
    ASSERT_NEAR(a->value, 6.030627, 1e-6);
    ASSERT_NEAR(carg(a->x[0]) * 180 / acos(-1) + 360, 188.703098, 1e-5);
    CU_ASSERT(cabs(a->x[0]) <= 2);
    cm_close(session);
}

/* A cap that binds: 1 g more must change the value as disc_multiplier says. */
static void test_what_a_cap_is_worth(void)
{
    cm_session *session = cm_open(NULL);
    cm_disc cap = {0, 0, 2};
    cm_problem p = circle(CM_LEAST_SQUARES);
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    double worth = a->disc_multiplier[0];
    cap.radius = 2 + 1e-5;
    double better = solved(session, &p, CM_OPTIMAL)->value;
    cap.radius = 2 - 1e-5;
    double worse = solved(session, &p, CM_OPTIMAL)->value;
    ASSERT_NEAR((worse - better) / 2e-5, worth, 1e-4);
    CU_ASSERT(worth > 0.1);
    cm_close(session);
}

/* Limits 4.9 where the smallest circle needs 5: no answer, and 5/4.9 would be one. Sensors 1 and 2 clash. */
static void test_infeasible(void)
{
    cm_session *session = cm_open(NULL);
    const double tight[3] = {4.9, 4.9, 4.9};
    cm_problem p = circle(CM_LEAST_MASS);
    p.limit = tight;
    const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
    ASSERT_NEAR(a->limits_factor, 5 / 4.9, 1e-9);
    CU_ASSERT(a->conflict_rows[1] && a->conflict_rows[2] && !a->conflict_planes[0]);
    cm_close(session);
}

/* A limit and a cap that have nothing to do with it are not named. */
static void test_narrow_conflict(void)
{
    cm_session *session = cm_open(NULL);
    const double tight[3] = {49, 4.9, 4.9};
    const cm_disc cap = {0, 0, 100};
    cm_problem p = circle(CM_LEAST_SQUARES);
    p.limit = tight;
    p.within_limits = 1;
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
    ASSERT_NEAR(a->limits_factor, 5 / 4.9, 1e-9);
    CU_ASSERT(!a->conflict_rows[0] && a->conflict_rows[1] && a->conflict_rows[2] && !a->conflict_planes[0]);
    cm_close(session);
}

/* Rows 10 + x0 ± x1/100 with |x0| ≤ 1 read 9 at best, with x1 = 0: just on the edge of a disc around 2, which changes
 * nothing and is not named. */
static void test_conflict_without_what_only_touches(void)
{
    static const double complex y[2] = {10, 10}, a[4] = {1, 1, 0.01, -0.01}, base[2] = {0, 0};
    static const double limit[2] = {1, 1}, weight[2] = {1, 1};
    static const cm_disc discs[2] = {{0, 0, 1}, {1, 2, 2}};
    cm_session *session = cm_open(NULL);
    for (int k = 2; k >= 1; k--) {
        cm_problem p = circle(CM_LEAST_MASS);
        p.rows = 2;
        p.planes = 2;
        p.y = y;
        p.a = a;
        p.base = p.now = base;
        p.limit = limit;
        p.weight = weight;
        p.disc_count = k;
        p.discs = discs;
        const cm_answer *answer = solved(session, &p, CM_INFEASIBLE);
        ASSERT_NEAR(answer->limits_factor, 9, 1e-8);
        CU_ASSERT(answer->conflict_rows[0] && answer->conflict_rows[1]);
        CU_ASSERT(answer->conflict_planes[0] && !answer->conflict_planes[1]);
    }
    cm_close(session);
}

/* |8 + x| ≤ 3 with the least mass: x = -5, and one unit less limit costs one unit of mass. */
static void test_least_mass(void)
{
    cm_session *session = cm_open(NULL);
    const double limits[3] = {INFINITY, 3, INFINITY};
    cm_problem p = circle(CM_LEAST_MASS);
    p.limit = limits;
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    ASSERT_NEAR_COMPLEX(a->x[0], -5, 1e-9);
    ASSERT_NEAR(a->row_multiplier[1], 3, 1e-7);
    CU_ASSERT(cabs(a->r[1]) <= 3 * (1 + 1e-11));
    const double complex now = -7;
    p.objective = CM_LEAST_CHANGE;
    p.now = &now;
    ASSERT_NEAR(solved(session, &p, CM_OPTIMAL)->value, 0, 1e-9);
    cm_close(session);
}

/* x_1 + x_2 = 3 with caps of 1: only caps prevent the tie, so it is infeasible, and no factor on limits helps. */
static void test_ties_that_caps_prevent(void)
{
    cm_session *session = cm_open(NULL);
    const cm_disc caps[2] = {{0, 0, 1}, {1, 0, 1}};
    const double complex three = 3;
    cm_problem p = circle(CM_LEAST_SQUARES);
    p.planes = 2;
    p.rows = 2;
    p.disc_count = 2;
    p.discs = caps;
    p.tie_count = 1;
    p.ties = ONES;
    p.tie_value = &three;
    const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
    CU_ASSERT(a->conflict_planes[0] && a->conflict_planes[1] && isnan(a->limits_factor));
    cm_close(session);
}

/* Already over the cap: it must come down to it. */
static void test_base_over_its_cap(void)
{
    cm_session *session = cm_open(NULL);
    const cm_disc cap = {0, 0, 2};
    const double complex base = -6;
    cm_problem p = circle(CM_LEAST_SQUARES);
    p.disc_count = 1;
    p.discs = &cap;
    p.base = &base;
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    ASSERT_NEAR(cabs(a->x[0]), 2, 1e-9);
    CU_ASSERT(cabs(a->x[0]) <= 2);
    cm_close(session);
}

static void test_cap_of_zero(void)
{
    cm_session *session = cm_open(NULL);
    const cm_disc cap = {0, 1, 0};
    cm_problem p = circle(CM_MIN_MAX);
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *a = solved(session, &p, CM_OPTIMAL);
    CU_ASSERT(a->x[0] == 1);
    ASSERT_NEAR(a->value, 9, 1e-12);
    cm_close(session);
}

/* ---- properties ---- */

enum { ROWS = 9, PLANES = 4 };

typedef struct cm_case_data {
    double complex y[ROWS], a[ROWS * PLANES], base[PLANES], now[PLANES];
    double weight[ROWS], limit[ROWS];
    cm_disc discs[PLANES];
} cm_case_data;

static double uniform(void)
{
    return rand() / (double)RAND_MAX - 0.5;
}

static void fill_case(cm_case_data *d)
{
    for (int i = 0; i < ROWS; i++) {
        d->y[i] = 20 * (uniform() + uniform() * _Complex_I);
        d->weight[i] = 1 + uniform();
        d->limit[i] = 12 + 4 * uniform();
    }
    for (int k = 0; k < ROWS * PLANES; k++)
        d->a[k] = uniform() + uniform() * _Complex_I;
    for (int j = 0; j < PLANES; j++) {
        d->base[j] = uniform();
        d->now[j] = uniform();
        d->discs[j] = (cm_disc){j, uniform() * _Complex_I, 6 + 4 * uniform()};
    }
}

static cm_problem problem_of(const cm_case_data *d, cm_objective objective)
{
    cm_problem p = circle(objective);
    p.rows = ROWS;
    p.planes = PLANES;
    p.y = d->y;
    p.a = d->a;
    p.base = d->base;
    p.now = d->now;
    p.weight = d->weight;
    p.limit = d->limit;
    p.disc_count = PLANES;
    p.discs = d->discs;
    return p;
}

/* Readings in units of `length`, masses in units of `mass`. */
static cm_case_data in_units(cm_case_data d, double length, double mass)
{
    for (int i = 0; i < ROWS; i++) {
        d.y[i] *= length;
        d.limit[i] *= length;
        d.weight[i] /= length;
    }
    for (int k = 0; k < ROWS * PLANES; k++)
        d.a[k] *= length / mass;
    for (int j = 0; j < PLANES; j++) {
        d.base[j] *= mass;
        d.now[j] *= mass;
        d.discs[j].centre *= mass;
        d.discs[j].radius *= mass;
    }
    return d;
}

static cm_case_data reversed(cm_case_data d)
{
    cm_case_data r = d;
    for (int j = 0; j < PLANES; j++) {
        for (int i = 0; i < ROWS; i++)
            r.a[i + j * ROWS] = d.a[i + (PLANES - 1 - j) * ROWS];
        r.base[j] = d.base[PLANES - 1 - j];
        r.now[j] = d.now[PLANES - 1 - j];
        r.discs[j] = d.discs[PLANES - 1 - j];
        r.discs[j].plane = j;
    }
    return r;
}

static void compare(cm_session *session, const cm_case_data *one, const cm_case_data *two,
                    cm_objective objective, double value_unit)
{
    cm_problem p = problem_of(one, objective);
    cm_problem q = problem_of(two, objective);
    q.mass_unit = p.mass_unit;
    const cm_answer *a = NULL;
    const cm_answer *b = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &a), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &q, &b), CM_OK);
    CU_ASSERT_EQUAL_FATAL(a->outcome, b->outcome);
    if (a->outcome == CM_INFEASIBLE) {
        ASSERT_NEAR(b->limits_factor, a->limits_factor, 1e-8);
        return;
    }
    ASSERT_NEAR(b->value / value_unit, a->value, 1e-8);
    CU_ASSERT(a->gap <= 1e-8 && b->gap <= 1e-8);
}

static void test_units_and_order_do_not_matter(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_LEAST_MASS, CM_LEAST_CHANGE};
    cm_session *session = cm_open(NULL);
    srand(7);
    for (int k = 0; k < 24; k++) {
        cm_case_data d;
        fill_case(&d);
        cm_objective objective = objectives[k % 4];
        double mass = objective == CM_LEAST_MASS || objective == CM_LEAST_CHANGE ? 1e-9 : 1;
        cm_case_data tiny = in_units(d, 1e6, 1e-9);
        cm_case_data turned = reversed(d);
        compare(session, &d, &tiny, objective, mass);
        compare(session, &d, &turned, objective, 1);
    }
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"min-max is the smallest circle", test_smallest_circle},
        {"caps", test_caps},
        {"what a cap is worth", test_what_a_cap_is_worth},
        {"limits that clash", test_infeasible},
        {"a conflict names only what takes part", test_narrow_conflict},
        {"a conflict without what only touches", test_conflict_without_what_only_touches},
        {"least mass", test_least_mass},
        {"ties that only caps prevent", test_ties_that_caps_prevent},
        {"a base state over its cap comes down", test_base_over_its_cap},
        {"a cap of zero", test_cap_of_zero},
        {"units and order do not matter", test_units_and_order_do_not_matter},
        {NULL, NULL},
    };
    return run_suite("optimise/cones", tests);
}
