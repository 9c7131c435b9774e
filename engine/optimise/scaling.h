/* SPDX-License-Identifier: MIT */
/**
 * @file scaling.h
 * Algebra of one second-order cone {(t, v): |v| ≤ t}: products, steps, Nesterov-Todd scaling.
 */
#ifndef OPTIMISE_SCALING_H
#define OPTIMISE_SCALING_H

#include <stdbool.h>

/** W = eta [w0 w1ᵀ; w1 I + w1 w1ᵀ/(1 + w0)], w0² - |w1|² = 1: W z = W⁻¹ s. w lies in the caller's array. */
typedef struct cm_scaling {
    double eta;
    double *w;
    double inverse; /* 1/eta */
    double share;   /* 1/(1 + w0) */
} cm_scaling;

/** Fills in the scaling of the pair s, z; false when one of them is not inside the cone. */
bool cm_scaling_make(int n, const double *s, const double *z, cm_scaling *scaling);

/** y := W x, y := W⁻¹ x (y and x may be the same). */
void cm_scaling_apply(int n, const cm_scaling *scaling, const double *x, double *y);
void cm_scaling_undo(int n, const cm_scaling *scaling, const double *x, double *y);

/** y := a ∘ b = (a·b, a0 b1 + b0 a1). */
void cm_cone_product(int n, const double *a, const double *b, double *y);

/** y with a ∘ y = b, a inside the cone. */
void cm_cone_divide(int n, const double *a, const double *b, double *y);

/** 1/alpha for the largest alpha with a + alpha d in the cone; ≤ 0: no end. */
double cm_cone_inverse_step(int n, const double *a, const double *d);

/** t - |v|: how far inside. */
double cm_cone_depth(int n, const double *a);

#endif
