/* SPDX-License-Identifier: MIT */
/* Changes at single positions against every choice there is; what ends for want of time. */
#include "suite.h"
#include "place/singles.h"
#include "place/sums.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#undef I

#define PI 3.14159265358979323846

enum { HOLES = 5, ROWS = 3, PLANES = 2, CHOICES = 243 };

static cm_session *session;
static cm_shop_site sites[HOLES];
static const cm_shop_piece PIECES[] = {{.mass = 0.020, .stock = 3}, {.mass = 0.033, .stock = INT_MAX}};

static cm_shop_plane ring(void)
{
    for (int s = 0; s < HOLES; s++)
        sites[s] = (cm_shop_site){.number = s + 1,
                                  .direction = cexp((2 * PI * s / HOLES + 0.1 * s * s) * _Complex_I)};
    return (cm_shop_plane){.used = 1,
                           .radius = 0.2,
                           .reduce = 1,
                           .per_site = 1,
                           .most = INT_MAX,
                           .site_count = HOLES,
                           .sites = sites,
                           .piece_count = 2,
                           .pieces = PIECES};
}

/* What a choice of loads, three to a hole, adds; NAN: more of the first piece than there are. */
static double complex sum_of(int choice)
{
    double complex sum = 0;
    int first = 0;
    for (int s = 0; s < HOLES; s++, choice /= 3) {
        first += choice % 3 == 1;
        sum += choice % 3 ? PIECES[choice % 3 - 1].mass * sites[s].direction : 0;
    }
    return first > PIECES[0].stock ? NAN : sum;
}

typedef struct cm_setting {
    double complex y[ROWS], a[ROWS * PLANES], zero[PLANES];
    double weight[ROWS], limit[ROWS];
    unsigned char determined[ROWS], held[PLANES];
    cm_disc disc;
    cm_shop_plane shop;
    cm_shelf shelf[PLANES];
    cm_problem problem;
    cm_board board;
} cm_setting;

static void set(cm_setting *t, unsigned seed, cm_objective objective)
{
    *t = (cm_setting){.shop = ring(), .disc = {0, 0, 0.06}};
    srand(seed);
    for (int i = 0; i < ROWS; i++) {
        t->y[i] = (1 + rand() % 100 / 50.0) * cexp(rand() % 628 / 100.0 * _Complex_I);
        t->weight[i] = t->limit[i] = t->determined[i] = 1;
        for (int k = 0; k < PLANES; k++)
            t->a[i + ROWS * k] = (10 + rand() % 40) * cexp(rand() % 628 / 100.0 * _Complex_I);
    }
    t->problem = (cm_problem){.size = sizeof t->problem,
                              .rows = ROWS,
                              .planes = PLANES,
                              .objective = objective,
                              .y = t->y,
                              .a = t->a,
                              .weight = t->weight,
                              .limit = t->limit,
                              .determined = t->determined,
                              .now = t->zero,
                              .base = t->zero,
                              .held = t->held,
                              .disc_count = 1,
                              .discs = &t->disc};
    t->board = (cm_board){.p = &t->problem,
                          .plane = CM_NEW(session, PLANES, int),
                          .points = CM_NEW(session, PLANES, cm_points),
                          .centre = CM_NEW(session, PLANES, double complex),
                          .reach = CM_NEW(session, PLANES, double),
                          .spacing = CM_NEW(session, PLANES, double),
                          .free_plane = CM_NEW(session, PLANES, unsigned char),
                          .still = t->zero};
    for (int k = 0; k < PLANES; k++) {
        t->shelf[k] = cm_shelf_of(session, &t->problem, &t->shop, k, INFINITY);
        t->board.plane[k] = k;
        t->board.points[k] = t->shelf[k].points;
        t->board.centre[k] = t->shelf[k].centre;
        t->board.reach[k] = t->shelf[k].reach;
        t->board.spacing[k] = t->shelf[k].spacing;
    }
    t->board.n = PLANES;
    cm_board_fill(session, &t->board);
}

static double value2_at(const cm_setting *t, double complex first, double complex second)
{
    double sum = 0, most = 0;
    for (int i = 0; i < ROWS; i++) {
        double size = cabs(t->y[i] + t->a[i] * first + t->a[i + ROWS] * second);
        sum += size * size;
        most = fmax(most, size * size);
    }
    return t->problem.objective == CM_MIN_MAX ? most : sum;
}

static double best_of_all(const cm_setting *t)
{
    double best = INFINITY;
    for (int i = 0; i < CHOICES; i++)
        for (int k = 0; k < CHOICES; k++) {
            double complex first = sum_of(i), second = sum_of(k);
            if (!isnan(creal(first)) && !isnan(creal(second)) && cabs(first) <= t->disc.radius)
                best = fmin(best, value2_at(t, first, second));
        }
    return best;
}

/* Two planes, five holes, two sizes, stock and a cap: 243 x 243 choices by plain loops. */
static void test_against_all(void)
{
    const cm_objective objectives[] = {CM_LEAST_SQUARES, CM_MIN_MAX};
    cm_setting *t = CM_NEW(session, 1, cm_setting);
    int reached = 0;
    for (unsigned seed = 0; seed < 8; seed++) {
        set(t, seed, objectives[seed % 2]);
        cm_levels levels = cm_levels_new(session, &t->board, INFINITY);
        cm_single_question q = {.board = &t->board,
                                .shelves = t->shelf,
                                .levels = &levels,
                                .deadline = INFINITY,
                                .most_rounds = 400,
                                .keep = 2};
        cm_singles found = cm_singles_of(session, &q), again = cm_singles_of(session, &q);
        CU_ASSERT_FATAL(found.count > 0 && again.count == found.count);
        double best = best_of_all(t);
        reached += fabs(found.best[0].score - best) <= 1e-9 * best;
        CU_ASSERT(found.best[0].score >= best * (1 - 1e-9));
        CU_ASSERT(found.count < 2 || found.best[1].score >= found.best[0].score);
        CU_ASSERT(!memcmp(&found.best[0].score, &again.best[0].score, sizeof(double)));
        ASSERT_NEAR(value2_at(t, found.best[0].x[0], found.best[0].x[1]), found.best[0].score, 1e-9 * best);
        for (int k = 0; k < PLANES; k++) {
            double complex sum = 0;
            int first = 0;
            for (int s = 0; s < HOLES; s++)
                if (found.best[0].load[k][s] >= 0) {
                    double mass = t->shelf[k].loads.load[found.best[0].load[k][s]].mass;
                    sum += mass * sites[s].direction;
                    first += mass < 0.03;
                }
            ASSERT_NEAR(cabs(sum - found.best[0].x[k]), 0, 1e-12);
            CU_ASSERT(first <= PIECES[0].stock);
        }
    }
    CU_ASSERT_EQUAL(reached, 8);
    outside("changes at single positions of two planes", "every choice by plain loops", "constructed",
            "eight cases, least squares and min-max, with stock and a cap");
}

/* No time: the choices to begin with are cut short, sums are forgotten. */
static void test_no_time(void)
{
    cm_shop_plane shop = ring();
    cm_loads loads = cm_loads_of(session, &shop);
    cm_shop_site many[400];
    for (int s = 0; s < 400; s++)
        many[s] = (cm_shop_site){.number = s, .direction = cexp(0.7 * s * s * _Complex_I)};
    shop.sites = many;
    shop.site_count = 400;
    shop.most = 2;
    cm_loads wide = cm_loads_of(session, &shop);
    CU_ASSERT_TRUE(cm_sums_of(session, &wide, NULL, INT_MAX, INT_MAX, cm_sums_cell(&wide), INFINITY).all);
    CU_ASSERT_FALSE(cm_sums_of(session, &wide, NULL, INT_MAX, INT_MAX, cm_sums_cell(&wide), 0).all);
    CU_ASSERT_EQUAL(cm_points_nearest(&(cm_points){0}, 1), -1);
    ASSERT_NEAR(cm_sums_cell(&loads), 1e-8 * 0.033, 1e-15);
}

/* Every choice lies within the reach, and the farthest one nearly at it. */
static void test_reach(void)
{
    cm_shop_plane shop = ring();
    cm_loads loads = cm_loads_of(session, &shop);
    double farthest = 0;
    for (int choice = 0; choice < CHOICES; choice++)
        if (!isnan(creal(sum_of(choice))))
            farthest = fmax(farthest, cabs(sum_of(choice)));
    double reach = cm_loads_reach(session, &loads);
    CU_ASSERT(reach >= farthest);
    CU_ASSERT(reach <= farthest * 1.0001);
}

int main(void)
{
    const cm_test tests[] = {
        {"single positions against every choice", test_against_all},
        {"no time and nothing listed", test_no_time},
        {"how far positions reach", test_reach},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("place/singles", tests);
    cm_close(session);
    return status;
}
