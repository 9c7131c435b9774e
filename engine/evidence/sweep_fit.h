/* SPDX-License-Identifier: MIT */
/**
 * @file sweep_fit.h
 * Resonances from readings over speed.
 */
#ifndef EVIDENCE_SWEEP_FIT_H
#define EVIDENCE_SWEEP_FIT_H

#include "base/session.h"

#include <complex.h>
#undef I

enum { CM_MOST_MODES = 5 };

/** Readings of several channels over speed. Channel s has the points first[s] … first[s+1]-1. */
typedef struct cm_sweep_data {
    int channels;
    const int *first;            /* channels + 1 */
    const double *omega;         /* points, rad/s */
    const double complex *value; /* points, phase lead */
    const double *weight;        /* channels: one over the size that counts as 1 */
    const int *derivative;       /* channels: 0 displacement, 1 velocity, 2 acceleration */
} cm_sweep_data;

/** Modes with common poles; mode m of channel s, with d_s derivatives of a displacement:
 *      R_ms (i W/w_m)^d_s W² / (w_m² - W² + 2 i z_m w_m W),   and a constant for run-out and bow. */
typedef struct cm_sweep_model {
    int modes;
    double omega[CM_MOST_MODES];                                 /* w_m, ascending */
    double damping[CM_MOST_MODES];                               /* z_m */
    double omega_std[CM_MOST_MODES], damping_std[CM_MOST_MODES]; /* NAN: no degrees of freedom */
    const int *derivative;                                       /* channels */
    double complex *run_out;                                     /* channels */
    double complex *residue; /* channels × modes, by channel: residue[m + s * CM_MOST_MODES] */
    double squares;          /* weighted sum of |residual|² */
    double share;            /* root of it over that of the data */
    int points;
} cm_sweep_model;

/** Fits 1 … `most` modes, as many as the data ask for (BIC) and leave degrees of freedom for. Fewer than 8 points: modes
 *  0. */
cm_sweep_model cm_fit_sweep(cm_session *session, const cm_sweep_data *data, int most);

/** The fitted curve of a channel without run-out, and its slope dr/dW. */
double complex cm_sweep_curve(const cm_sweep_model *model, int channel, double omega, double complex *slope);

/** Speeds at which the mode's curve over speed (its velocity for a constant force) has 0.7071 of its peak at w_m:
 *  w (sqrt(1 + z²) -+ z), so that w/(high - low) = 1/(2 z) exactly. */
void cm_half_power(double omega, double damping, double *low, double *high);

/** Speed of the peak of the mode's unbalance response, w/sqrt(1 - 2 z²); INFINITY: it has none. */
double cm_peak_speed(double omega, double damping);

#endif
