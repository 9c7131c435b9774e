/* SPDX-License-Identifier: MIT */
#include "suite.h"

#include <stdio.h>

int run_suite(const char *name, const cm_test *tests)
{
    if (CU_initialize_registry() != CUE_SUCCESS)
        return 2;
    CU_pSuite suite = CU_add_suite(name, NULL, NULL);
    for (; suite && tests->name; tests++)
        if (!CU_add_test(suite, tests->name, tests->run))
            return 2;
    CU_basic_set_mode(CU_BRM_VERBOSE);
    CU_basic_run_tests();
    unsigned failed = CU_get_number_of_failures();
    unsigned ran = CU_get_number_of_tests_run();
    CU_cleanup_registry();
    return failed > 0 || ran == 0;
}

bool near(double a, double b, double tolerance)
{
    return fabs(a - b) <= tolerance * fmax(1, fabs(b));
}

bool near_complex(double complex a, double complex b, double tolerance)
{
    return cabs(a - b) <= tolerance * fmax(1, cabs(b));
}

void outside(const char *what, const char *source, const char *mark, const char *result)
{
    printf("\noutside | %s | %s | %s | %s\n", what, source, mark, result);
}
