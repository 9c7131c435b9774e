/* SPDX-License-Identifier: MIT */
/**
 * @file statistics.h
 * Distributions of complex errors, and a random generator with a seed.
 *
 * A complex error e with E|e|² = s² has independent real and imaginary parts of variance s²/2. When s is itself estimated
 * with n complex degrees of freedom, |e|²/s² has the distribution F(2, 2n); INFINITY: s is known.
 */
#ifndef LINALG_STATISTICS_H
#define LINALG_STATISTICS_H

#include <complex.h>
#include <stdint.h>
#undef I

/** P(|e| > k·s) = (1 + k²/n)^(-n), or exp(-k²). */
double cm_tail(double k, double dof);

/** The k with P(|e| > k·s) = tail, 0 < tail ≤ 1: radius that holds 1 - tail, in units of s. */
double cm_radius_factor(double tail, double dof);

/** P(sum of |e_i|²/s² over n independent errors > chi2): exp(-x) sum x^k/k! with known s, k < n; with s² estimated at
 *  `dof` complex degrees of freedom (the same s for all), x/dof has the beta prime distribution of n and dof. */
double cm_sum_tail(int n, double chi2, double dof);

/** P(|r + e| ≤ limit) with |r| = distance: Rice's distribution, or its form with estimated s. s = 0: 1 or 0. */
double cm_within(double distance, double s, double limit, double dof);

/** xoshiro256**: period 2²⁵⁶ - 1; Blackman and Vigna (2018), from memory. */
typedef struct cm_random {
    uint64_t state[4];
} cm_random;

cm_random cm_seed(uint64_t seed);

/** Uniform in (0, 1). */
double cm_uniform(cm_random *random);

/** Complex normal with E|e|² = 1. */
double complex cm_normal(cm_random *random);

/** Mean square of n standard complex normals, n > 0 (need not be whole): Gamma(n)/n. */
double cm_mean_square(cm_random *random, double n);

#endif
