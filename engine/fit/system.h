/* SPDX-License-Identifier: MIT */
/**
 * @file system.h
 * The whitened least-squares system of a row (or of rows that share one), factored once.
 */
#ifndef FIT_SYSTEM_H
#define FIT_SYSTEM_H

#include "fit/evidence.h"

/** One factored system. Unknowns w, in the order of the group's columns: as-found reading / sigma, a_j·scale_j / sigma,
 *  and for a plane with a prior h_j in a_j = value + u·(sqrt(1 - common)·h_j + sqrt(common)·phase·g_j). */
typedef struct cm_system {
    const cm_group *group;
    int first, members;       /* rows group->row[first …] solved by it */
    double sigma;             /* scatter it is whitened with; 1: shared by rows without priors, any scatter */
    int m, n;                 /* whitened equations, unknowns */
    double complex *qr, *tau; /* m × n */
    double complex *left;     /* m × members: Qᴴ·right-hand side */
    /* m: Qᴴ·(weights of the mean over base runs); NULL when no base run read the rows */
    double complex *base;
    int base_runs;
    int latents;             /* latent errors of the block (0: none) */
    double complex *latent;  /* m × latents: Qᴴ·(coefficients of the latent errors) */
    double complex *inverse; /* cm_inverse_of(), where a spread is asked for */
} cm_system;

/** Builds and factors the system of `members` rows of the group from `first` on. `latent_of` (planes): number of the
 *  latent error of a plane in the rows' block, -1: none; NULL with latents = 0. */
cm_system cm_build_system(cm_session *session, const cm_evidence *evidence, const cm_group *group, int first,
                          int members, double sigma, const int *latent_of, int latents);

/** R⁻¹ with its part in the null space taken out: n × n, the shortest solution's dependence on the data. */
double complex *cm_inverse_of(cm_session *session, const cm_system *system);

/** How strongly the latent error of its plane enters a coefficient: u·sqrt(common)·value/|value|. */
double complex cm_latent_strength(const cm_known *known);

/** u·sqrt(1 - common): the part of a prior that belongs to its row alone. */
double cm_own_strength(const cm_known *known);

#endif
