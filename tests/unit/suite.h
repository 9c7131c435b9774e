/* SPDX-License-Identifier: MIT */
/**
 * @file suite.h
 * What every unit test file shares: one main per file, failing when a test
 * fails or when there is none, and asserts for numbers.
 */
#ifndef UNIT_SUITE_H
#define UNIT_SUITE_H

#include <CUnit/Basic.h>
#include <complex.h>
#undef I
#include <math.h>
#include <stdbool.h>

typedef struct cm_test {
    const char *name;
    void (*run)(void);
} cm_test;

/** Runs the tests (ended by a NULL name); the result is the exit status of main. */
int run_suite(const char *name, const cm_test *tests);

/** |a - b| ≤ tolerance·max(1, |b|): relative, absolute near zero. NaN fails. */
bool near(double a, double b, double tolerance);
bool near_complex(double complex a, double complex b, double tolerance);

/** Tells that a check against the outside was made, for docs/validation.md: what of ours, whose number, how we know
 * it (READ, value from memory, computed, constructed, common practice), and what was asserted. */
void outside(const char *what, const char *source, const char *mark, const char *result);

#define ASSERT_NEAR(a, b, tolerance) CU_ASSERT(near((a), (b), (tolerance)))
#define ASSERT_NEAR_COMPLEX(a, b, tolerance) CU_ASSERT(near_complex((a), (b), (tolerance)))

#endif
