/* SPDX-License-Identifier: MIT */
/* What a plane can make, points by distance, drilled holes, splitting. */
#include "suite.h"
#include "place/hand_work.h"
#include "place/points.h"
#include "place/sums.h"

#include <limits.h>

#undef I

#define PI 3.14159265358979323846

enum { HOLES = 12, PIECE_KINDS = 2 };

static cm_session *session;

static cm_shop_plane ring(cm_shop_site *sites, const cm_shop_piece *pieces, int kinds)
{
    for (int s = 0; s < HOLES; s++)
        sites[s] = (cm_shop_site){.number = s + 1, .direction = cexp(2 * PI * s / HOLES * _Complex_I)};
    return (cm_shop_plane){.used = 1,
                           .radius = 0.2,
                           .reduce = 1,
                           .per_site = 1,
                           .most = INT_MAX,
                           .site_count = HOLES,
                           .sites = sites,
                           .piece_count = kinds,
                           .pieces = pieces};
}

static int living(const cm_sums *sums)
{
    int count = 0;
    for (int i = 0; i < sums->count; i++)
        count += !sums->sum[i].dead;
    return count;
}

/* Two hexagons, each of 19 sums (the points of a hexagonal lattice within two steps): constructed. */
static void test_one_size(void)
{
    cm_shop_site sites[HOLES];
    const cm_shop_piece piece = {.mass = 0.02, .stock = INT_MAX};
    cm_shop_plane shop = ring(sites, &piece, 1);
    cm_loads loads = cm_loads_of(session, &shop);
    cm_sums sums = cm_sums_of(session, &loads, NULL, INT_MAX, 100000, cm_sums_cell(&loads), INFINITY);
    CU_ASSERT(sums.all);
    CU_ASSERT_EQUAL(living(&sums), 19 * 19);
    outside("different masses of one piece size in twelve holes", "two hexagons of 19 sums each",
            "constructed", "361");
}

/* Every choice of two sizes in six holes of twelve, by plain loops: same sums, no fewer pieces. */
static void test_two_sizes(void)
{
    cm_shop_site sites[HOLES];
    const cm_shop_piece pieces[PIECE_KINDS] = {{.mass = 0.02, .stock = INT_MAX},
                                               {.mass = 0.045, .stock = INT_MAX}};
    cm_shop_plane shop = ring(sites, pieces, PIECE_KINDS);
    for (int s = 1; s < HOLES; s += 2)
        sites[s].blocked = 1;
    cm_loads loads = cm_loads_of(session, &shop);
    cm_sums sums = cm_sums_of(session, &loads, NULL, INT_MAX, 100000, cm_sums_cell(&loads), INFINITY);
    int found = 0, fewest = 0;
    for (int choice = 0; choice < 729; choice++) {
        double complex sum = 0;
        int handled = 0, best = -1;
        for (int s = 0, left = choice; s < HOLES; s += 2, left /= 3) {
            sum += left % 3 ? pieces[left % 3 - 1].mass * sites[s].direction : 0;
            handled += left % 3 > 0;
        }
        for (int i = 0; i < sums.count; i++)
            if (!sums.sum[i].dead && cabs(sums.sum[i].x - sum) < 1e-12)
                best = sums.sum[i].handled;
        found += best >= 0;
        fewest += best >= 0 && best <= handled;
    }
    CU_ASSERT_EQUAL(found, 729);
    CU_ASSERT_EQUAL(fewest, 729);
}

static void test_stock(void)
{
    cm_shop_site sites[HOLES];
    const cm_shop_piece piece = {.mass = 0.02, .stock = 2};
    cm_shop_plane shop = ring(sites, &piece, 1);
    cm_loads loads = cm_loads_of(session, &shop);
    cm_sums sums = cm_sums_of(session, &loads, NULL, INT_MAX, 100000, cm_sums_cell(&loads), INFINITY);
    for (int i = 0; i < sums.count; i++)
        CU_ASSERT(sums.sum[i].handled <= 2);
    cm_sums few = cm_sums_of(session, &loads, NULL, INT_MAX, 5, cm_sums_cell(&loads), INFINITY);
    CU_ASSERT_FALSE(few.all);
}

static void test_nearest(void)
{
    enum { POINTS = 500 };
    double complex x[POINTS];
    int zero[POINTS] = {0}, number[POINTS];
    for (int i = 0; i < POINTS; i++) {
        x[i] = sqrt(i) * cexp(2.4 * i * _Complex_I);
        number[i] = i;
    }
    cm_points points = cm_points_new(session, POINTS, x, zero, number);
    for (int k = 0; k < 200; k++) {
        double complex from = 0.17 * k * cexp(0.7 * k * _Complex_I);
        double least = INFINITY;
        for (int i = 0; i < POINTS; i++)
            least = fmin(least, cabs(x[i] - from));
        ASSERT_NEAR(cabs(points.x[cm_points_nearest(&points, from)] - from), least, 1e-12);
    }
}

/* A flat drill makes a cylinder; a point of 90 degrees a cone as high as the radius: constructed. */
static void test_drill(void)
{
    cm_shop_plane flat = {.drill_diameter = 0.02, .drill_density = 8000, .drill_point = PI};
    cm_shop_plane pointed = {.drill_diameter = 0.02, .drill_density = 8000, .drill_point = PI / 2};
    ASSERT_NEAR(cm_drilled_mass(&flat, 0.03), 8000 * PI * 1e-4 * 0.03, 1e-12);
    ASSERT_NEAR(cm_drilled_mass(&pointed, 0.01), 8000 * PI * 1e-6 / 3, 1e-12);
    ASSERT_NEAR(cm_drilled_mass(&pointed, 0.03), 8000 * PI * (1e-6 / 3 + 1e-4 * 0.02), 1e-12);
    ASSERT_NEAR(cm_full_depth(&pointed, 0.03), 0.02, 1e-12);
    CU_ASSERT_EQUAL(cm_full_depth(&pointed, 0.005), 0);
}

static void test_split(void)
{
    double part[2];
    CU_ASSERT_TRUE(cm_split_between(5 * cexp(atan2(4, 3) * _Complex_I), 1, _Complex_I, part));
    ASSERT_NEAR(part[0], 3, 1e-12);
    ASSERT_NEAR(part[1], 4, 1e-12);
    CU_ASSERT_FALSE(cm_split_between(1, 1, -1, part));
    CU_ASSERT(isnan(part[0]));
}

int main(void)
{
    const cm_test tests[] = {
        {"one size in twelve holes", test_one_size},
        {"two sizes in six holes", test_two_sizes},
        {"stock and a list that is too long", test_stock},
        {"nearest points against all", test_nearest},
        {"drilled holes", test_drill},
        {"splitting", test_split},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("place/sums", tests);
    cm_close(session);
    return status;
}
