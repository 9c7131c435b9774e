/* SPDX-License-Identifier: MIT */
/* Bounds of a trial mass against brute force over all angles, and its place against a search. */
#include "suite.h"
#include "starts/trial.h"

static const double TURN = 6.283185307179586;

static double random_of(unsigned *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return (*seed >> 8) / 16777216.0;
}

static double complex phasor(double size, double angle)
{
    return size * cos(angle) + size * sin(angle) * csqrt(-1);
}

/* Greatest reading over all angles of the mass and all errors of the coefficient on its 99 % circle. */
static double worst(const cm_trial_row *row, double mass)
{
    double most = 0;
    for (int i = 0; i < 720; i++)
        for (int k = 0; k < 90; k++) {
            double complex a = row->a + phasor(CM_TRIAL_SURE * row->spread, TURN * k / 90);
            most = fmax(most, cabs(row->y + a * phasor(mass, TURN * i / 720)));
        }
    return most;
}

static void test_alarm_bound(void)
{
    unsigned seed = 7;
    for (int trial = 0; trial < 100; trial++) {
        cm_trial_row row = {.y = phasor(50 * random_of(&seed), TURN * random_of(&seed)),
                            .a = phasor(0.1 + random_of(&seed), TURN * random_of(&seed)),
                            .spread = trial % 2 ? 0.2 * random_of(&seed) : 0,
                            .ceiling = 60};
        double bound = cm_trial_row_bound(&row);
        double reached = worst(&row, bound);
        CU_ASSERT(reached <= 60 * (1 + 1e-12)); /* no angle passes the ceiling ... */
        CU_ASSERT(reached >= 60 * (1 - 2e-3));  /* ... and the grid of angles comes within its step of it */
        CU_ASSERT(worst(&row, bound * 1.01) > 60);
    }
    cm_trial_row over = {.y = 70, .a = 1, .ceiling = 60};
    CU_ASSERT_EQUAL(cm_trial_row_bound(&over), 0);
}

static void test_visibility(void)
{
    cm_trial_row row = {.a = phasor(0.5, 1), .scatter = 1.5};
    ASSERT_NEAR(cm_trial_visible(&row), 21, 1e-14); /* 7 · 1.5 / 0.5 */
    row.a = 0;
    CU_ASSERT(isinf(cm_trial_visible(&row)));
}

static double left(int rows, const cm_trial_row *row, double complex u)
{
    double sum = 0;
    for (int i = 0; i < rows; i++) {
        double size = row[i].weight * cabs(row[i].y + row[i].a * u);
        sum += size * size;
    }
    return sum;
}

static void test_opposite(void)
{
    unsigned seed = 11;
    for (int trial = 0; trial < 50; trial++) {
        cm_trial_row row[4];
        for (int i = 0; i < 4; i++)
            row[i] = (cm_trial_row){.y = phasor(random_of(&seed), TURN * random_of(&seed)),
                                    .a = phasor(0.1 + random_of(&seed), TURN * random_of(&seed)),
                                    .told = true,
                                    .counted = true,
                                    .weight = 0.5 + random_of(&seed),
                                    .scatter = 0.01};
        double std;
        double complex u = cm_trial_opposite(4, row, &std);
        double best = left(4, row, u);
        for (int k = 0; k < 360; k++)
            CU_ASSERT(left(4, row, u + phasor(1e-3, TURN * k / 360)) > best);
        CU_ASSERT(std > 0 && isfinite(std));
    }
}

/* The spread of the place against simulated readings and coefficients. */
static void test_spread_of_the_place(void)
{
    unsigned seed = 5;
    cm_trial_row row[3], noisy[3];
    for (int i = 0; i < 3; i++)
        row[i] = (cm_trial_row){.y = phasor(10, i),
                                .a = phasor(1 + 0.3 * i, 2 * i),
                                .told = true,
                                .counted = true,
                                .weight = 1 + i,
                                .scatter = 0.02,
                                .spread = 0.002};
    double std, sum = 0, ignored;
    double complex u = cm_trial_opposite(3, row, &std);
    for (int n = 0; n < 20000; n++) {
        for (int i = 0; i < 3; i++) { /* errors of fixed size at random angles have E|e|² = size² */
            noisy[i] = row[i];
            noisy[i].y += phasor(row[i].scatter, TURN * random_of(&seed));
            noisy[i].a += phasor(row[i].spread, TURN * random_of(&seed));
        }
        double off = cabs(cm_trial_opposite(3, noisy, &ignored) - u);
        sum += off * off;
    }
    /* first-order: the second-order share of the coefficient's own error in a residual that is not small is left out */
    CU_ASSERT(fabs(sqrt(sum / 20000) / std - 1) < 0.05);
}

static void test_rounding(void)
{
    ASSERT_NEAR(cm_trial_round(0.0876, 0.01, 1e-3), 0.087, 1e-14);
    ASSERT_NEAR(cm_trial_round(0.0876, 0.0875, 1e-3), 0.0876, 0);
    ASSERT_NEAR(cm_trial_round(1.234, 0, 1e-3), 1.2, 1e-14);
    ASSERT_NEAR(cm_trial_round(0.087, 0.01, 1e-3), 0.087, 1e-14); /* already round: not one step lower */
}

int main(void)
{
    static const cm_test tests[] = {
        {"alarm bound against all angles", test_alarm_bound},
        {"visibility", test_visibility},
        {"place against a search", test_opposite},
        {"spread of the place against simulation", test_spread_of_the_place},
        {"rounding never goes up", test_rounding},
        {NULL, NULL},
    };
    return run_suite("starts/trial_size", tests);
}
