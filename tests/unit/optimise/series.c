/* SPDX-License-Identifier: MIT */
/* A series of ratios on the same cones against each of them solved from scratch. */
#include "countermass.h"
#include "optimise/conic.h"
#include "optimise/feasible.h"
#include "optimise/solve.h"
#include "suite.h"

#include <complex.h>
#undef I
#include <math.h>

enum { ROWS = 10, PLANES = 3, STEPS = 12 };

static double next(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 8388608.0 - 1;
}

typedef struct cm_data {
    double complex y[ROWS], a[ROWS * PLANES], zero[PLANES];
    double weight[ROWS], limit[ROWS];
    unsigned char held[PLANES];
    int block[ROWS];
} cm_data;

static cm_problem random_problem(cm_data *d, unsigned seed)
{
    *d = (cm_data){0};
    for (int i = 0; i < ROWS; i++) {
        double re = next(&seed), im = next(&seed);
        d->y[i] = 3 * (re + im * _Complex_I);
        d->weight[i] = d->limit[i] = 1;
    }
    for (int i = 0; i < ROWS * PLANES; i++) {
        double re = next(&seed), im = next(&seed);
        d->a[i] = re + im * _Complex_I;
    }
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = CM_LEAST_MASS,
                        .rows = ROWS,
                        .planes = PLANES,
                        .blocks = 1,
                        .block = d->block,
                        .y = d->y,
                        .a = d->a,
                        .weight = d->weight,
                        .limit = d->limit,
                        .base = d->zero,
                        .now = d->zero,
                        .held = d->held,
                        .held_value = d->zero,
                        .mass_unit = 1,
                        .mass_zero = 1e-12};
}

static double cold(cm_session *session, const cm_problem *p, double ratio, int *iterations)
{
    double limit[ROWS];
    cm_problem part = *p;
    for (int i = 0; i < ROWS; i++)
        limit[i] = ratio;
    part.limit = limit;
    const cm_answer *answer = cm_solve_problem(session, &part);
    *iterations += answer->iterations;
    return answer->outcome == CM_OPTIMAL ? answer->value : NAN;
}

static void test_a_series_agrees_and_is_quicker(void)
{
    int warm_steps = 0, cold_steps = 0;
    for (unsigned seed = 1; seed <= 20; seed++) {
        cm_session *session = cm_open(NULL);
        cm_data d;
        const cm_problem p = random_problem(&d, seed);
        const cm_answer *best = cm_nearest_to_limits(session, &p);
        CU_ASSERT_PTR_NOT_NULL_FATAL(best);
        cm_presolved pre = cm_presolve(session, &p);
        double complex u[PLANES];
        for (int j = 0; j < PLANES; j++)
            u[j] = best->x[j];
        cm_conic_series *series = cm_conic_open(session, &pre, u);
        for (int k = 0; k < STEPS; k++) {
            double ratio = 3.0 + (best->value - 3.0) * k / STEPS;
            if (!(ratio > best->value))
                continue;
            cm_conic_answer found = cm_conic_next(series, ratio);
            double value = cold(session, &p, ratio, &cold_steps), mass = 0;
            warm_steps += found.iterations;
            for (int j = 0; j < PLANES; j++)
                mass += cabs(found.x[j]);
            CU_ASSERT_FALSE(found.infeasible);
            CU_ASSERT(fabs(mass - value) <= 1e-7 * (value + 1e-2));
        }
        cm_close(session);
    }
    CU_ASSERT(cold_steps > 0 && warm_steps < cold_steps);
    printf("  iterations: %d in series, %d from scratch\n", warm_steps, cold_steps);
}

/* No point of the trade-off is above the ratio that was asked of it, and the masses grow as the ratio falls. */
static void test_trade_off_keeps_its_ratios(void)
{
    for (unsigned seed = 1; seed <= 8; seed++) {
        cm_session *session = cm_open(NULL);
        cm_data d;
        cm_problem p = random_problem(&d, seed);
        p.objective = CM_MIN_MAX;
        const cm_answer *answer = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
        cm_job job = {.size = sizeof job, .problem = &p, .answer = answer};
        CU_ASSERT_EQUAL_FATAL(cm_trade_off_of(session, &job), CM_OK);
        const cm_trade_off *curve = job.trade_off;
        CU_ASSERT_EQUAL_FATAL(curve->count, 25);
        double from = curve->points[0].largest_ratio, to = answer->largest_ratio * (1 + 5e-8);
        for (int k = 1; k < curve->count; k++) {
            CU_ASSERT(curve->points[k].largest_ratio <= (from + (to - from) * k / 24) * (1 + 3e-12));
            CU_ASSERT(curve->points[k].total_mass > curve->points[k - 1].total_mass);
            CU_ASSERT(curve->points[k].gap <= 1e-8);
        }
        CU_ASSERT(curve->warm > 0);
        cm_close(session);
    }
}

int main(void)
{
    static const cm_test tests[] = {
        {"a series of ratios agrees with each alone and takes fewer iterations",
         test_a_series_agrees_and_is_quicker},
        {"a trade-off keeps its ratios", test_trade_off_keeps_its_ratios},
        {NULL, NULL},
    };
    return run_suite("optimise/series", tests);
}
