/* SPDX-License-Identifier: MIT */
/**
 * @file latent.h
 * Latent errors that rows of one block share through priors with `common`.
 */
#ifndef FIT_LATENT_H
#define FIT_LATENT_H

#include "fit/system.h"

/** The latent errors of one block: one per plane that has a prior with common > 0 there. */
typedef struct cm_latents {
    int block;
    int first; /* number of its first one among those of all blocks */
    int count;
    int *of_plane;           /* planes, then sets: 0 … count-1, -1: none */
    double complex *g;       /* count: estimates, standardised */
    double complex *inverse; /* count × count: S with covariance S·Sᴴ of g - estimate */
    /* count × rows: covariance of (error of the mean over base runs) and q, g's error = S·q */
    double complex *base;
} cm_latents;

typedef struct cm_latent_list {
    int count; /* blocks that have some */
    int total; /* latent errors of all blocks */
    cm_latents *items;
} cm_latent_list;

cm_latent_list cm_list_latents(cm_session *session, const cm_evidence *evidence);

/** The entry of a row's block, or NULL. */
cm_latents *cm_latents_of(const cm_latent_list *list, const cm_evidence *evidence, int row);

/** Estimates the latent errors of one block from what its rows' systems leave after their own unknowns. */
void cm_solve_latents(cm_session *session, const cm_evidence *evidence, const cm_system *systems, int count,
                      cm_latents *latents);

#endif
