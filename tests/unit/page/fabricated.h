/* SPDX-License-Identifier: MIT */
/**
 * @file fabricated.h
 * A small job made by hand: two speeds, two sensors (one in mil), two planes, lag and against rotation, ounces, an own
 * zero; so that pages can be tested without a case file or a solver.
 */
#ifndef UNIT_PAGE_FABRICATED_H
#define UNIT_PAGE_FABRICATED_H

#include "suite.h"
#include "countermass/page.h"
#include "model/units.h"

enum { ROWS = 3, PLANES = 2, RUNS = 2 };

typedef struct fabricated {
    cm_speed speeds[2];
    cm_sensor sensors[2];
    double limit[2][2], alarm[2];
    cm_plane planes[PLANES];
    cm_run run[RUNS];
    cm_mass mass;
    int row_sensor[ROWS], row_speed[ROWS];
    double complex masses[RUNS * PLANES], readings[ROWS * RUNS];
    int repeats[ROWS * RUNS];
    double complex a[ROWS * PLANES], y[ROWS], x[PLANES], r[ROWS], base[PLANES];
    unsigned char determined[ROWS * PLANES], std_known[ROWS * PLANES], row_determined[ROWS];
    unsigned char at_cap[PLANES], held[PLANES];
    double std[ROWS * PLANES], weight[ROWS], scatter[ROWS], dof[ROWS], by_block[2];
    cm_scatter_source source[ROWS];
    int base_runs[ROWS];
    cm_case given;
    cm_runs runs;
    cm_influence influence;
    cm_problem problem;
    cm_determination determination;
    cm_condition condition;
    cm_answer answer;
    cm_job job;
} fabricated;

/** One unit of mass (an ounce) in kg, and of amplitude (mil pp) in m peak. */
#define OUNCE 0.028349523125
#define MIL_PP 12.7e-6
#define MICRON_PP 0.5e-6

static inline double complex turned(double size, double degrees)
{
    double angle = degrees * 3.14159265358979323846 / 180;
    return size * cos(angle) + size * sin(angle) * _Complex_I;
}

static inline void fabricate_case(fabricated *f)
{
    f->speeds[0] = (cm_speed){.id = "slow", .omega = 100, .weight = 1};
    f->speeds[1] = (cm_speed){.id = "service", .omega = 300, .weight = 1};
    for (int s = 0; s < 2; s++)
        for (int v = 0; v < 2; v++)
            f->limit[s][v] = INFINITY;
    f->limit[0][1] = 60 * MICRON_PP;
    f->sensors[0] = (cm_sensor){.id = "DE-x", .unit = cm_unit_find("um pp"), .limit = f->limit[0]};
    f->sensors[1] = (cm_sensor){.id = "FE-x", .unit = cm_unit_find("mil pp"), .limit = f->limit[1]};
    f->planes[0] = (cm_plane){
        .id = "P1", .radius = 0.25, .cap = 20 * OUNCE, .cap_force = INFINITY, .change_cap = INFINITY};
    f->planes[1] = (cm_plane){.id = "P2",
                              .radius = NAN,
                              .cap = INFINITY,
                              .cap_force = INFINITY,
                              .change_cap = INFINITY,
                              .zero = -30 * 3.14159265358979323846 / 180};
    f->run[0] = (cm_run){.id = "as-found"};
    f->run[1] = (cm_run){.id = "trial", .masses = {.count = 1, .items = &f->mass}};
    f->mass = (cm_mass){.plane = 0, .mass = OUNCE};
    f->given = (cm_case){.file = "made.yaml",
                         .title = "made by hand",
                         .phase_lag = true,
                         .against_rotation = true,
                         .rotation = -1,
                         .seen_from = "drive end",
                         .speed_unit = cm_unit_find("rpm"),
                         .mass_unit = cm_unit_find("oz"),
                         .length_unit = cm_unit_find("mm"),
                         .vibration_unit = cm_unit_find("um pp"),
                         .service_speed = NAN,
                         .overspeed = 330,
                         .speed_count = 2,
                         .sensor_count = 2,
                         .plane_count = PLANES,
                         .run_count = RUNS,
                         .speeds = f->speeds,
                         .sensors = f->sensors,
                         .planes = f->planes,
                         .runs = f->run,
                         .row_count = ROWS,
                         .row_sensor = f->row_sensor,
                         .row_speed = f->row_speed};
}

/* Rows: DE-x slow, DE-x service, FE-x service. Run 0 is bare, run 1 carries 1 oz on P1. */
static inline void fabricate_evidence(fabricated *f)
{
    static const int sensor[ROWS] = {0, 0, 1}, speed[ROWS] = {0, 1, 1};
    for (int i = 0; i < ROWS; i++) {
        f->row_sensor[i] = sensor[i];
        f->row_speed[i] = speed[i];
        f->repeats[i] = f->repeats[i + ROWS] = 1;
        f->readings[i] = turned((i + 1) * (i == 2 ? MIL_PP : MICRON_PP), -30 * (i + 1));
        f->y[i] = f->readings[i + ROWS] = 2 * f->readings[i];
        f->weight[i] = 1;
        f->scatter[i] = MICRON_PP;
        f->dof[i] = INFINITY;
        f->base_runs[i] = 1;
        f->row_determined[i] = 1;
        for (int j = 0; j < PLANES; j++) {
            f->a[i + j * ROWS] = turned((i == 2 ? MIL_PP : MICRON_PP) / OUNCE, -10 * (j + 1));
            f->std[i + j * ROWS] = 0.1 * MICRON_PP / OUNCE;
            f->determined[i + j * ROWS] = f->std_known[i + j * ROWS] = 1;
        }
    }
    f->masses[1] = f->base[0] = OUNCE;
    static const int zero[ROWS];
    f->runs = (cm_runs){.size = sizeof f->runs,
                        .rows = ROWS,
                        .planes = PLANES,
                        .runs = RUNS,
                        .block = f->row_speed,
                        .pool = zero,
                        .masses = f->masses,
                        .readings = f->readings,
                        .repeats = f->repeats,
                        .assumed_floor = f->scatter,
                        .base = f->base,
                        .mass_zero = 1e-12};
    f->influence = (cm_influence){.size = sizeof f->influence,
                                  .rows = ROWS,
                                  .planes = PLANES,
                                  .a = f->a,
                                  .determined = f->determined,
                                  .std = f->std,
                                  .std_known = f->std_known,
                                  .y = f->y,
                                  .base_runs = f->base_runs,
                                  .scatter = f->scatter,
                                  .scatter_source = f->source,
                                  .dof = f->dof};
}

/* Totals: 2 oz at 90 of the plane's own angles on P1, nothing on P2. */
static inline void fabricate_answer(fabricated *f)
{
    f->x[0] = turned(2 * OUNCE, -90);
    f->r[0] = turned(0.5 * MICRON_PP, -1e-13);
    f->r[1] = turned(0.25 * MICRON_PP, -200);
    f->r[2] = turned(0.125 * MIL_PP, 45);
    f->at_cap[0] = 1;
    f->by_block[0] = 2;
    f->by_block[1] = INFINITY;
    f->problem = (cm_problem){.size = sizeof f->problem,
                              .rows = ROWS,
                              .planes = PLANES,
                              .blocks = 2,
                              .block = f->row_speed,
                              .y = f->y,
                              .a = f->a,
                              .weight = f->weight,
                              .base = f->base,
                              .now = f->base,
                              .held = f->held,
                              .mass_unit = OUNCE,
                              .mass_zero = 1e-12};
    f->determination = (cm_determination){.size = sizeof f->determination, .determined = f->row_determined};
    f->condition =
        (cm_condition){.size = sizeof f->condition, .overall = 3, .blocks = 2, .by_block = f->by_block};
    f->answer = (cm_answer){.size = sizeof f->answer,
                            .outcome = CM_OPTIMAL,
                            .value = 3,
                            .bound = 3,
                            .x = f->x,
                            .r = f->r,
                            .at_cap = f->at_cap,
                            .limits_factor = NAN};
}

static inline const cm_job *fabricate(fabricated *f)
{
    *f = (fabricated){.job = {0}};
    fabricate_case(f);
    fabricate_evidence(f);
    fabricate_answer(f);
    f->job = (cm_job){.size = sizeof f->job,
                      .given = &f->given,
                      .runs = &f->runs,
                      .influence = &f->influence,
                      .problem = &f->problem,
                      .determination = &f->determination,
                      .condition = &f->condition,
                      .answer = &f->answer};
    return &f->job;
}

#endif
