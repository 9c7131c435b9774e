/* SPDX-License-Identifier: MIT */
/* Optimality and infeasibility recomputed from the answer alone by plain loops, and the hard shapes: bad condition,
 * dependent planes, few rows, tight caps, nothing to do, everything held, a stop, memory that runs out. All CONSTRUCTED. */
#include "suite.h"
#include "countermass/solve.h"

#include <stdlib.h>
#include <string.h>

enum { ROWS = 10, PLANES = 4 };

typedef struct cm_data {
    int block[ROWS];
    double complex y[ROWS], a[ROWS * PLANES], base[PLANES], now[PLANES], held_value[PLANES];
    double weight[ROWS], limit[ROWS];
    unsigned char held[PLANES];
    cm_disc discs[PLANES];
} cm_data;

static double uniform(void)
{
    return rand() / (double)RAND_MAX - 0.5;
}

static void fill(cm_data *d, double cap)
{
    memset(d, 0, sizeof *d);
    for (int i = 0; i < ROWS; i++) {
        d->y[i] = 20 * (uniform() + uniform() * _Complex_I);
        d->weight[i] = 1 + uniform();
        d->limit[i] = INFINITY;
    }
    for (int k = 0; k < ROWS * PLANES; k++)
        d->a[k] = uniform() + uniform() * _Complex_I;
    for (int j = 0; j < PLANES; j++)
        d->discs[j] = (cm_disc){j, 0, cap};
}

static cm_problem problem_of(const cm_data *d, cm_objective objective)
{
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = objective,
                        .rows = ROWS,
                        .planes = PLANES,
                        .blocks = 1,
                        .block = d->block,
                        .y = d->y,
                        .a = d->a,
                        .weight = d->weight,
                        .limit = d->limit,
                        .base = d->base,
                        .now = d->now,
                        .held = d->held,
                        .held_value = d->held_value,
                        .disc_count = PLANES,
                        .discs = d->discs,
                        .mass_unit = 1,
                        .mass_zero = 1e-12};
}

static const cm_answer *proven(cm_session *session, const cm_problem *p)
{
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, p, &a), CM_OK);
    CU_ASSERT_EQUAL_FATAL(a->outcome, CM_OPTIMAL);
    CU_ASSERT(a->gap >= 0 && a->gap <= 1e-8);
    for (int d = 0; d < p->disc_count; d++)
        CU_ASSERT(p->held[p->discs[d].plane] ||
                  cabs(a->x[p->discs[d].plane] - p->discs[d].centre) <= p->discs[d].radius * (1 + 1e-12));
    return a;
}

/* Gradient of ½|W r|² on a plane. */
static double complex gradient_of(const cm_problem *p, const double complex *x, int plane)
{
    double complex g = 0;
    for (int i = 0; i < p->rows; i++) {
        double complex r = p->y[i];
        for (int j = 0; j < p->planes; j++)
            r += p->a[i + j * p->rows] * (x[j] - p->base[j]);
        g += conj(p->a[i + plane * p->rows]) * p->weight[i] * p->weight[i] * r;
    }
    return g;
}

/* Karush, Kuhn and Tucker: no gradient inside a disc, on its edge the gradient points straight inwards and its size
 * is the multiplier times the value. */
static void check_least_squares(const cm_problem *p, const cm_answer *a)
{
    for (int j = 0; j < p->planes; j++) {
        double complex g = gradient_of(p, a->x, j);
        double room = p->discs[j].radius - cabs(a->x[j]);
        if (room > 1e-6 * p->discs[j].radius) {
            CU_ASSERT(cabs(g) <= 1e-6 * a->value);
            continue;
        }
        double complex outward = a->x[j] / cabs(a->x[j]);
        CU_ASSERT(cabs(g + cabs(g) * outward) <= 1e-6 * a->value);
        ASSERT_NEAR(a->disc_multiplier[j] * a->value, cabs(g), 1e-6);
    }
}

static void test_kkt_of_capped_least_squares(void)
{
    cm_session *session = cm_open(NULL);
    srand(3);
    for (int k = 0; k < 40; k++) {
        cm_data d;
        fill(&d, 1 + k % 20);
        cm_problem p = problem_of(&d, CM_LEAST_SQUARES);
        check_least_squares(&p, proven(session, &p));
    }
    cm_close(session);
}

/* Infeasible with factor f: at 0.999 f it must still be infeasible, at 1.001 f there must be masses within the limits,
 * looked at one by one; what is named must suffice: the others are set free. */
static void test_infeasible_by_hand(void)
{
    cm_session *session = cm_open(NULL);
    srand(5);
    for (int k = 0; k < 20; k++) {
        cm_data d;
        fill(&d, k % 2 ? 5 : 0.5);
        d.discs[0].radius = 500;
        for (int i = 0; i < ROWS; i++)
            d.limit[i] = 0.5;
        cm_problem p = problem_of(&d, CM_LEAST_MASS);
        const cm_answer *a = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &a), CM_OK);
        CU_ASSERT_EQUAL_FATAL(a->outcome, CM_INFEASIBLE);
        double factor = a->limits_factor;
        CU_ASSERT_FATAL(factor > 1);
        CU_ASSERT(!a->conflict_planes[0]);
        cm_data freed = d;
        for (int i = 0; i < ROWS; i++)
            freed.limit[i] = a->conflict_rows[i] ? 0.5 * factor * 0.999 : INFINITY;
        for (int j = 0; j < PLANES; j++)
            freed.discs[j].radius = a->conflict_planes[j] ? d.discs[j].radius : 1e6;
        cm_problem q = problem_of(&freed, CM_LEAST_MASS);
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &q, &a), CM_OK);
        CU_ASSERT_EQUAL(a->outcome, CM_INFEASIBLE);
        for (int i = 0; i < ROWS; i++)
            d.limit[i] = 0.5 * factor * 1.001;
        a = proven(session, &p);
        for (int i = 0; i < ROWS; i++) {
            double complex r = d.y[i];
            for (int j = 0; j < PLANES; j++)
                r += d.a[i + j * ROWS] * a->x[j];
            CU_ASSERT(cabs(r) <= d.limit[i] * (1 + 1e-12));
        }
    }
    cm_close(session);
}

static void test_hard_shapes(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX};
    cm_session *session = cm_open(NULL);
    srand(11);
    for (int k = 0; k < 24; k++) {
        cm_data d;
        fill(&d, k % 3 == 0 ? 1e-3 : 8);
        for (int i = 0; i < ROWS; i++)
            d.a[i + 3 * ROWS] = k < 8    ? d.a[i] + 1e-8 * d.a[i + 3 * ROWS]
                                : k < 16 ? 2 * d.a[i]
                                         : d.a[i + 3 * ROWS];
        cm_problem p = problem_of(&d, objectives[k % 2]);
        if (k >= 16)
            d.weight[k - 16] = 0;
        if (k >= 20)
            d.discs[1].radius = 0;
        proven(session, &p);
    }
    cm_close(session);
}

/* Fewer rows than planes, a single row, readings of zero: zero is attained, and counts as proven. */
static void test_nothing_left(void)
{
    cm_session *session = cm_open(NULL);
    srand(13);
    cm_data d;
    fill(&d, 1e6);
    cm_problem p = problem_of(&d, CM_LEAST_SQUARES);
    memset(d.y, 0, sizeof d.y);
    CU_ASSERT(proven(session, &p)->value == 0);
    fill(&d, 1e6);
    p.rows = 3;
    CU_ASSERT(proven(session, &p)->value <= 1e-10);
    p.rows = 1;
    CU_ASSERT(proven(session, &p)->value <= 1e-10);
    p.planes = 1;
    p.disc_count = 1;
    p.rows = ROWS;
    CU_ASSERT(proven(session, &p)->value > 1);
    cm_close(session);
}

static void test_everything_held(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_LEAST_MASS};
    cm_session *session = cm_open(NULL);
    cm_data d;
    fill(&d, 2);
    memset(d.held, 1, sizeof d.held);
    for (int j = 0; j < PLANES; j++)
        d.held_value[j] = j + 1;
    for (int k = 0; k < 3; k++) {
        cm_problem p = problem_of(&d, objectives[k]);
        const cm_answer *a = proven(session, &p);
        for (int j = 0; j < PLANES; j++)
            CU_ASSERT(a->x[j] == d.held_value[j]);
    }
    cm_close(session);
}

/* ---- the host ---- */

typedef struct cm_budget {
    int left;
} cm_budget;

static void *take(void *context, size_t bytes)
{
    cm_budget *budget = context;
    return budget->left-- > 0 ? malloc(bytes) : NULL;
}

static void give(void *context, void *memory)
{
    (void)context;
    free(memory);
}

static int stop_at_once(void *context)
{
    (void)context;
    return 1;
}

static void test_stop(void)
{
    const cm_host host = {.size = sizeof host, .stop = stop_at_once};
    cm_session *session = cm_open(&host);
    cm_data d;
    srand(17);
    fill(&d, 1);
    cm_problem p = problem_of(&d, CM_MIN_MAX);
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL(cm_solve(session, &p, &a), CM_STOPPED);
    CU_ASSERT_EQUAL_FATAL(cm_message_count(session), 1);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->text, "stopped before there was an answer");
    cm_close(session);
}

/* Every number of blocks granted, until it suffices: a clean status each time, and the right answer at the end. */
static void test_memory_that_runs_out(void)
{
    cm_data d;
    srand(19);
    fill(&d, 1);
    cm_problem p = problem_of(&d, CM_MIN_MAX);
    int failures = 0;
    for (int granted = 0; granted < 200; granted++) {
        cm_budget budget = {granted};
        const cm_host host = {.size = sizeof host, .context = &budget, .allocate = take, .release = give};
        cm_session *session = cm_open(&host);
        const cm_answer *a = NULL;
        cm_status status = session ? cm_solve(session, &p, &a) : CM_NO_MEMORY;
        if (status == CM_OK)
            CU_ASSERT(a->gap <= 1e-8);
        cm_close(session);
        if (status == CM_OK)
            break;
        CU_ASSERT_EQUAL(status, CM_NO_MEMORY);
        failures++;
    }
    CU_ASSERT(failures > 0 && failures < 200);
}

static void test_confidence_needs_spreads_of_pairs(void)
{
    cm_session *session = cm_open(NULL);
    cm_data d;
    fill(&d, 1);
    const cm_pair pair = {.forward = 0, .backward = 1, .weight = 1, .limit = 5};
    static double complex spread[ROWS * (PLANES + 1) * (PLANES + 1)];
    cm_problem p = problem_of(&d, CM_CONFIDENCE);
    p.spread = spread;
    p.pair_count = 1;
    p.pairs = &pair;
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL(cm_solve(session, &p, &a), CM_BAD_INPUT);
    CU_ASSERT_PTR_NOT_NULL_FATAL(cm_message_at(session, 0));
    CU_ASSERT_PTR_NOT_NULL(strstr(cm_message_at(session, 0)->text, "pair 1"));
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"least squares within caps meets its conditions", test_kkt_of_capped_least_squares},
        {"infeasible, checked by hand", test_infeasible_by_hand},
        {"bad condition, dependent planes, tight caps, zero weights", test_hard_shapes},
        {"few rows, zero readings, one plane", test_nothing_left},
        {"everything held", test_everything_held},
        {"a stop", test_stop},
        {"memory that runs out", test_memory_that_runs_out},
        {"confidence needs the spreads of pairs", test_confidence_needs_spreads_of_pairs},
        {NULL, NULL},
    };
    return run_suite("optimise/proofs", tests);
}
