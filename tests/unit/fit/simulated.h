/* SPDX-License-Identifier: MIT */
/**
 * @file simulated.h
 * Jobs whose truth is known: readings are made from true coefficients and noise, then fitted, solved and judged.
 */
#ifndef UNIT_FIT_SIMULATED_H
#define UNIT_FIT_SIMULATED_H

#include "countermass.h"
#include "linalg/statistics.h"
#include "suite.h"

enum { SIM_ROWS = 12, SIM_PLANES = 3, SIM_RUNS = 8, SIM_KNOWN = SIM_ROWS * SIM_PLANES };

typedef struct cm_simulated {
    int rows, planes, runs;
    double sigma; /* true scatter of a reading */
    cm_complex masses[SIM_RUNS * SIM_PLANES];
    cm_complex a[SIM_ROWS * SIM_PLANES]; /* true */
    cm_complex as_found[SIM_ROWS];       /* true */
    int repeats[SIM_ROWS * SIM_RUNS];
    double repeatability[SIM_ROWS]; /* 0: to be estimated */
    double limit[SIM_ROWS];
    int known_count;
    cm_known prior[SIM_KNOWN]; /* values: true; drawn anew for each job */
    /* one drawn job */
    cm_complex readings[SIM_ROWS * SIM_RUNS];
    cm_known known[SIM_KNOWN];
    cm_runs runs_given;
    cm_problem problem;
    cm_job job;
} cm_simulated;

static const int SIM_ZERO[SIM_ROWS] = {0};
static const double SIM_FLOOR[SIM_ROWS] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
static const double SIM_WEIGHT[SIM_ROWS] = {1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
static const cm_complex SIM_BASE[SIM_PLANES] = {0};

/* Rows, planes and true numbers of order 1; every run read by every row. */
static inline void sim_begin(cm_simulated *sim, int rows, int planes, int runs, double sigma, uint64_t seed)
{
    cm_random random = cm_seed(seed);
    *sim = (cm_simulated){.rows = rows, .planes = planes, .runs = runs, .sigma = sigma};
    for (int k = 0; k < rows * planes; k++)
        sim->a[k] = cm_normal(&random);
    for (int i = 0; i < rows; i++) {
        sim->as_found[i] = 2 * cm_normal(&random);
        sim->limit[i] = INFINITY;
    }
    for (int k = 0; k < rows * runs; k++)
        sim->repeats[k] = 1;
}

static inline void sim_draw_priors(cm_simulated *sim, cm_random *random)
{
    double complex shared[SIM_PLANES];
    for (int j = 0; j < sim->planes; j++)
        shared[j] = cm_normal(random);
    for (int k = 0; k < sim->known_count; k++) {
        cm_known known = sim->prior[k];
        double complex direction = known.value / cabs(known.value);
        double complex own = cm_normal(random);
        known.value += known.uncertainty *
                       (sqrt(1 - known.common) * own + sqrt(known.common) * direction * shared[known.plane]);
        sim->known[k] = known;
    }
}

static inline void sim_draw_readings(cm_simulated *sim, cm_random *random)
{
    for (int k = 0; k < sim->runs; k++)
        for (int i = 0; i < sim->rows; i++) {
            cm_complex reading = sim->as_found[i] + sim->sigma * cm_normal(random);
            for (int j = 0; j < sim->planes; j++)
                reading += sim->a[i + j * sim->rows] * sim->masses[k + j * sim->runs];
            sim->readings[i + k * sim->rows] = reading;
        }
}

/* Draws readings and priors, and takes the job through fit, determination, solution and spread. */
static inline void sim_run(cm_session *session, cm_simulated *sim, cm_random *random)
{
    sim_draw_readings(sim, random);
    sim_draw_priors(sim, random);
    sim->runs_given = (cm_runs){.size = sizeof(cm_runs),
                                .rows = sim->rows,
                                .planes = sim->planes,
                                .runs = sim->runs,
                                .block = SIM_ZERO,
                                .pool = SIM_ZERO,
                                .masses = sim->masses,
                                .readings = sim->readings,
                                .repeats = sim->repeats,
                                .repeatability = sim->repeatability,
                                .assumed_floor = SIM_FLOOR,
                                .known_count = sim->known_count,
                                .known = sim->known,
                                .base = SIM_BASE,
                                .mass_zero = 1e-9};
    sim->job = (cm_job){.size = sizeof(cm_job), .runs = &sim->runs_given, .problem = &sim->problem};
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, &sim->runs_given, &sim->job.influence), CM_OK);
    sim->problem = (cm_problem){.size = sizeof(cm_problem),
                                .objective = CM_LEAST_SQUARES,
                                .rows = sim->rows,
                                .planes = sim->planes,
                                .blocks = 1,
                                .block = SIM_ZERO,
                                .y = sim->job.influence->y,
                                .a = sim->job.influence->a,
                                .weight = SIM_WEIGHT,
                                .limit = sim->limit,
                                .base = SIM_BASE,
                                .now = SIM_BASE,
                                .mass_unit = 1,
                                .mass_zero = 1e-9,
                                .held = (const unsigned char *)"\0\0\0",
                                .held_value = SIM_BASE};
    CU_ASSERT_EQUAL_FATAL(cm_determine(session, &sim->job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, sim->job.problem, &sim->job.answer), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, &sim->job), CM_OK);
}

/* What the machine would really read with the masses of the drawn job. */
static inline cm_complex sim_truth(const cm_simulated *sim, int row)
{
    cm_complex reading = sim->as_found[row];
    for (int j = 0; j < sim->planes; j++)
        reading += sim->a[row + j * sim->rows] * sim->job.answer->x[j];
    return reading;
}

#endif
