/* SPDX-License-Identifier: MIT */
/**
 * @file resample.h
 * Least squares solved again and again with perturbed data, on the triangle.
 */
#ifndef FIT_RESAMPLE_H
#define FIT_RESAMPLE_H

#include "base/session.h"

#include <complex.h>
#include <stdint.h>
#undef I

/** Minimises |c + B u| (B m × n of full column rank, m > n) `samples` times with seeded independent errors: standard
 *  deviation b_std[j] on the entries of column j, c_std on those of c, the same in all rows (so B and c are whitened or
 *  weighted by the caller). u: n × samples. m ≤ n is CM_BAD_INPUT. */
void cm_resample(cm_session *session, int m, int n, const double complex *b, const double complex *c,
                 const double *b_std, double c_std, int samples, uint64_t seed, double complex *u);

#endif
