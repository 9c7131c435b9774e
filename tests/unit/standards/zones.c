/* SPDX-License-Identifier: MIT */
/* Zone tables: readable as units, ascending, and the published figures where they can be cross-checked. */
#include "suite.h"
#include "standards/zones.h"
#include "model/units.h"

static const double RPM = 3.14159265358979323846 / 30;

static void test_every_row(void)
{
    int count = 0;
    for (const cm_zone *zone = CM_ZONES; zone->name; zone++, count++) {
        CU_ASSERT_PTR_NOT_NULL_FATAL(cm_unit_find(zone->unit));
        CU_ASSERT_PTR_EQUAL(cm_zone_find(zone->name), zone);
        CU_ASSERT_PTR_NOT_NULL(zone->mark);
        for (int i = 0; i < zone->count; i++)
            CU_ASSERT(0 < zone->rows[i].boundary[0] &&
                      zone->rows[i].boundary[0] < zone->rows[i].boundary[1] &&
                      zone->rows[i].boundary[1] < zone->rows[i].boundary[2]);
    }
    CU_ASSERT(count >= 10);
    CU_ASSERT_PTR_NOT_NULL(cm_zone_find("iso 10816-3  Group 1 RIGID"));
    CU_ASSERT_PTR_NULL(cm_zone_find("ISO 10816-3"));
}

/* READ in a motor manual that quotes ISO 10816-3 group 1: rigid support 2.3, 4.5, 7.1 mm/s rms. */
static void test_housing(void)
{
    double boundary[3];
    CU_ASSERT_FATAL(cm_zone_boundaries(cm_zone_find("ISO 10816-3 group 1 rigid"), 1480 * RPM, boundary));
    double rms = sqrt(2) * 1e-3;
    ASSERT_NEAR(boundary[0] / rms, 2.3, 1e-12);
    ASSERT_NEAR(boundary[1] / rms, 4.5, 1e-12);
    ASSERT_NEAR(boundary[2] / rms, 7.1, 1e-12);
    outside("zone boundaries on housings, group 1, rigid support", "ISO 10816-3 as quoted in a motor manual",
            "READ", "2.3, 4.5 and 7.1 mm/s rms");
}

/* Computed from the factors of ISO 7919-3 (from memory): its 3600 r/min figures are those of 7919-2 (from memory). */
static void test_shaft(void)
{
    static const struct {
        double rpm, micron[3];
    } rows[] = {{1500, {123.9, 232.4, 340.8}},
                {3000, {87.6, 164.3, 241.0}},
                {3600, {80, 150, 220}},
                {6000, {62.0, 116.2, 170.4}}};
    const cm_zone *by_root = cm_zone_find("ISO 7919-3 relative shaft");
    double boundary[3], other[3];
    for (int i = 0; i < 4; i++) {
        CU_ASSERT_FATAL(cm_zone_boundaries(by_root, rows[i].rpm * RPM, boundary));
        for (int k = 0; k < 3; k++)
            CU_ASSERT(fabs(boundary[k] / 0.5e-6 - rows[i].micron[k]) <= 0.051);
    }
    CU_ASSERT_FATAL(cm_zone_boundaries(cm_zone_find("ISO 7919-2 relative shaft"), 3600 * RPM, other));
    CU_ASSERT_FATAL(cm_zone_boundaries(by_root, 3600 * RPM, boundary));
    for (int k = 0; k < 3; k++)
        ASSERT_NEAR(other[k], boundary[k], 1e-9);
    CU_ASSERT(!cm_zone_boundaries(cm_zone_find("ISO 7919-2 relative shaft"), 2400 * RPM, boundary));
    CU_ASSERT(!cm_zone_boundaries(by_root, NAN, boundary));
    outside("zone boundaries of relative shaft vibration at 1500 to 6000 r/min",
            "ISO 7919-3, factors 4800, 9000 and 13200 over the root of the speed", "computed",
            "12 figures to 0.05 um; at 3600 r/min those of ISO 7919-2 (both from memory)");
}

int main(void)
{
    static const cm_test tests[] = {
        {"every table", test_every_row},
        {"housings", test_housing},
        {"shafts", test_shaft},
        {NULL, NULL},
    };
    return run_suite("standards/zones", tests);
}
