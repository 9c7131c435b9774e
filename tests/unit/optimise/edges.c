/* SPDX-License-Identifier: MIT */
/* The edge of being infeasible on exact plane geometry, the dual point evaluated by plain loops, shapes where one thing is
 * zero, one or missing, for every objective. All CONSTRUCTED. */
#include "suite.h"
#include "base/session.h"
#include "countermass/solve.h"

#include <stdlib.h>
#include <string.h>

enum { ROWS = 8, PLANES = 4 };

static const int BLOCKS[ROWS] = {0};
static const double complex ZEROS[ROWS] = {0};
static const double complex ONES[ROWS] = {1, 1, 1, 1, 1, 1, 1, 1};
static const double ONES_REAL[ROWS] = {1, 1, 1, 1, 1, 1, 1, 1};
static const double NO_LIMITS[ROWS] = {INFINITY, INFINITY, INFINITY, INFINITY,
                                       INFINITY, INFINITY, INFINITY, INFINITY};

/* One plane seen equally by sensors that read 0, 8 and 6i: the smallest circle around them has radius 5. */
static const double complex TRIANGLE[ROWS] = {0, 8, 6 * _Complex_I, 0};

static cm_problem triangle(cm_objective objective)
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
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, p, &a), CM_OK);
    CU_ASSERT_EQUAL_FATAL(a->outcome, outcome);
    return a;
}

/* ---- the dual point by plain loops; planes may all move ---- */

static double product(double complex dual, double complex primal)
{
    return creal(conj(dual) * primal);
}

static double constant_of(const cm_problem *p, const cm_proof *proof)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++) {
        sum += product(proof->row_objective[i] * !proof->contradiction + proof->row_limit[i], p->y[i]);
        if (!isinf(p->limit[i]))
            sum -= p->limit[i] * cabs(proof->row_limit[i]);
    }
    for (int d = 0; d < p->disc_count; d++)
        sum += product(proof->disc[d], p->base[p->discs[d].plane] - p->discs[d].centre) -
               p->discs[d].radius * cabs(proof->disc[d]);
    for (int j = 0; j < p->planes && p->objective == CM_LEAST_MASS; j++)
        sum += product(proof->mass[j], p->base[j]);
    for (int k = 0; k < p->tie_count; k++) {
        double complex excess = -p->tie_value[k];
        for (int j = 0; j < p->planes; j++)
            excess += p->ties[k + j * p->tie_count] * p->base[j];
        sum += product(proof->tie[k], excess);
    }
    return sum / proof->norm;
}

/* Largest |gradient| on a plane, relative to what it is made of. */
static double gradient_of(const cm_problem *p, const cm_proof *proof)
{
    double worst = 0;
    for (int j = 0; j < p->planes; j++) {
        bool masses = p->objective == CM_LEAST_MASS && !proof->contradiction;
        double complex sum = masses ? proof->mass[j] : 0;
        double size = cabs(sum) + 1e-300;
        for (int i = 0; i < p->rows; i++) {
            double complex v = proof->row_objective[i] * !proof->contradiction + proof->row_limit[i];
            sum += conj(p->a[i + j * p->rows]) * v;
            size += cabs(p->a[i + j * p->rows] * v);
        }
        for (int d = 0; d < p->disc_count; d++)
            if (p->discs[d].plane == j) {
                sum += proof->disc[d];
                size += cabs(proof->disc[d]);
            }
        for (int k = 0; k < p->tie_count; k++) {
            sum += conj(p->ties[k + j * p->tie_count]) * proof->tie[k];
            size += cabs(p->ties[k + j * p->tie_count] * proof->tie[k]);
        }
        worst = fmax(worst, cabs(sum) / size);
    }
    return worst;
}

static void check_proof(const cm_problem *p, const cm_answer *a)
{
    CU_ASSERT_PTR_NOT_NULL_FATAL(a->proof);
    CU_ASSERT(gradient_of(p, a->proof) < 1e-8);
    ASSERT_NEAR(constant_of(p, a->proof), a->bound, 1e-8);
    CU_ASSERT(constant_of(p, a->proof) <= a->value * (1 + 1e-9));
}

/* ---- the edge ---- */

/* Within R = 5 (1 + δ) of 8 and 6i the masses are a lens; its tip nearest to no mass at all is the answer:
 * value² = 25 - 9.6 h + h², h² = R² - 25. */
static void test_barely_feasible(void)
{
    static const double spare[] = {1e-2, 1e-4, 1e-6, 1e-8};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 4; k++) {
        double r = 5 * (1 + spare[k]);
        double h = 5 * sqrt(spare[k] * (2 + spare[k]));
        double exact = sqrt(25 - 9.6 * h + h * h);
        const double limits[3] = {r, r, r};
        cm_problem p = triangle(CM_LEAST_MASS);
        p.limit = limits;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        ASSERT_NEAR(a->value, exact, 1e-8);
        CU_ASSERT(a->gap <= 1e-8);
        CU_ASSERT(a->bound <= exact * (1 + 1e-10));
        for (int i = 0; i < 3; i++)
            CU_ASSERT(cabs(a->r[i]) <= r * (1 + 1e-12));
        check_proof(&p, a);
    }
    cm_close(session);
}

/* On the edge itself and a hair inside no proof of 1e-8 is promised, but what is told must hold. */
static void test_on_the_edge(void)
{
    static const double spare[] = {0, 1e-14, 1e-12, 1e-10};
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_LEAST_MASS, CM_LEAST_CHANGE};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 12; k++) {
        double r = 5 * (1 + spare[k / 3]);
        const double limits[3] = {r, r, r};
        cm_problem p = triangle(objectives[k % 3]);
        p.limit = limits;
        p.within_limits = 1;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        double exact = k % 3 == 0 ? sqrt(75) : 5;
        ASSERT_NEAR(a->value, exact, 3e-5);
        CU_ASSERT(a->bound <= exact * (1 + 1e-10));
        CU_ASSERT(a->gap >= 0 && a->gap <= 1e-4);
        for (int i = 0; i < 3; i++)
            CU_ASSERT(cabs(a->r[i]) <= r * (1 + 1e-12));
    }
    cm_close(session);
}

/* The third corner of a right triangle lies on the circle round the other two: which rows bind is a matter of rounding, and the
 * last steps of the solver end within 5e-11, above 1e-11 in half of all directions that the triangle can be turned to. */
#define LAST_STEP 1e-10

static void test_barely_infeasible(void)
{
    static const double short_of[] = {1e-2, 1e-6, 1e-8, 1e-10};
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_LEAST_MASS};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 12; k++) {
        double r = 5 * (1 - short_of[k / 3]), turn = 0.7 * k;
        const double limits[3] = {r, r, r};
        double complex y[ROWS];
        for (int i = 0; i < ROWS; i++)
            y[i] = TRIANGLE[i] * cexp(_Complex_I * turn);
        cm_problem p = triangle(objectives[k % 3]);
        p.y = y;
        p.limit = limits;
        p.within_limits = 1;
        const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
        ASSERT_NEAR(a->limits_factor, 5 / r, LAST_STEP);
        CU_ASSERT(!a->conflict_rows[0] && a->conflict_rows[1] && a->conflict_rows[2]);
        CU_ASSERT_PTR_NOT_NULL_FATAL(a->proof);
        CU_ASSERT(a->proof->contradiction);
        CU_ASSERT(gradient_of(&p, a->proof) < 1e-9);
        CU_ASSERT(constant_of(&p, a->proof) > 0);
    }
    cm_close(session);
}

/* Least squares with a penalty on the mass is one row more: w = -(8 + 6i)/4. */
static void test_penalty_as_a_row(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = triangle(CM_LEAST_SQUARES);
    p.rows = 4;
    ASSERT_NEAR_COMPLEX(solved(session, &p, CM_OPTIMAL)->x[0], -2 - 1.5 * (double complex)_Complex_I, 1e-13);
    cm_close(session);
}

/* ---- discs that clash ---- */

/* A cap of 0 and a step of at most 5 from 10; two discs apart; a tie that a cap of 0 prevents. */
static void test_discs_that_clash(void)
{
    static const cm_disc pairs[3][2] = {
        {{0, 0, 0}, {0, 10, 5}}, {{0, 0, 1}, {0, 10, 5}}, {{0, 0, 0}, {0, 3, 0}}};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 9; k++) {
        cm_problem p = triangle(k % 3 == 0 ? CM_LEAST_SQUARES : k % 3 == 1 ? CM_MIN_MAX : CM_WORST_CASE);
        p.influence_error = 0.1;
        p.disc_count = 2;
        p.discs = pairs[k / 3];
        const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
        CU_ASSERT(a->conflict_planes[0] && isnan(a->limits_factor));
        CU_ASSERT_PTR_NOT_NULL_FATAL(a->proof);
        CU_ASSERT(a->proof->contradiction && constant_of(&p, a->proof) > 1e-3);
        CU_ASSERT(gradient_of(&p, a->proof) < 1e-9);
    }
    cm_close(session);
}

static void test_tie_against_a_cap_of_zero(void)
{
    static const cm_disc caps[2] = {{0, 0, 0}, {1, 0, 0}};
    const double complex three = 3;
    cm_session *session = cm_open(NULL);
    cm_problem p = triangle(CM_MIN_MAX);
    p.planes = 2;
    p.disc_count = 2;
    p.discs = caps;
    p.tie_count = 1;
    p.ties = ONES;
    p.tie_value = &three;
    const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
    CU_ASSERT(a->conflict_planes[0] && a->conflict_planes[1]);
    CU_ASSERT_PTR_NOT_NULL_FATAL(a->proof);
    CU_ASSERT(constant_of(&p, a->proof) > 1e-3 && gradient_of(&p, a->proof) < 1e-12);
    cm_close(session);
}

/* A cap of zero that stands in the way of the limits is named: without it -4 - 3i keeps 5.5. */
static void test_cap_of_zero_in_a_conflict(void)
{
    static const cm_disc cap = {0, 0, 0};
    static const double limits[3] = {5.5, 5.5, 5.5};
    cm_session *session = cm_open(NULL);
    cm_problem p = triangle(CM_LEAST_MASS);
    p.limit = limits;
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *a = solved(session, &p, CM_INFEASIBLE);
    ASSERT_NEAR(a->limits_factor, 8 / 5.5, 1e-10);
    CU_ASSERT(a->conflict_planes[0] && a->conflict_rows[1] && !a->conflict_rows[0] && !a->conflict_rows[2]);
    cm_close(session);
}

/* ---- random problems: min-max and least mass by their conditions ---- */

typedef struct cm_data {
    double complex y[ROWS], a[ROWS * PLANES];
    double weight[ROWS], limit[ROWS];
    cm_disc discs[PLANES];
} cm_data;

static double uniform(void)
{
    return rand() / (double)RAND_MAX - 0.5;
}

static void fill(cm_data *d, double cap)
{
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

static cm_problem problem_of(const cm_data *d, cm_objective objective, int discs)
{
    cm_problem p = triangle(objective);
    p.rows = ROWS;
    p.planes = PLANES;
    p.y = d->y;
    p.a = d->a;
    p.weight = d->weight;
    p.limit = d->limit;
    p.disc_count = discs;
    p.discs = d->discs;
    return p;
}

/* Karush, Kuhn and Tucker of min-max: phasors on rows only where W|r| is the value, and along r; on discs only at the edge. */
static void check_min_max(const cm_problem *p, const cm_answer *a)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++) {
        double share = cabs(a->proof->row_objective[i]) / p->weight[i] / a->proof->norm;
        double size = p->weight[i] * cabs(a->r[i]);
        sum += share;
        CU_ASSERT(share * (a->value - size) <= 1e-8 * a->value);
        double along = product(a->proof->row_objective[i], a->r[i]) / a->proof->norm;
        CU_ASSERT(fabs(along - share * size) <= 1e-8 * a->value);
    }
    ASSERT_NEAR(sum, 1, 1e-12);
    for (int d = 0; d < p->disc_count; d++) {
        double size = cabs(a->proof->disc[d]) / a->proof->norm;
        double along = product(a->proof->disc[d], a->x[p->discs[d].plane]) / a->proof->norm;
        CU_ASSERT(fabs(along - size * p->discs[d].radius) <= 1e-8 * a->value);
    }
}

static void test_kkt_of_min_max(void)
{
    cm_session *session = cm_open(NULL);
    srand(23);
    for (int k = 0; k < 40; k++) {
        cm_data d;
        fill(&d, k < 4 ? 0.01 : 1 + k % 20); /* the first: all caps tight */
        cm_problem p = problem_of(&d, CM_MIN_MAX, k % (PLANES + 1));
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        CU_ASSERT(a->gap <= 1e-9);
        CU_ASSERT(a->iterations < 25);
        check_proof(&p, a);
        check_min_max(&p, a);
    }
    cm_close(session);
}

/* Least mass: phasors of planes have modulus 1 along the mass, at most 1 where there is none; limits bind where they pay. */
static void check_least_mass(const cm_problem *p, const cm_answer *a)
{
    for (int j = 0; j < p->planes; j++) {
        double complex q = a->proof->mass[j] / a->proof->norm;
        CU_ASSERT(cabs(q) <= 1 + 1e-9);
        CU_ASSERT(fabs(product(q, a->x[j]) - cabs(a->x[j])) <= 1e-8 * a->value);
    }
    for (int i = 0; i < p->rows; i++) {
        double complex v = a->proof->row_limit[i] / a->proof->norm;
        CU_ASSERT(fabs(product(v, a->r[i]) - cabs(v) * p->limit[i]) <= 1e-8 * a->value);
    }
}

static void test_kkt_of_least_mass(void)
{
    cm_session *session = cm_open(NULL);
    srand(29);
    for (int k = 0; k < 30; k++) {
        cm_data d;
        fill(&d, 30);
        for (int i = 0; i < ROWS; i++)
            d.limit[i] = 9 + k % 3;
        cm_problem p = problem_of(&d, CM_LEAST_MASS, k % 2 ? PLANES : 0);
        const cm_answer *a = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &a), CM_OK);
        if (a->outcome != CM_OPTIMAL || a->value == 0)
            continue;
        CU_ASSERT(a->gap <= 1e-9);
        check_proof(&p, a);
        check_least_mass(&p, a);
    }
    cm_close(session);
}

/* ---- memory ---- */

typedef struct cm_watch {
    cm_session *session;
    cm_mark last;
    int calls, moves;
} cm_watch;

/* Asked between iterations: has the arena moved since the last one? */
static int watch_arena(void *context)
{
    cm_watch *watch = context;
    cm_mark here = cm_mark_of(watch->session);
    if (watch->calls++ > 0 && (here.block != watch->last.block || here.used != watch->last.used))
        watch->moves++;
    watch->last = here;
    return 0;
}

/* Nothing is allocated inside an iteration: only where one attempt of the cones ends and the next begins. */
static void test_no_allocation_inside(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_LEAST_MASS};
    srand(47);
    for (int k = 0; k < 12; k++) {
        cm_watch watch = {0};
        const cm_host host = {.size = sizeof host, .context = &watch, .stop = watch_arena};
        cm_session *session = watch.session = cm_open(&host);
        cm_data d;
        fill(&d, 5);
        for (int i = 0; i < ROWS; i++)
            d.limit[i] = k % 3 == 2 ? 12 : INFINITY;
        cm_problem p = problem_of(&d, objectives[k % 3], PLANES);
        const cm_answer *a = NULL;
        CU_ASSERT_EQUAL(cm_solve(session, &p, &a), CM_OK);
        CU_ASSERT(watch.moves <= (k % 3 == 2 ? watch.calls / 8 : 0));
        CU_ASSERT(k % 3 == 2 || watch.calls >= 5);
        cm_close(session);
    }
}

/* ---- one, zero, none ---- */

/* Every objective with one row and one plane: |3 + 2x| with cap 1 leaves 1; least mass within 2 is 0.5. */
static void test_one_row_one_plane(void)
{
    static const double value[] = {1, 1, 0.5, 0.5, 1, 1, 5};
    static const double complex reading = 3;
    static const double complex influence = 2;
    static const double complex spread[4] = {0.2};
    static const double limit = 2;
    const cm_disc cap = {0, 0, 1};
    cm_session *session = cm_open(NULL);
    for (int k = CM_LEAST_SQUARES; k <= CM_CONFIDENCE; k++) {
        cm_problem p = triangle((cm_objective)k);
        p.rows = 1;
        p.y = &reading;
        p.a = &influence;
        p.limit = &limit;
        p.spread = k >= CM_EXPECTED ? spread : NULL;
        p.disc_count = 1;
        p.discs = &cap;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        double expected = k == CM_EXPECTED ? sqrt(1 + 0.04) : value[k];
        ASSERT_NEAR(a->value, expected, 1e-9);
        CU_ASSERT(a->gap <= 1e-8);
    }
    cm_close(session);
}

/* Readings of zero: nothing has to be done, and every objective says so. */
static void test_zero_readings(void)
{
    static const double limits[ROWS] = {1, 1, 1, 1, 1, 1, 1, 1};
    cm_session *session = cm_open(NULL);
    srand(31);
    for (int k = CM_LEAST_SQUARES; k <= CM_WORST_CASE; k++) {
        cm_data d;
        fill(&d, 1);
        memset(d.y, 0, sizeof d.y);
        cm_problem p = problem_of(&d, (cm_objective)k, PLANES);
        p.limit = limits;
        p.influence_error = 0.1;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        CU_ASSERT(a->value == 0 && a->gap == 0);
    }
    cm_close(session);
}

/* More planes than rows: nothing is left where caps allow it, also where plain least squares would break a cap. */
static void test_fewer_rows_than_planes(void)
{
    cm_session *session = cm_open(NULL);
    srand(37);
    for (int k = 0; k < 20; k++) {
        cm_data d;
        fill(&d, 1e3);
        for (int i = 0; i < ROWS; i++)
            d.a[i] *= 100; /* the first plane has a hundred times the effect, and next to no cap */
        d.discs[0].radius = 1e-3;
        cm_problem p = problem_of(&d, k % 2 ? CM_MIN_MAX : CM_LEAST_SQUARES, PLANES);
        double complex a[2 * PLANES];
        for (int j = 0; j < PLANES; j++)
            for (int i = 0; i < 2; i++)
                a[i + 2 * j] = d.a[i + ROWS * j];
        p.rows = 2;
        p.a = a;
        const cm_answer *answer = solved(session, &p, CM_OPTIMAL);
        CU_ASSERT(answer->gap == 0);
        CU_ASSERT(answer->value <= 1e-11);
        CU_ASSERT(cabs(answer->x[0]) <= 1e-3);
    }
    cm_close(session);
}

/* A row of weight 0 may hold anything; a sensor that is dead and read as 1e9 changes nothing. */
static void test_weight_of_zero(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_WORST_CASE};
    cm_session *session = cm_open(NULL);
    srand(41);
    for (int k = 0; k < 9; k++) {
        cm_data d;
        fill(&d, 2);
        d.weight[k % ROWS] = 0;
        cm_problem p = problem_of(&d, objectives[k % 3], PLANES);
        p.influence_error = 0.1;
        double before = solved(session, &p, CM_OPTIMAL)->value;
        d.y[k % ROWS] = 1e9;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        ASSERT_NEAR(a->value, before, 1e-12);
        CU_ASSERT(a->gap <= 1e-9 && cabs(a->r[k % ROWS]) > 1e8);
    }
    cm_close(session);
}

/* Condition 1e8 and planes that repeat each other, capped and not, for all objectives about readings. */
static void test_bad_condition(void)
{
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX, CM_WORST_CASE};
    cm_session *session = cm_open(NULL);
    srand(43);
    for (int k = 0; k < 24; k++) {
        cm_data d;
        fill(&d, k % 2 ? 8 : 1e5);
        for (int i = 0; i < ROWS; i++)
            d.a[i + 3 * ROWS] = k < 12 ? d.a[i] + 4e-8 * d.a[i + 3 * ROWS] : (2 - _Complex_I) * d.a[i];
        cm_problem p = problem_of(&d, objectives[k % 3], k % 4 < 2 ? PLANES : 0);
        p.influence_error = 0.1;
        const cm_answer *a = solved(session, &p, CM_OPTIMAL);
        CU_ASSERT(a->gap <= 1e-8);
        CU_ASSERT((k < 12) == (a->rank == PLANES));
        const cm_condition *condition = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_condition_of(session, &p, &condition), CM_OK);
        CU_ASSERT(k >= 12 || (condition->overall > 2e7 && condition->overall < 1e9));
    }
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"barely feasible limits", test_barely_feasible},
        {"limits on the edge", test_on_the_edge},
        {"barely infeasible limits", test_barely_infeasible},
        {"a penalty as a row", test_penalty_as_a_row},
        {"discs that clash", test_discs_that_clash},
        {"a tie against caps of zero", test_tie_against_a_cap_of_zero},
        {"a cap of zero in a conflict", test_cap_of_zero_in_a_conflict},
        {"min-max meets its conditions", test_kkt_of_min_max},
        {"least mass meets its conditions", test_kkt_of_least_mass},
        {"nothing is allocated inside an iteration", test_no_allocation_inside},
        {"one row, one plane", test_one_row_one_plane},
        {"zero readings", test_zero_readings},
        {"fewer rows than planes", test_fewer_rows_than_planes},
        {"weight of zero", test_weight_of_zero},
        {"bad condition, planes that repeat each other", test_bad_condition},
        {NULL, NULL},
    };
    return run_suite("optimise/edges", tests);
}
