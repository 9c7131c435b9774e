/* SPDX-License-Identifier: MIT */
/**
 * @file spread.h
 * Uncertainty of an answer: predicted readings, masses, and the chance to end within limits.
 */
#ifndef FIT_SPREAD_H
#define FIT_SPREAD_H

#include "base/session.h"
#include "countermass/job.h"

#include <complex.h>
#include <math.h>
#undef I

/** What the parts of the spread share. */
typedef struct cm_spread_task {
    const cm_influence *influence;
    const cm_problem *problem;
    const cm_answer *answer; /* NULL: none yet */
    int rows, planes, lines; /* lines = planes + 1 */
    int pools;
    const int *pool;            /* rows: rows of one pool share one estimate of scatter */
    const double complex *line; /* lines: (1, x - base); NULL without masses */
    double complex *error; /* lines × rows: how the row's standard errors enter its prediction: (1, z)ᵀ F */
} cm_spread_task;

/** Degrees of freedom of a row for the radius: INFINITY where the scatter is declared or assumed. */
static inline double cm_spread_dof(const cm_spread_task *task, int row)
{
    return task->influence->dof[row] > 0 ? task->influence->dof[row] : (double)INFINITY;
}

/** Covariance factor of a row. */
static inline const double complex *cm_factor_of(const cm_spread_task *task, int row)
{
    return task->influence->factor + (size_t)row * (size_t)task->lines * (size_t)task->lines;
}

/** Parts of rows that are shared (`count` long): (1, z)ᵀ times the row's block, of `count` columns, of a factor. */
void cm_shared_error(const cm_spread_task *task, const double complex *factor, int count, int row,
                     double complex *out);

/** Standard deviations of the masses of plain least squares; NaN where no closed form holds. */
typedef struct cm_mass_spread {
    double *std, *size, *angle, *factor; /* planes */
} cm_mass_spread;

cm_mass_spread cm_spread_masses(cm_session *session, const cm_spread_task *task);

/** Probability that all counted rows and pairs with limits end within them; `samples` receives 0 where a closed form
 *  served. `pair_within` (pairs, NaN before): receives the share of samples in which each counted pair does. */
double cm_joint_probability(cm_session *session, const cm_spread_task *task, const double *std,
                            const double *within, double *pair_within, int *samples);

/** See cm_spread_of(). */
const cm_spread *cm_find_spread(cm_session *session, const cm_job *job);

#endif
