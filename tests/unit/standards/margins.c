/* SPDX-License-Identifier: MIT */
/* Margins and vibration limit against figures computed from the formulas of API 617 (values from memory of API 617). */
#include "suite.h"
#include "standards/margins.h"

static void test_margins(void)
{
    static const double rows[][3] = {{2.5, 0, 10},        {3, 5.667, 15.667},  {4, 10.2, 20.2},
                                     {5, 12.143, 22.143}, {8, 14.385, 24.385}, {10, 15.0, 25.0},
                                     {20, 16, 26}};
    double below, above;
    for (int i = 0; i < 7; i++) {
        cm_separation_margin(rows[i][0], &below, &above);
        CU_ASSERT(fabs(below - rows[i][1]) <= 5.1e-4 && fabs(above - rows[i][2]) <= 5.1e-4);
    }
    cm_separation_margin(2.49, &below, &above);
    CU_ASSERT(below == 0 && above == 0);
    outside("separation margins at amplification factors 2.5 to 20", "API 617, 7th and 8th edition, formulas",
            "value from memory", "14 margins to the printed figure (0.0005 %)");
}

static void test_vibration_limit(void)
{
    static const double rpm = 3.14159265358979323846 / 30;
    CU_ASSERT(fabs(cm_works_vibration_limit(18000 * rpm) * 1e6 - 20.739) <= 5e-4);
    ASSERT_NEAR(cm_works_vibration_limit(12000 * rpm) * 1e6, 25.4, 1e-12);
    ASSERT_NEAR(cm_works_vibration_limit(3000 * rpm) * 1e6, 25.4, 1e-12);
    outside("vibration limit of the works test", "API 617, formula", "value from memory",
            "20.739 um pp at 18000 r/min, 25.4 at 12000 and below");
}

int main(void)
{
    static const cm_test tests[] = {
        {"separation margins", test_margins},
        {"vibration limit", test_vibration_limit},
        {NULL, NULL},
    };
    return run_suite("standards/margins", tests);
}
