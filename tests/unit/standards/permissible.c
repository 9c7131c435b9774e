/* SPDX-License-Identifier: MIT */
/* Permissible unbalance against published figures; shares against statics and a brute search. */
#include "suite.h"
#include "standards/permissible.h"
#include "standards/sources.h"

static const double RPM = 3.14159265358979323846 / 30;
static const double GMM = 1e-6; /* kg m in a g mm */

/* Computed from the definition of ISO 21940-11 (1000 G / (2 pi n / 60), in um), for the grades of table 1. */
static void test_eccentricity_table(void)
{
    static const double rpm[] = {1500, 1800, 3000, 3600, 12000};
    static const struct {
        const char *grade;
        double micron[5];
    } rows[] = {
        {"G1", {6.3662, 5.3052, 3.1831, 2.6526, 0.7958}},
        {"G 2.5", {15.9155, 13.2629, 7.9577, 6.6315, 1.9894}},
        {"6.3", {40.1070, 33.4225, 20.0535, 16.7113, 5.0134}},
    };
    for (int i = 0; i < 3; i++) {
        const cm_grade *grade = cm_grade_find(rows[i].grade);
        CU_ASSERT_PTR_NOT_NULL_FATAL(grade);
        for (int k = 0; k < 5; k++)
            CU_ASSERT(fabs(cm_permissible_unbalance(1, grade->value, rpm[k] * RPM) / 1e-6 -
                           rows[i].micron[k]) <= 0.51e-4);
    }
    CU_ASSERT_PTR_NULL(cm_grade_find("G2.6"));
    CU_ASSERT_PTR_NULL(cm_grade_find(""));
    outside("permissible eccentricity of G1, G2.5 and G6.3 at five speeds",
            "ISO 21940-11, table 1 and its definition", "computed",
            "15 figures to the last printed digit (0.0001 um)");
}

/* Turbine rotor of the standard's annex: printed 28.6e3, 10.7e3, 17.9e3 g mm (value from memory of ISO 21940-11,
 * annex A), each to three figures. */
static void test_turbine_rotor(void)
{
    double whole = cm_permissible_unbalance(3600, 2.5, 3000 * RPM);
    cm_shares shares = cm_share_out(0, 2.4, 1.5);
    CU_ASSERT(fabs(whole / GMM - 28.6e3) <= 0.05e3);
    CU_ASSERT(fabs(whole * shares.share[0] / GMM - 10.7e3) <= 0.05e3);
    CU_ASSERT(fabs(whole * shares.share[1] / GMM - 17.9e3) <= 0.05e3);
    CU_ASSERT_EQUAL(shares.arrangement, CM_INBOARD);
    CU_ASSERT(!shares.limited[0] && !shares.limited[1]);
    ASSERT_NEAR(cm_grade_of_unbalance(whole, 3600, 3000 * RPM), 2.5, 1e-14);
    outside("permissible unbalance of the turbine rotor, whole and at its bearings", "ISO 21940-11, annex A",
            "value from memory", "28.6e3, 10.7e3 and 17.9e3 g mm to three figures");
}

static void test_limits_on_shares(void)
{
    cm_shares near_a = cm_share_out(0, 1, 0.1);
    ASSERT_NEAR(near_a.share[0], 0.7, 1e-15);
    ASSERT_NEAR(near_a.share[1], 0.3, 1e-15);
    CU_ASSERT(near_a.limited[0] && near_a.limited[1]);
    cm_shares beyond = cm_share_out(0, 1, 1.2); /* reactions -0.2 and 1.2 */
    CU_ASSERT_EQUAL(beyond.arrangement, CM_OUTBOARD);
    ASSERT_NEAR(beyond.lever[0], 0.2, 1e-14);
    ASSERT_NEAR(beyond.share[0], 0.3, 1e-15);
    ASSERT_NEAR(beyond.share[1], 1.2, 1e-14);
    ASSERT_NEAR(cm_share_out(1, 0, 2.0).share[0], 1.3,
                1e-15); /* bearings named from the other end: reactions 2, -1 */
    ASSERT_NEAR(cm_share_out(0, 1, 2.0).share[1], 1.3, 1e-15);
}

/* Value from memory of API 617: 4 W / N oz in; 1000 lb at 3600 r/min are 1.1111 oz in = 800.09 g mm (computed). */
static void test_mass_speed_rule(void)
{
    ASSERT_NEAR(cm_mass_speed_unbalance(453.59237, 3600 * RPM) / GMM, 800.09, 1e-5);
    ASSERT_NEAR(cm_mass_speed_unbalance(453.59237, 3600 * RPM), 4000. / 3600 * 28.349523125e-3 * 0.0254,
                1e-8);
    ASSERT_NEAR(cm_mass_speed_unbalance(1, 25000 * RPM), 0.254e-6, 1e-12);
    ASSERT_NEAR(cm_mass_speed_unbalance(1, 60000 * RPM), 0.254e-6, 1e-12);
    /* 6350 W/N is grade G 0.665 at every speed (computed) */
    for (double rpm = 1000; rpm < 25000; rpm += 3000)
        CU_ASSERT(fabs(cm_grade_of_unbalance(cm_mass_speed_unbalance(1, rpm * RPM), 1, rpm * RPM) - 0.665) <
                  5e-4);
    outside("residual unbalance of the mass and speed rule, 4 W/N oz in", "API 617", "value from memory",
            "800.09 g mm at 1000 lb and 3600 r/min to 1e-5; grade 0.665 at every speed below 25000 r/min");
}

static void test_rigid_or_flexible(void)
{
    CU_ASSERT(cm_is_flexible(1690, 3000));
    CU_ASSERT(cm_is_flexible(4285, 3000));
    CU_ASSERT(!cm_is_flexible(4286, 3000));
    CU_ASSERT(!cm_is_flexible(INFINITY, 3000));
}

/* Largest product by walking along both constraints. */
static double best_product(const double lever[4], const double u[2])
{
    double best = 0, reach = fmin(u[0] / fmax(lever[0], 1e-12), u[1] / fmax(lever[1], 1e-12));
    for (int i = 1; i <= 200000; i++) {
        double first = reach * i / 200000;
        double second = fmin((u[0] - lever[0] * first) / lever[2], (u[1] - lever[1] * first) / lever[3]);
        best = fmax(best, first * second);
    }
    return best;
}

static void test_correction_planes(void)
{
    static const double places[][2] = {{0.2, 0.8}, {0.5, 0.6}, {-0.4, 1.3}, {1.2, 1.5}, {0.1, 1.9}};
    static const double at[][2] = {{1, 1}, {0.6, 1.4}, {2.6, 0.6}};
    for (int i = 0; i < 5; i++)
        for (int k = 0; k < 3; k++) {
            double lever[4], value[2];
            for (int j = 0; j < 2; j++) {
                cm_reactions(0, 1, places[i][j], &lever[2 * j]);
                lever[2 * j] = fabs(lever[2 * j]);
                lever[2 * j + 1] = fabs(lever[2 * j + 1]);
            }
            cm_share_to_planes(2, lever, at[k], value);
            for (int b = 0; b < 2; b++)
                CU_ASSERT(lever[b] * value[0] + lever[2 + b] * value[1] <= at[k][b] * (1 + 1e-12));
            CU_ASSERT(value[0] * value[1] >= best_product(lever, at[k]) * (1 - 1e-9));
        }
}

static void test_planes_at_the_bearings(void)
{
    static const double lever[] = {1, 0, 0, 1}, at[] = {0.4, 0.9};
    double value[2];
    cm_share_to_planes(2, lever, at, value);
    ASSERT_NEAR(value[0], 0.4, 1e-12);
    ASSERT_NEAR(value[1], 0.9, 1e-12);
    cm_share_to_planes(1, (const double[]){0.5, 0.5}, at, value);
    ASSERT_NEAR(value[0], 0.8, 1e-12);
}

static void test_sources(void)
{
    CU_ASSERT_PTR_NULL(cm_source_of("no such source"));
    for (const cm_source *row = CM_SOURCES; row->key; row++) {
        CU_ASSERT_PTR_EQUAL(cm_source_of(row->key), row);
        CU_ASSERT(row->standard && row->says && row->mark);
    }
}

int main(void)
{
    static const cm_test tests[] = {
        {"eccentricities of the grades", test_eccentricity_table},
        {"turbine rotor of the standard", test_turbine_rotor},
        {"limits on the shares", test_limits_on_shares},
        {"mass/speed rule", test_mass_speed_rule},
        {"rigid or flexible", test_rigid_or_flexible},
        {"correction planes against a search", test_correction_planes},
        {"correction planes at the bearings", test_planes_at_the_bearings},
        {"every source has its mark", test_sources},
        {NULL, NULL},
    };
    return run_suite("standards/permissible", tests);
}
