/* SPDX-License-Identifier: MIT */
/* Reading cases: values, units, conventions, order, errors. Constructed examples. */
#include "suite.h"
#include "model/case.h"
#include "model/units.h"

#include <stdio.h>
#include <string.h>

#define HEAD "case: {format: 1}\nconventions: {phase: lag, mass_angle: against-rotation}\n"
#define PARTS                                                                                                \
    "speeds: [{id: s, speed: 3000}, {id: t, speed: 25 Hz, weight: 0.5}]\n"                                   \
    "sensors: [{id: a, limit: 60}, {id: b, unit: mm/s rms, limit: {s: 4.5}}]\n"                              \
    "planes: [{id: P1, radius: 260, cap: 150 g}, {id: P2, zero: 30}]\n"

static const cm_case *parse(cm_session *session, const char *text)
{
    const cm_case *c = NULL;
    cm_status status = cm_case_parse(session, "folder/x.yaml", text, strlen(text), &c);
    for (int i = 0; status != CM_OK && i < cm_message_count(session); i++)
        printf("\n    %d:%d: %s", cm_message_at(session, i)->line, cm_message_at(session, i)->column,
               cm_message_at(session, i)->text);
    return status == CM_OK ? c : NULL;
}

static double complex polar(double size, double degrees)
{
    double angle = degrees * acos(-1) / 180;
    double complex z = size;
    double *parts = (double *)&z;
    parts[0] = size * cos(angle);
    parts[1] = size * sin(angle);
    return z;
}

static void test_units_and_conventions(void)
{
    cm_session *session = cm_open(NULL);
    const cm_case *c =
        parse(session, HEAD PARTS "slow_roll: {a: 6 @ 90}\n"
                                  "runs: [{id: r, masses: [{plane: P2, mass: 1 lb, angle: 10}],\n"
                                  "  readings: {s: {a: 82 @ 143, b: [3 @ 30, 4.5mm/s pk@30]}}}]\n");
    CU_ASSERT_PTR_NOT_NULL_FATAL(c);
    CU_ASSERT_STRING_EQUAL(c->title, "x.yaml");
    ASSERT_NEAR(c->speeds[0].omega, 100 * acos(-1), 1e-14);
    ASSERT_NEAR(c->speeds[1].omega, 50 * acos(-1), 1e-14);
    ASSERT_NEAR(c->sensors[0].limit[1], 30e-6, 1e-14);
    ASSERT_NEAR(c->sensors[1].limit[0] * 1e3, 4.5 * sqrt(2), 1e-14);
    CU_ASSERT(isinf(c->sensors[1].limit[1]));
    ASSERT_NEAR(c->planes[0].cap, 0.150, 1e-15);
    ASSERT_NEAR_COMPLEX(c->runs[0].masses.items[0].mass, polar(0.45359237, -40), 1e-14);
    CU_ASSERT_EQUAL(c->runs[0].reading_count, 2);
    ASSERT_NEAR_COMPLEX(c->runs[0].readings[0].values[0] * 1e6, polar(41, -143), 1e-14);
    ASSERT_NEAR_COMPLEX(c->runs[0].readings[1].values[0] * 1e3, polar(3 * sqrt(2), -30), 1e-14);
    ASSERT_NEAR_COMPLEX(c->runs[0].readings[1].values[1] * 1e3, polar(4.5, -30), 1e-14);
    ASSERT_NEAR_COMPLEX(c->sensors[0].slow_roll * 1e6, polar(3, -90), 1e-14);
    CU_ASSERT_EQUAL(c->row_count, 2);
    cm_close(session);
}

static void test_order_of_sections_is_free(void)
{
    cm_session *session = cm_open(NULL);
    const cm_case *c = parse(session, "objective: {base: r, use_planes: [P2], fixed: {P1: 5 @ 0}}\n"
                                      "runs: [{id: r, readings: {s: {a: 1 @ 0}}}]\n" PARTS HEAD);
    CU_ASSERT_PTR_NOT_NULL_FATAL(c);
    CU_ASSERT_EQUAL(c->goal.base_run, 0);
    CU_ASSERT(!c->goal.use[0] && c->goal.use[1] && c->goal.fixed[0]);
    cm_close(session);
}

static void test_arrays(void)
{
    cm_session *session = cm_open(NULL);
    const cm_case *c =
        parse(session, HEAD PARTS
              "slow_roll: {a: 2 @ 0}\n"
              "runs:\n"
              "  - {id: r, readings: {t: {a: 1 @ 0}, s: {b: 4 @ 0, a: [82 @ 0, 84 @ 0]}}}\n"
              "  - id: q\n    masses: [{plane: P1, mass: 30, angle: 0}, {plane: P1, mass: 30, angle: 120},\n"
              "      {plane: P1, mass: 30, angle: 240}, {plane: P2, mass: -10, angle: 0}]\n"
              "    readings: {s: {a: 50 @ 0}}\n"
              "influence:\n"
              "  - {plane: P2, speed: s, sensor: a, value: 0.5 @ 20, uncertainty: 10 %}\n"
              "  - {plane: P2, speed: t, sensor: b, value: 0.5 @ 20}\n");
    CU_ASSERT_PTR_NOT_NULL_FATAL(c);
    const cm_runs *runs = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, c, &runs), CM_OK);
    CU_ASSERT_EQUAL(runs->rows, 3);
    CU_ASSERT(runs->block[0] == 0 && runs->block[1] == 0 && runs->block[2] == 1);
    ASSERT_NEAR_COMPLEX(runs->readings[0] * 1e6, 40.5, 1e-13);
    ASSERT_NEAR(runs->repeat_spread[0] * 1e12, 0.5, 1e-12);
    CU_ASSERT_EQUAL(runs->repeats[0], 2);
    CU_ASSERT_EQUAL(runs->repeats[3 + 1], 0);
    CU_ASSERT(runs->masses[1] == 0);
    ASSERT_NEAR_COMPLEX(runs->masses[3], polar(0.010, 180 - 30), 1e-14);
    ASSERT_NEAR(runs->mass_zero, 30e-12, 1e-12);
    CU_ASSERT_EQUAL(runs->known_count, 1);
    ASSERT_NEAR_COMPLEX(runs->known[0].value, polar(0.25e-6 / 1e-3, -20 + 30), 1e-14);
    ASSERT_NEAR(runs->known[0].uncertainty, 0.25e-4, 1e-14);
    CU_ASSERT_EQUAL(cm_message_count(session), 1);
    cm_close(session);
}

static void test_errors_are_sorted_and_bounded(void)
{
    cm_session *session = cm_open(NULL);
    char text[4096] = HEAD "planes:\n";
    for (int i = 0; i < 30; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "  - {id: P%d, radius: -1}\n", i);
    strcat(text, "speeds: [{id: csv}]\n");
    CU_ASSERT_PTR_NULL(parse(session, text));
    CU_ASSERT_EQUAL(cm_message_count(session), 20);
    for (int i = 0; i < 20; i++)
        CU_ASSERT_EQUAL(cm_message_at(session, i)->line, 4 + i);
    CU_ASSERT_PTR_NULL(strstr(cm_message_at(session, 18)->text, "more errors follow"));
    CU_ASSERT_PTR_NOT_NULL(strstr(cm_message_at(session, 19)->text, "; more errors follow"));
    cm_close(session);
}

static void test_a_session_outlives_a_wrong_case(void)
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_PTR_NULL(parse(session, "case: {}\n"));
    CU_ASSERT_PTR_NOT_NULL(parse(session, HEAD));
    cm_close(session);
}

static const cm_problem *problem_of(cm_session *session, const char *text, cm_status expected)
{
    const cm_case *c = parse(session, text);
    const cm_runs *runs = NULL;
    const cm_problem *problem = NULL;
    CU_ASSERT_PTR_NOT_NULL_FATAL(c);
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, c, &runs), CM_OK);
    const cm_influence nothing = {.size = sizeof nothing, .rows = runs->rows, .planes = runs->planes};
    CU_ASSERT_EQUAL(cm_case_problem(session, c, &nothing, &problem), expected);
    return problem;
}

#define READ                                                                                                 \
    "runs: [{id: r, masses: [{plane: P1, mass: 40, angle: 0, stays: true}, {plane: P2, mass: 7, angle: "     \
    "0}],\n"                                                                                                 \
    "  readings: {s: {a: 82 @ 143, b: 3 @ 1}}}]\n"

static void test_problem(void)
{
    cm_session *session = cm_open(NULL);
    const cm_problem *p = problem_of(session,
                                     HEAD PARTS READ "objective:\n  use_planes: [P1]\n  ties: [{terms: {P1: "
                                                     "2 @ 90}, equals: 5 @ 0}]\n  drop_rows: [[b, s]]\n",
                                     CM_OK);
    CU_ASSERT_PTR_NOT_NULL_FATAL(p);
    CU_ASSERT(!p->held[0] && p->held[1]);
    ASSERT_NEAR_COMPLEX(p->held_value[1], polar(0.007, -30), 1e-14);
    CU_ASSERT_EQUAL(p->disc_count, 1);
    ASSERT_NEAR(p->discs[0].radius, 0.110, 1e-14);
    ASSERT_NEAR_COMPLEX(p->discs[0].centre, 0.040, 1e-14);
    ASSERT_NEAR(p->weight[0], 1 / 30e-6, 1e-14);
    CU_ASSERT_EQUAL(p->weight[1], 0);
    ASSERT_NEAR_COMPLEX(p->ties[0], polar(2, -90), 1e-14);
    ASSERT_NEAR_COMPLEX(p->tie_value[0], 0.005, 1e-14);
    cm_close(session);
}

static void test_force_and_change_caps(void)
{
    cm_session *session = cm_open(NULL);
    const cm_problem *p = problem_of(
        session,
        HEAD "speeds: [{id: s, speed: 3000}]\nsensors: [{id: a}]\n"
             "planes: [{id: P1, radius: 500, cap_force: 4 kN, change_cap: 12}]\n"
             "runs: [{id: r, masses: [{plane: P1, mass: 40, angle: 0}], readings: {s: {a: 82 @ 143}}}]\n",
        CM_OK);
    CU_ASSERT_PTR_NOT_NULL_FATAL(p);
    double omega = 1.1 * 100 * acos(-1);
    CU_ASSERT_EQUAL_FATAL(p->disc_count, 2);
    ASSERT_NEAR(p->discs[0].radius * omega * omega * 0.5, 4000, 1e-13);
    ASSERT_NEAR(p->discs[1].radius, 0.012, 1e-14);
    ASSERT_NEAR_COMPLEX(p->discs[1].centre, 0.040, 1e-14);
    ASSERT_NEAR(p->weight[0] * 0.5e-6, 1, 1e-14); /* no limits: the unit counts as limit */
    CU_ASSERT(isinf(p->limit[0]));
    CU_ASSERT_EQUAL(cm_message_count(session), 1);
    CU_ASSERT(strstr(cm_message_at(session, 0)->text, "3300 rpm") != NULL);
    cm_close(session);
}

/* 40 g that stay under a cap of 30 g: the discs exclude each other, which the solver reports as infeasible.
 */
static void test_masses_that_stay_over_the_cap(void)
{
    cm_session *session = cm_open(NULL);
    const cm_problem *p = problem_of(session,
                                     HEAD "speeds: [{id: s, speed: 3000}]\nsensors: [{id: a}, {id: b}]\n"
                                          "planes: [{id: P1, cap: 30}, {id: P2}]\n" READ,
                                     CM_OK);
    CU_ASSERT_PTR_NOT_NULL_FATAL(p);
    CU_ASSERT_EQUAL_FATAL(p->disc_count, 2);
    CU_ASSERT(cabs(p->discs[0].centre - p->discs[1].centre) > p->discs[0].radius + p->discs[1].radius);
    cm_close(session);
}

static void test_missing_limits(void)
{
    static const struct {
        const char *sensors, *objective, *message;
    } rows[] = {
        {"[{id: a, limit: 60}, {id: b}]", "{}", "'b' has no limit at 's'"},
        {"[{id: a}, {id: b, unit: mm/s rms}]", "{}", "different units"},
        {"[{id: a}, {id: b}]", "{minimise: least-mass}", "least-mass needs limits"},
        {"[{id: a}, {id: b}]", "{within_limits: true}", "within_limits needs limits"},
        {"[{id: a}, {id: b}]", "{minimise: worst-case}", "needs objective.influence_error"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        snprintf(text, sizeof text,
                 HEAD "speeds: [{id: s, speed: 3000}]\nplanes: [{id: P1}, {id: P2}]\n" READ
                      "sensors: %s\nobjective: %s\n",
                 rows[i].sensors, rows[i].objective);
        cm_session *session = cm_open(NULL);
        problem_of(session, text, CM_BAD_INPUT);
        CU_ASSERT_FATAL(cm_message_count(session) > 0);
        CU_ASSERT(strstr(cm_message_at(session, 0)->text, rows[i].message) != NULL);
        cm_close(session);
    }
}

static void test_errors_in_words(void)
{
    static const struct {
        const char *parts;
        double error;
    } rows[] = {{"influence_error: 5 % each", 0.05 * 1.4142135623730951},
                {"{influence_error: 5 %each, fixed: {P1: 1 @ 0}}", 0.05},
                {"{influence_error: 0.2}", 0.2}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        snprintf(text, sizeof text, HEAD PARTS "objective:\n  %s\n", rows[i].parts);
        cm_session *session = cm_open(NULL);
        const cm_case *c = parse(session, text);
        CU_ASSERT_PTR_NOT_NULL_FATAL(c);
        ASSERT_NEAR(c->goal.influence_error, rows[i].error, 1e-15);
        cm_close(session);
    }
}

static void test_nothing_to_solve(void)
{
    cm_session *session = cm_open(NULL);
    const cm_case *c = parse(session, HEAD PARTS);
    const cm_runs *runs = NULL;
    CU_ASSERT_PTR_NOT_NULL_FATAL(c);
    CU_ASSERT_EQUAL(cm_case_runs(session, c, &runs), CM_BAD_INPUT);
    CU_ASSERT(strstr(cm_message_at(session, 0)->text, "no readings") != NULL);
    CU_ASSERT_EQUAL(cm_message_at(session, 0)->line, 1);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"units and conventions", test_units_and_conventions},
        {"sections may stand in any order", test_order_of_sections_is_free},
        {"runs and coefficients as arrays", test_arrays},
        {"errors are sorted and bounded", test_errors_are_sorted_and_bounded},
        {"a session outlives a wrong case", test_a_session_outlives_a_wrong_case},
        {"problem", test_problem},
        {"force and change caps", test_force_and_change_caps},
        {"masses that stay over the cap", test_masses_that_stay_over_the_cap},
        {"missing limits", test_missing_limits},
        {"error of the coefficients in words", test_errors_in_words},
        {"nothing to solve", test_nothing_to_solve},
        {NULL, NULL},
    };
    return run_suite("case/read", tests);
}
