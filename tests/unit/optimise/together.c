/* SPDX-License-Identifier: MIT */
/* Pairs of every kind, ties, held planes, a base state, limits, discs and spreads in one problem, for every objective: value,
 * constraints and dual point by plain loops written from countermass/solve.h alone. All CONSTRUCTED. */
#include "suite.h"
#include "countermass/solve.h"

#include <stdlib.h>
#include <string.h>

enum { ROWS = 6, PLANES = 4, PAIRS = 4, TIES = 2, SIZE = PLANES + 1 };

typedef struct cm_data {
    int block[ROWS];
    double complex y[ROWS], a[ROWS * PLANES], base[PLANES], now[PLANES], inside[PLANES];
    double complex ties[TIES * PLANES], tie_value[TIES], spread[ROWS * SIZE * SIZE];
    double complex pair_spread[PAIRS][2 * SIZE * SIZE];
    double weight[ROWS], limit[ROWS];
    unsigned char held[PLANES];
    cm_disc discs[PLANES];
    cm_pair pairs[PAIRS];
} cm_data;

static double uniform(void)
{
    return rand() / (double)RAND_MAX - 0.5;
}

static void draw(int count, double size, double complex *z)
{
    for (int k = 0; k < count; k++) {
        z[k] = size * uniform();
        z[k] += size * uniform() * _Complex_I;
    }
}

/* ---- the primal side ---- */

static double complex reading(const cm_problem *p, int row, const double complex *x)
{
    double complex r = p->y[row];
    for (int j = 0; j < p->planes; j++)
        r += p->a[row + j * p->rows] * (x[j] - p->base[j]);
    return r;
}

static int parts_of(const cm_pair *pair)
{
    return pair->parts ? pair->parts : pair->backward < 0 ? 1 : 2;
}

/* Share of row 0 (forward) or 1 (backward) in a part. */
static double complex share_of(const cm_pair *pair, int part, int which)
{
    return pair->parts ? pair->mix[2 * part + which] : part == which;
}

static double sd_of(const cm_problem *p, const double complex *factor, const double complex *x)
{
    double square = 0;
    for (int k = 0; k <= p->planes; k++) {
        double complex sum = factor[k * (p->planes + 1)];
        for (int j = 0; j < p->planes; j++)
            sum += factor[1 + j + k * (p->planes + 1)] * (x[j] - p->base[j]);
        square += pow(cabs(sum), 2);
    }
    return sqrt(square);
}

/* Sum of the parts, each with kappa times its spread. */
static double size_of(const cm_problem *p, const cm_pair *pair, double kappa, const double complex *x)
{
    int cells = (p->planes + 1) * (p->planes + 1);
    double sum = 0;
    for (int k = 0; k < parts_of(pair); k++) {
        double complex part = share_of(pair, k, 0) * reading(p, pair->forward, x);
        if (pair->backward >= 0)
            part += share_of(pair, k, 1) * reading(p, pair->backward, x);
        sum += cabs(part) + (kappa > 0 ? kappa * sd_of(p, pair->spread + k * cells, x) : 0);
    }
    return sum;
}

static double row_sd(const cm_problem *p, int row, const double complex *x)
{
    return sd_of(p, p->spread + row * (p->planes + 1) * (p->planes + 1), x);
}

static double column_size(const cm_problem *p, int plane)
{
    double square = 0;
    for (int i = 0; i < p->rows; i++)
        square += pow(p->weight[i] * cabs(p->a[i + plane * p->rows]), 2);
    return sqrt(square);
}

static double worst_of(const cm_problem *p, const double complex *x)
{
    double worst = 0;
    for (int i = 0; i < p->rows; i++)
        worst = fmax(worst, p->weight[i] * cabs(reading(p, i, x)));
    for (int k = 0; k < p->pair_count; k++)
        worst = fmax(worst, p->pairs[k].weight * size_of(p, &p->pairs[k], 0, x));
    return worst;
}

/* Largest |r| + kappa sd against its limit, pairs alike. */
static double ratio_of(const cm_problem *p, double kappa, const double complex *x)
{
    double worst = 0;
    for (int i = 0; i < p->rows; i++)
        worst =
            fmax(worst, (cabs(reading(p, i, x)) + (kappa > 0 ? kappa * row_sd(p, i, x) : 0)) / p->limit[i]);
    for (int k = 0; k < p->pair_count; k++)
        worst = fmax(worst, size_of(p, &p->pairs[k], kappa, x) / p->pairs[k].limit);
    return worst;
}

static double complex origin_of(const cm_problem *p, int plane)
{
    return p->objective == CM_LEAST_CHANGE ? p->now[plane]
           : p->objective == CM_LEAST_MASS ? 0
                                           : p->base[plane];
}

static double value_of(const cm_problem *p, const double complex *x)
{
    double square = 0, masses = 0, moved = 0;
    for (int i = 0; i < p->rows; i++) {
        square += pow(p->weight[i] * cabs(reading(p, i, x)), 2);
        if (p->objective == CM_EXPECTED)
            square += pow(p->weight[i] * row_sd(p, i, x), 2);
    }
    for (int j = 0; j < p->planes; j++) {
        masses += cabs(x[j] - origin_of(p, j));
        moved += pow(column_size(p, j) * cabs(x[j] - p->base[j]), 2);
    }
    return p->objective == CM_MIN_MAX                                         ? worst_of(p, x)
           : p->objective == CM_LEAST_MASS || p->objective == CM_LEAST_CHANGE ? masses
           : p->objective == CM_WORST_CASE ? sqrt(square) + p->influence_error * sqrt(moved)
                                           : sqrt(square);
}

static void check_constraints(const cm_problem *p, const double complex *x)
{
    for (int j = 0; j < p->planes; j++)
        CU_ASSERT(!p->held[j] || x[j] == p->held_value[j]);
    for (int d = 0; d < p->disc_count; d++)
        CU_ASSERT(cabs(x[p->discs[d].plane] - p->discs[d].centre) <= p->discs[d].radius * (1 + 1e-11));
    for (int k = 0; k < p->tie_count; k++) {
        double complex sum = -p->tie_value[k];
        for (int j = 0; j < p->planes; j++)
            sum += p->ties[k + j * p->tie_count] * x[j];
        CU_ASSERT(cabs(sum) < 1e-11);
    }
    CU_ASSERT(!p->within_limits || ratio_of(p, 0, x) <= 1 + 1e-11);
}

/* ---- the dual side ---- */

typedef struct cm_dual {
    double constant;
    double complex gradient[PLANES];
} cm_dual;

static double product(double complex dual, double complex primal)
{
    return creal(conj(dual) * primal);
}

static void add_row(const cm_problem *p, int row, double complex v, cm_dual *dual)
{
    dual->constant += product(v, p->y[row]);
    for (int j = 0; j < p->planes; j++)
        dual->gradient[j] += conj(p->a[row + j * p->rows]) * v;
}

static void add_part(const cm_problem *p, const cm_pair *pair, int part, double complex v, cm_dual *dual)
{
    add_row(p, pair->forward, conj(share_of(pair, part, 0)) * v, dual);
    if (pair->backward >= 0)
        add_row(p, pair->backward, conj(share_of(pair, part, 1)) * v, dual);
}

/* Phasors on a spread; their length. */
static double add_spread(const cm_problem *p, const double complex *factor, const double complex *s,
                         cm_dual *dual)
{
    double square = 0;
    for (int k = 0; k <= p->planes; k++) {
        square += pow(cabs(s[k]), 2);
        dual->constant += product(s[k], factor[k * (p->planes + 1)]);
        for (int j = 0; j < p->planes; j++)
            dual->gradient[j] += conj(factor[1 + j + k * (p->planes + 1)]) * s[k];
    }
    return sqrt(square);
}

/* Objective parts; the norm that they are to be divided by. */
static double add_objective(const cm_problem *p, const cm_proof *proof, cm_dual *dual)
{
    double square = 0, sum = 0, longest = 0, masses = 0;
    for (int i = 0; i < p->rows && p->objective != CM_LEAST_MASS && p->objective != CM_LEAST_CHANGE; i++) {
        double size = cabs(proof->row_objective[i]) / p->weight[i];
        add_row(p, i, proof->row_objective[i], dual);
        sum += size;
        square += size * size;
        if (p->objective == CM_EXPECTED)
            square +=
                pow(add_spread(p, p->spread + i * SIZE * SIZE, proof->spread_objective + i * SIZE, dual) /
                        p->weight[i],
                    2);
    }
    for (int k = 0; k < p->pair_count && p->objective == CM_MIN_MAX; k++) {
        double size = 0;
        for (int part = 0; part < parts_of(&p->pairs[k]); part++) {
            size = fmax(size, cabs(proof->pair_objective[2 * k + part]));
            add_part(p, &p->pairs[k], part, proof->pair_objective[2 * k + part], dual);
        }
        sum += size / p->pairs[k].weight;
    }
    for (int j = 0; j < p->planes && p->objective >= CM_LEAST_MASS && p->objective <= CM_WORST_CASE; j++) {
        dual->constant += product(proof->mass[j], p->base[j] - origin_of(p, j));
        dual->gradient[j] += proof->mass[j];
        longest = fmax(longest, cabs(proof->mass[j]));
        masses += pow(cabs(proof->mass[j]) / column_size(p, j), 2);
    }
    return p->objective == CM_MIN_MAX                                         ? sum
           : p->objective == CM_LEAST_MASS || p->objective == CM_LEAST_CHANGE ? longest
           : p->objective == CM_WORST_CASE ? fmax(sqrt(square), sqrt(masses) / p->influence_error)
                                           : sqrt(square);
}

static void add_limits(const cm_problem *p, const cm_proof *proof, cm_dual *dual)
{
    double kappa = p->objective == CM_CONFIDENCE ? proof->kappa : 0;
    for (int i = 0; i < p->rows; i++) {
        double size = cabs(proof->row_limit[i]);
        add_row(p, i, proof->row_limit[i], dual);
        if (kappa > 0)
            size =
                fmax(size, add_spread(p, p->spread + i * SIZE * SIZE, proof->spread_limit + i * SIZE, dual) /
                               kappa);
        dual->constant -= p->limit[i] * size;
    }
    for (int k = 0; k < p->pair_count; k++) {
        double size = 0;
        for (int part = 0; part < parts_of(&p->pairs[k]); part++) {
            size = fmax(size, cabs(proof->pair_limit[2 * k + part]));
            add_part(p, &p->pairs[k], part, proof->pair_limit[2 * k + part], dual);
            if (kappa > 0)
                size = fmax(size, add_spread(p, p->pairs[k].spread + part * SIZE * SIZE,
                                             proof->spread_pair + (2 * k + part) * SIZE, dual) /
                                      kappa);
        }
        dual->constant -= p->pairs[k].limit * size;
    }
}

static void add_places(const cm_problem *p, const cm_proof *proof, cm_dual *dual)
{
    for (int d = 0; d < p->disc_count; d++) {
        int j = p->discs[d].plane;
        dual->constant += product(proof->disc[d], p->base[j] - p->discs[d].centre) -
                          p->discs[d].radius * cabs(proof->disc[d]);
        dual->gradient[j] += proof->disc[d];
    }
    for (int k = 0; k < p->tie_count; k++) {
        double complex excess = -p->tie_value[k];
        for (int j = 0; j < p->planes; j++) {
            excess += p->ties[k + j * p->tie_count] * p->base[j];
            dual->gradient[j] += conj(p->ties[k + j * p->tie_count]) * proof->tie[k];
        }
        dual->constant += product(proof->tie[k], excess);
    }
}

/* No masses do better than constant/norm, or for confidence: none reach the kappa of the proof. */
static void check_dual(const cm_problem *p, const cm_answer *a)
{
    CU_ASSERT_PTR_NOT_NULL_FATAL(a->proof);
    cm_dual dual = {0};
    double norm = p->objective == CM_CONFIDENCE ? 1 : add_objective(p, a->proof, &dual);
    if (p->within_limits || p->objective == CM_CONFIDENCE)
        add_limits(p, a->proof, &dual);
    add_places(p, a->proof, &dual);
    for (int j = 0; j < p->planes; j++)
        if (p->held[j])
            dual.constant += product(dual.gradient[j], p->held_value[j] - p->base[j]);
        else
            CU_ASSERT(cabs(dual.gradient[j]) <= 1e-6 * norm);
    if (p->objective == CM_CONFIDENCE) {
        CU_ASSERT(dual.constant > 0 && a->proof->kappa >= a->value);
        ASSERT_NEAR(a->bound, a->proof->kappa, 1e-12);
        return;
    }
    ASSERT_NEAR(a->proof->norm, norm, 1e-9);
    ASSERT_NEAR(dual.constant / norm, a->bound, 1e-7);
    CU_ASSERT(dual.constant / norm <= a->value * (1 + 1e-7));
}

/* ---- the problems ---- */

static void fill_pairs(cm_data *d)
{
    static const int backward[PAIRS] = {1, -1, 3, 4}, parts[PAIRS] = {0, 0, 1, 2};
    for (int k = 0; k < PAIRS; k++) {
        d->pairs[k] =
            (cm_pair){.forward = k, .backward = backward[k], .weight = 1 + uniform(), .parts = parts[k]};
        draw(4, 1, d->pairs[k].mix);
        draw(2 * SIZE * SIZE, 0.05, d->pair_spread[k]);
        d->pairs[k].spread = d->pair_spread[k];
    }
}

/* Ties and discs around masses that are allowed, limits that these masses keep. */
static cm_problem random_problem(cm_data *d, cm_objective objective, int ties, bool holds)
{
    memset(d, 0, sizeof *d);
    draw(ROWS, 20, d->y);
    draw(ROWS * PLANES, 2, d->a);
    draw(PLANES, 2, d->base);
    draw(PLANES, 2, d->now);
    draw(PLANES, 6, d->inside);
    draw(TIES * PLANES, 2, d->ties);
    draw(ROWS * SIZE * SIZE, 0.1, d->spread);
    fill_pairs(d);
    d->held[1] = holds;
    for (int j = 0; j < PLANES; j++)
        d->discs[j] = (cm_disc){j, d->inside[j], 2 + uniform()};
    for (int k = 0; k < ties; k++)
        for (int j = 0; j < PLANES; j++)
            d->tie_value[k] += d->ties[k + j * ties] * d->inside[j];
    cm_problem p = {.size = sizeof p, .objective = objective, .rows = ROWS, .planes = PLANES, .blocks = 1};
    p.block = d->block;
    p.y = d->y, p.a = d->a, p.base = d->base, p.now = d->now, p.weight = d->weight, p.limit = d->limit;
    p.held = d->held, p.held_value = d->inside;
    p.disc_count = PLANES, p.discs = d->discs;
    p.tie_count = ties, p.ties = d->ties, p.tie_value = d->tie_value;
    p.pair_count = PAIRS, p.pairs = d->pairs;
    p.within_limits = 1, p.influence_error = 0.1, p.mass_unit = 1, p.mass_zero = 1e-12;
    p.spread = objective >= CM_EXPECTED ? d->spread : NULL;
    for (int i = 0; i < ROWS; i++) {
        d->weight[i] = 1 + uniform();
        d->limit[i] = 1.05 * cabs(reading(&p, i, d->inside)) + 0.1;
    }
    for (int k = 0; k < PAIRS; k++)
        d->pairs[k].limit = 1.04 * size_of(&p, &d->pairs[k], 0, d->inside) + 0.1;
    return p;
}

static void test_all_together(void)
{
    cm_session *session = cm_open(NULL);
    srand(53);
    for (int k = 0; k < 84; k++) {
        cm_data d;
        cm_problem p = random_problem(&d, (cm_objective)(k % 7), k / 7 % 3, k / 7 % 2);
        const cm_answer *a = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &a), CM_OK);
        CU_ASSERT_EQUAL_FATAL(a->outcome, CM_OPTIMAL);
        check_constraints(&p, a->x);
        for (int i = 0; i < ROWS; i++)
            ASSERT_NEAR_COMPLEX(a->r[i], reading(&p, i, a->x), 1e-12);
        if (p.objective == CM_CONFIDENCE)
            ASSERT_NEAR(ratio_of(&p, a->value, a->x), 1, 1e-9)
        else
            ASSERT_NEAR(a->value, value_of(&p, a->x), 1e-11);
        CU_ASSERT(a->gap <= (p.objective == CM_CONFIDENCE ? 1e-6 : 1e-8));
        check_dual(&p, a);
    }
    cm_close(session);
}

/* ---- what limits are worth, by doing it ---- */

static double solved_value(cm_session *session, const cm_problem *p)
{
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, p, &a), CM_OK);
    CU_ASSERT_EQUAL_FATAL(a->outcome, CM_OPTIMAL);
    return a->value;
}

/* Slope of the value in the logarithm of one limit, which the weight follows: pair when `row` is beyond the rows. */
static double slope_of(cm_session *session, cm_data *d, const cm_problem *p, int row)
{
    const double step = 1e-3;
    double *limit = row < ROWS ? &d->limit[row] : &d->pairs[row - ROWS].limit;
    double *weight = row < ROWS ? &d->weight[row] : &d->pairs[row - ROWS].weight;
    double limit_was = *limit, weight_was = *weight, value[2];
    for (int k = 0; k < 2; k++) {
        *limit = limit_was * exp(k ? step : -step);
        *weight = weight_was * exp(k ? -step : step);
        value[k] = solved_value(session, p);
    }
    *limit = limit_was;
    *weight = weight_was;
    return (value[1] - value[0]) / (2 * step);
}

static void test_what_limits_are_worth(void)
{
    static const cm_objective objectives[] = {CM_MIN_MAX, CM_LEAST_MASS, CM_EXPECTED, CM_CONFIDENCE};
    cm_session *session = cm_open(NULL);
    srand(59);
    for (int k = 0; k < 12; k++) {
        cm_data d;
        cm_problem p = random_problem(&d, objectives[k % 4], k % 2, false);
        const cm_answer *a = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &a), CM_OK);
        CU_ASSERT_EQUAL_FATAL(a->outcome, CM_OPTIMAL);
        double sign = p.objective == CM_CONFIDENCE ? 1 : -1;
        for (int row = 0; row < ROWS + PAIRS; row++) {
            double told = row < ROWS ? a->row_multiplier[row] : a->pair_multiplier[row - ROWS];
            double done = sign * slope_of(session, &d, &p, row);
            CU_ASSERT(fabs(told - done) <= 2e-3 * fmax(1, a->value));
        }
    }
    cm_close(session);
}

/* ---- small ones in closed form ---- */

static const int BLOCK[ROWS] = {0};
static const double complex NONE[PLANES] = {0};
static const double ONES[ROWS] = {1, 1, 1, 1, 1, 1};
static const double FREE[ROWS] = {INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};

static cm_problem small(cm_objective objective, int rows, int planes, const double complex *y,
                        const double complex *a)
{
    return (cm_problem){.size = sizeof(cm_problem),
                        .objective = objective,
                        .rows = rows,
                        .planes = planes,
                        .blocks = 1,
                        .block = BLOCK,
                        .y = y,
                        .a = a,
                        .weight = ONES,
                        .limit = FREE,
                        .base = NONE,
                        .now = NONE,
                        .mass_unit = 1,
                        .mass_zero = 1e-12};
}

static const cm_answer *optimum(cm_session *session, const cm_problem *p)
{
    const cm_answer *a = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, p, &a), CM_OK);
    CU_ASSERT_EQUAL_FATAL(a->outcome, CM_OPTIMAL);
    return a;
}

/* A pair whose first row nothing reaches is the second row alone: 10 - m ≤ 4 takes 6, and each 1 % of the limit is worth 0.04;
 * with a cap of 2 the largest is 8, each unit of the cap worth 1. */
static void test_pair_of_one_live_row(void)
{
    static const double complex y[2] = {0, 10}, a[2] = {0, 1};
    static const double weight[2] = {0, 0};
    static const cm_pair pair = {.forward = 0, .backward = 1, .weight = 1, .limit = 4};
    static const cm_disc cap = {0, 0, 2};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_LEAST_MASS, 2, 1, y, a);
    p.weight = weight;
    p.pair_count = 1;
    p.pairs = &pair;
    const cm_answer *least = optimum(session, &p);
    ASSERT_NEAR(least->value, 6, 1e-9);
    ASSERT_NEAR(least->pair_multiplier[0], 4, 1e-6);
    p.objective = CM_MIN_MAX;
    p.disc_count = 1;
    p.discs = &cap;
    const cm_answer *even = optimum(session, &p);
    ASSERT_NEAR(even->value, 8, 1e-9);
    ASSERT_NEAR(even->bound, 8, 1e-7);
    ASSERT_NEAR(even->disc_multiplier[0], 1, 1e-6);
    cm_close(session);
}

/* x1 + x2 = 1 and 2 (x1 + x2) = 5 - x0/2 with x0 = 0: no masses, and the multipliers are as 2 to -1. */
static void test_ties_against_a_cap_of_zero(void)
{
    static const double complex y[1] = {1}, a[3] = {1, 1, 1};
    static const double complex ties[6] = {1, 0.5, 1, 2, 1, 2}, value[2] = {1, 5};
    static const cm_disc cap = {0, 0, 0};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_MIN_MAX, 1, 3, y, a);
    p.disc_count = 1;
    p.discs = &cap;
    p.tie_count = 2;
    p.ties = ties;
    p.tie_value = value;
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    CU_ASSERT_EQUAL_FATAL(answer->outcome, CM_INFEASIBLE);
    CU_ASSERT(answer->conflict_planes[0] && !answer->conflict_planes[1] && !answer->conflict_planes[2]);
    CU_ASSERT_PTR_NOT_NULL_FATAL(answer->proof);
    const double complex *tie = answer->proof->tie;
    ASSERT_NEAR_COMPLEX(tie[0] / tie[1], -2, 1e-12);
    CU_ASSERT(-creal(conj(tie[0]) * value[0] + conj(tie[1]) * value[1]) > 0);
    ASSERT_NEAR_COMPLEX(tie[0] + 0.5 * tie[1] + answer->proof->disc[0], 0, 1e-12);
    cm_close(session);
}

/* One row, two planes: the last digit of a mass of 1 with a coefficient of 1000 is coarser than what counts as zero beside
 * a reading of 0.001; the other plane, with a coefficient of 0.001, takes the rest. */
static void test_last_digits_of_nothing(void)
{
    static const double complex a[2] = {1000, 0.001};
    cm_session *session = cm_open(NULL);
    srand(61);
    for (int k = 0; k < 20; k++) {
        double complex y[1], base[2] = {1.5, 1};
        draw(1, 0.002, y);
        base[0] += uniform();
        cm_problem p = small(CM_MIN_MAX, 1, 2, y, a);
        p.base = base;
        const cm_answer *answer = optimum(session, &p);
        CU_ASSERT(answer->value <= 1e-12 * cabs(y[0]) && answer->gap == 0);
    }
    cm_close(session);
}

/* A row of weight 0 that the runs do not tell stands in nobody's way. */
static void test_untold_row_without_weight(void)
{
    static const double complex y[2] = {1, 7}, a[2] = {1, 1};
    static const double weight[2] = {1, 0};
    static const unsigned char told[2] = {1, 0};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_LEAST_SQUARES, 2, 1, y, a);
    p.weight = weight;
    p.determined = told;
    const cm_answer *answer = optimum(session, &p);
    ASSERT_NEAR_COMPLEX(answer->x[0], -1, 1e-14);
    CU_ASSERT(answer->r[1] == 0);
    cm_close(session);
}

/* A disc without an end beside a cap, planes tied: x0 = 2 x1, |x1| ≤ 1 leaves 10 - 3. */
static void test_tie_and_a_disc_without_end(void)
{
    static const double complex y[1] = {10}, a[2] = {1, 1}, ties[2] = {1, -2}, zero = 0;
    static const cm_disc discs[2] = {{0, 0, INFINITY}, {1, 0, 1}};
    static const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 2; k++) {
        cm_problem p = small(objectives[k], 1, 2, y, a);
        p.disc_count = 2;
        p.discs = discs;
        p.tie_count = 1;
        p.ties = ties;
        p.tie_value = &zero;
        const cm_answer *answer = optimum(session, &p);
        ASSERT_NEAR(answer->value, 7, 1e-9);
        ASSERT_NEAR_COMPLEX(answer->x[0], -2, 1e-7);
        CU_ASSERT(answer->gap <= 1e-8);
    }
    cm_close(session);
}

/* ---- planes that hardly differ ---- */

enum { MANY_ROWS = 10, MANY_PLANES = 7 };

/* Planes of very different effect whose patterns differ by 1e-4, and limits that half of them can keep by themselves. */
static const cm_answer *hardly_different(cm_session *session, int seed)
{
    static double complex y[MANY_ROWS], a[MANY_ROWS * MANY_PLANES], now[MANY_PLANES], none[MANY_PLANES];
    static double weight[MANY_ROWS], limit[MANY_ROWS];
    static int block[MANY_ROWS];
    int rows = 3 + seed % 8, planes = 2 + seed % 6;
    srand((unsigned)seed + 1);
    draw(rows, 20, y);
    draw(rows * planes, 2, a);
    for (int i = 0; i < rows; i++)
        limit[i] = cabs(y[i]);
    double complex left[MANY_ROWS];
    memcpy(left, y, sizeof left);
    for (int j = 0; j < planes; j++) {
        double size = pow(10, 6 * uniform());
        double complex inside[1];
        draw(1, 8 / size, inside);
        draw(1, 2, &now[j]);
        for (int i = 0; i < rows; i++) {
            a[i + j * rows] = j == 0 ? size * a[i] : a[i] * (1 + j) + 1e-4 * size * a[i + j * rows];
            left[i] += j < planes / 2 ? a[i + j * rows] * inside[0] : 0;
        }
    }
    for (int i = 0; i < rows; i++) {
        weight[i] = 1;
        limit[i] = cabs(left[i]) * 0.9 + 0.05;
    }
    cm_problem p = {.size = sizeof p,
                    .rows = rows,
                    .planes = planes,
                    .blocks = 1,
                    .block = block,
                    .y = y,
                    .a = a,
                    .objective = seed % 4 == 3 ? CM_LEAST_CHANGE : CM_LEAST_MASS,
                    .weight = weight,
                    .limit = limit,
                    .base = none,
                    .now = now,
                    .mass_unit = 1,
                    .mass_zero = 1e-12};
    const cm_answer *answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, &p, &answer), CM_OK);
    return answer;
}

/* Where the cones leave a mass of next to nothing and a gap of more than 1e-9, the plane at rest closes it. */
static void test_planes_at_rest(void)
{
    static const int seeds[] = {73, 166, 215, 268, 278, 327, 337, 382};
    cm_session *session = cm_open(NULL);
    for (size_t k = 0; k < sizeof seeds / sizeof *seeds; k++) {
        const cm_answer *answer = hardly_different(session, seeds[k]);
        CU_ASSERT_EQUAL_FATAL(answer->outcome, CM_OPTIMAL);
        CU_ASSERT(answer->gap <= 1e-9);
    }
    cm_close(session);
}

/* ---- one objective kept while another is improved ---- */

/* Rows 6 and 0, seen alike: least squares is -3; row 1 may not exceed 2, so -2, masses kept to 5. */
static void test_kept_masses_keep_limits(void)
{
    static const double complex y[2] = {6, 0}, a[2] = {1, 1};
    static const double limit[2] = {INFINITY, 2};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_LEAST_SQUARES, 2, 1, y, a);
    p.limit = limit;
    p.keeps = 1;
    p.kept = CM_LEAST_MASS;
    p.keep_at = 5;
    const cm_answer *answer = optimum(session, &p);
    ASSERT_NEAR_COMPLEX(answer->x[0], -2, 1e-8);
    ASSERT_NEAR(answer->value, sqrt(20), 1e-9);
    ASSERT_NEAR(answer->bound, sqrt(20), 1e-8);
    CU_ASSERT(answer->gap <= 1e-8);
    cm_close(session);
}

/* Rows 8 and 6i, seen alike, the third in nobody's way: the largest is 5 at -(4 + 3i) and may be 5.5; then the mass of all
 * those circles meet in is least at the tip of the lens next to 0. Limits that are not asked for do not bind. */
static void test_then_least_mass(void)
{
    static const double complex y[2] = {8, 6 * _Complex_I}, a[2] = {1, 1};
    static const double limit[2] = {1, 1};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_MIN_MAX, 2, 1, y, a);
    p.limit = limit;
    p.then = 1;
    p.second = CM_LEAST_MASS;
    p.within = 0.1;
    const cm_answer *answer = optimum(session, &p);
    double h = sqrt(5.5 * 5.5 - 25);
    ASSERT_NEAR(answer->then_best, 5, 1e-9);
    ASSERT_NEAR(answer->value, 5.5, 1e-9);
    ASSERT_NEAR(answer->gap, 0.5 / 5.5, 1e-8);
    ASSERT_NEAR(answer->then_value, sqrt(25 - 9.6 * h + h * h), 1e-8);
    CU_ASSERT(answer->then_gap <= 1e-8);
    cm_close(session);
}

/* |1000 + 100 x| ≤ 400 takes a mass of 6; with 6.6 of it the largest is 340. The change alike, counted from 1 on the rotor. */
static void test_then_min_max(void)
{
    static const double complex y[1] = {1000}, a[1] = {100}, now[1] = {-1};
    static const double limit[1] = {400};
    cm_session *session = cm_open(NULL);
    for (int k = 0; k < 2; k++) {
        cm_problem p = small(k ? CM_LEAST_CHANGE : CM_LEAST_MASS, 1, 1, y, a);
        p.limit = limit;
        p.now = now;
        p.then = 1;
        p.second = CM_MIN_MAX;
        p.within = 0.1;
        const cm_answer *answer = optimum(session, &p);
        ASSERT_NEAR(answer->then_best, k ? 5 : 6, 1e-9);
        ASSERT_NEAR(answer->then_value, k ? 350 : 340, 1e-8);
        CU_ASSERT(answer->then_gap <= 1e-8);
    }
    cm_close(session);
}

/* Two planes take 6 away in any shares: the least mass is all on the plane with twice the effect. A pair of weight 0 over a
 * row that only the other plane moves has no say. */
static void test_then_of_nothing_left(void)
{
    static const double complex y[2] = {6, 1}, a[4] = {2, 0, 1, 1};
    static const double weight[2] = {1, 0};
    static const cm_pair pair = {.forward = 1, .backward = -1, .weight = 0, .limit = INFINITY};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_MIN_MAX, 2, 2, y, a);
    p.weight = weight;
    p.pair_count = 1;
    p.pairs = &pair;
    p.then = 1;
    p.second = CM_LEAST_MASS;
    p.within = 0.1;
    const cm_answer *answer = optimum(session, &p);
    CU_ASSERT(answer->value <= 1e-11);
    ASSERT_NEAR(answer->then_value, 3, 1e-9);
    cm_close(session);
}

/* All that is allowed is tied by the first objective: masses as they were, with a disc on the plane. */
static void test_then_within_a_cap(void)
{
    static const double complex y[1] = {10}, a[1] = {1};
    cm_disc *cap = malloc(sizeof *cap); /* of its own: what lies behind it is nobody's */
    *cap = (cm_disc){0, 0, 4};
    cm_session *session = cm_open(NULL);
    cm_problem p = small(CM_MIN_MAX, 1, 1, y, a);
    p.disc_count = 1;
    p.discs = cap;
    p.then = 1;
    p.second = CM_LEAST_MASS;
    p.within = 0.05; /* of 6: 3.7 will do */
    const cm_answer *answer = optimum(session, &p);
    ASSERT_NEAR(answer->then_value, 3.7, 1e-8);
    CU_ASSERT(!answer->at_cap[0]);
    cm_close(session);
    free(cap);
}

int main(void)
{
    static const cm_test tests[] = {
        {"everything at once, by plain loops", test_all_together},
        {"what limits are worth", test_what_limits_are_worth},
        {"a pair of one live row", test_pair_of_one_live_row},
        {"ties against a cap of zero", test_ties_against_a_cap_of_zero},
        {"the last digits of nothing", test_last_digits_of_nothing},
        {"an untold row without weight", test_untold_row_without_weight},
        {"a tie and a disc without end", test_tie_and_a_disc_without_end},
        {"planes at rest", test_planes_at_rest},
        {"kept masses keep limits", test_kept_masses_keep_limits},
        {"then least mass", test_then_least_mass},
        {"then min-max", test_then_min_max},
        {"then, of nothing left", test_then_of_nothing_left},
        {"then, within a cap", test_then_within_a_cap},
        {NULL, NULL},
    };
    return run_suite("optimise/together", tests);
}
