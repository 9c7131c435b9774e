/* SPDX-License-Identifier: MIT */
/*
 * A rotor on two bearings made by hand: known unbalance is put in, the
 * readings follow from statics, and the residual unbalance must come back.
 */
#include "suite.h"
#include "base/session.h"
#include "countermass/start.h"
#include "model/case.h"
#include "model/units.h"
#include "starts/trial.h"

#include <string.h>

static const double RPM = 3.14159265358979323846 / 30;

/* Readings are the forces of bearings at 0 and 2 m per unit of 1e3: r_k = 1e3 sum_j c_kj U_j. */
typedef struct {
    cm_case c;
    cm_speed speeds[1];
    cm_sensor sensors[2];
    cm_plane planes[2];
    cm_bearing bearings[2];
    double one[1], none[1];
    unsigned char use[2], determined[4];
    int row_sensor[2], row_speed[2];
    double complex a[4], y[2], base[2], factor[18], masses[2], readings[2];
    double std[4], scatter[2], dof[2];
    cm_scatter_source source[2];
    int repeats[2];
    cm_influence influence;
    cm_runs runs;
    cm_job job;
} cm_rig;

static void build(cm_rig *rig, const double complex unbalance[2], double scatter)
{
    memset(rig, 0, sizeof *rig);
    rig->one[0] = 1;
    rig->none[0] = INFINITY;
    rig->speeds[0] = (cm_speed){.id = "service", .omega = 1500 * RPM, .weight = 1};
    static const double at[] = {0.5, 1.5}, span = 2;
    for (int k = 0; k < 2; k++) {
        rig->sensors[k] = (cm_sensor){
            .id = "s", .weight = rig->one, .limit = rig->none, .alarm = rig->none, .trip = rig->none};
        rig->planes[k] = (cm_plane){.id = k ? "P2" : "P1",
                                    .position = at[k],
                                    .radius = 0.2,
                                    .cap = INFINITY,
                                    .cap_force = INFINITY,
                                    .change_cap = INFINITY};
        rig->bearings[k] = (cm_bearing){.id = k ? "B" : "A", .position = span * k, .static_load = NAN};
        rig->use[k] = 1;
        rig->row_sensor[k] = k;
        rig->scatter[k] = scatter;
        rig->source[k] = CM_SCATTER_DECLARED;
        rig->factor[9 * k] = scatter; /* only the reading is uncertain */
        for (int j = 0; j < 2; j++) {
            double felt = k ? at[j] / span : 1 - at[j] / span;
            rig->a[k + 2 * j] = 1e3 * felt * 0.2;
            rig->y[k] += 1e3 * felt * unbalance[j];
            rig->determined[k + 2 * j] = 1;
        }
        rig->readings[k] = rig->y[k];
        rig->repeats[k] = 1;
    }
    rig->influence = (cm_influence){.rows = 2,
                                    .planes = 2,
                                    .a = rig->a,
                                    .determined = rig->determined,
                                    .y = rig->y,
                                    .scatter = rig->scatter,
                                    .scatter_source = rig->source,
                                    .factor = rig->factor};
    static const int zero[2];
    rig->runs = (cm_runs){.size = sizeof rig->runs,
                          .rows = 2,
                          .block = zero,
                          .pool = zero,
                          .assumed_floor = rig->scatter,
                          .planes = 2,
                          .runs = 1,
                          .masses = rig->masses,
                          .readings = rig->readings,
                          .repeats = rig->repeats,
                          .base = rig->base};
    rig->c = (cm_case){.file = "rig",
                       .service_speed = 1500 * RPM,
                       .overspeed = NAN,
                       .speed_count = 1,
                       .sensor_count = 2,
                       .plane_count = 2,
                       .speeds = rig->speeds,
                       .sensors = rig->sensors,
                       .planes = rig->planes,
                       .row_count = 2,
                       .row_sensor = rig->row_sensor,
                       .row_speed = rig->row_speed,
                       .mass_unit = cm_unit_find("g"),
                       .goal = {.use = rig->use},
                       .rotor = {.mass = 800,
                                 .grade = 2.5,
                                 .mass_centre = 1,
                                 .first_resonance = 4000 * RPM,
                                 .bearing_count = 2,
                                 .bearings = rig->bearings}};
    rig->job =
        (cm_job){.size = sizeof rig->job, .given = &rig->c, .influence = &rig->influence, .runs = &rig->runs};
}

static void test_residual(void)
{
    cm_rig rig;
    const double complex put_in[] = {3e-3 + 1e-3 * csqrt(-1), -2e-3};
    cm_session *session = cm_open(NULL);
    build(&rig, put_in, 1e-3);
    CU_ASSERT_EQUAL_FATAL(cm_tolerance_of(session, &rig.job), CM_OK);
    const cm_tolerance *t = rig.job.tolerance;
    CU_ASSERT_EQUAL(t->behaviour, CM_BEHAVIOUR_RIGID);
    CU_ASSERT_EQUAL_FATAL(t->reached.speed, 0);
    ASSERT_NEAR_COMPLEX(t->reached.unbalance[0] * 1e3, (0.75 * put_in[0] + 0.25 * put_in[1]) * 1e3, 1e-12);
    ASSERT_NEAR_COMPLEX(t->reached.unbalance[1] * 1e3, (0.25 * put_in[0] + 0.75 * put_in[1]) * 1e3, 1e-12);
    /* here a bearing's unbalance is its reading / 1e3, so its error is scatter / 1e3 */
    ASSERT_NEAR(t->reached.radius[0] * 1e6, 1.5174271293851465, 1e-9);
    /* 2.5e-3 · 800 / (50 pi) / 2 = 6.366e-3 kg m for each bearing: kept */
    ASSERT_NEAR(t->bearing[0] * 1e3, 6.366197723675813, 1e-12);
    CU_ASSERT_EQUAL(t->reached.verdict, CM_KEPT);
    ASSERT_NEAR(t->reached.grade, 2.5 * cabs(t->reached.unbalance[0]) / t->bearing[0], 1e-12);
    cm_close(session);
}

static void test_verdicts(void)
{
    static const struct {
        double unbalance, scatter;
        cm_verdict verdict;
    } rows[] = {{6e-3, 1e-4, CM_KEPT},
                {6.3e-3, 1e-1, CM_UNDECIDED},
                {6.4e-3, 1e-1, CM_UNDECIDED},
                {7e-3, 1e-4, CM_EXCEEDED}};
    for (int i = 0; i < 4; i++) {
        cm_rig rig;
        cm_session *session = cm_open(NULL);
        build(&rig, (const double complex[]){rows[i].unbalance, rows[i].unbalance}, rows[i].scatter);
        CU_ASSERT_EQUAL_FATAL(cm_tolerance_of(session, &rig.job), CM_OK);
        CU_ASSERT_EQUAL(rig.job.tolerance->reached.verdict, rows[i].verdict);
        cm_close(session);
    }
}

/* A rotor that bends, or of which nobody says whether it does, gets no residual unbalance. */
static void test_not_rigid(void)
{
    cm_rig rig;
    cm_session *session = cm_open(NULL);
    build(&rig, (const double complex[]){1e-3, 1e-3}, 1e-4);
    rig.c.rotor.first_resonance = 1000 * RPM;
    CU_ASSERT_EQUAL_FATAL(cm_tolerance_of(session, &rig.job), CM_OK);
    CU_ASSERT_EQUAL(rig.job.tolerance->behaviour, CM_BEHAVIOUR_FLEXIBLE);
    CU_ASSERT_EQUAL(rig.job.tolerance->reached.verdict, CM_NOT_JUDGED);
    rig.c.rotor.first_resonance = NAN;
    CU_ASSERT_EQUAL_FATAL(cm_tolerance_of(session, &rig.job), CM_OK);
    CU_ASSERT_EQUAL(rig.job.tolerance->reached.verdict, CM_NOT_JUDGED);
    rig.c.rotor.mass = NAN;
    rig.bearings[0].position = NAN;
    CU_ASSERT_EQUAL(cm_tolerance_of(session, &rig.job), CM_BAD_INPUT);
    CU_ASSERT(cm_message_count(session) >= 2);
    cm_close(session);
}

static const cm_trial *trial_of(cm_session *session, cm_rig *rig, const char *plane)
{
    CU_ASSERT_EQUAL_FATAL(cm_trials_of(session, &rig->job, plane), CM_OK);
    CU_ASSERT_EQUAL_FATAL(rig->job.trials->count, 1);
    return &rig->job.trials->items[0];
}

/* Alarm at 8, readings of 4 to 5: the bound is the least (8 - |y|)/|a|; visible from 7 sigma / |a| of the better row. */
static void test_trial(void)
{
    cm_rig rig;
    double alarm[] = {8};
    cm_session *session = cm_open(NULL);
    build(&rig, (const double complex[]){5e-3, 4e-3}, 0.02);
    rig.sensors[0].alarm = rig.sensors[1].alarm = alarm;
    const cm_trial *trial = trial_of(session, &rig, "P1");
    ASSERT_NEAR(trial->lower, 7 * 0.02 / 150, 1e-12);
    ASSERT_NEAR(trial->upper, (8 - cabs(rig.y[0])) / 150, 1e-12);
    CU_ASSERT(trial->possible && trial->angle_known);
    ASSERT_NEAR_COMPLEX(trial->direction, -1, 1e-12); /* opposite the heavy spot, which is at 0 */
    CU_ASSERT(trial->mass >= trial->lower && trial->mass <= trial->upper);
    CU_ASSERT(trial->mass > 1e-3 && rig.job.trials->possible);
    rig.planes[0].cap = 5e-3;
    trial = trial_of(session, &rig, "P1");
    CU_ASSERT_EQUAL(trial->bounds[0].kind, CM_BOUND_CAP);
    ASSERT_NEAR(trial->upper, 5e-3, 1e-15);
    rig.planes[0].cap_force = 20; /* N at 1.1 · 1500 r/min and 0.2 m */
    trial = trial_of(session, &rig, "P1");
    CU_ASSERT_EQUAL(trial->bounds[0].kind, CM_BOUND_CAP_FORCE);
    ASSERT_NEAR(trial->parts[0].force, 20 * trial->mass / trial->upper, 1e-9);
    cm_close(session);
}

/* The bounds cross: nothing is proposed, and the ways out are real ones. */
static void test_trial_refused(void)
{
    cm_rig rig;
    double alarm[] = {5};
    cm_session *session = cm_open(NULL);
    build(&rig, (const double complex[]){5e-3, 4e-3}, 0.1);
    rig.sensors[0].alarm = rig.sensors[1].alarm = alarm;
    const cm_trial *trial = trial_of(session, &rig, "P1");
    CU_ASSERT(!trial->possible && !rig.job.trials->possible && isnan(trial->mass));
    CU_ASSERT(trial->lower > trial->upper);
    CU_ASSERT(0.1 * 7 / sqrt(trial->repeats) / 150 <= trial->upper);
    CU_ASSERT(trial->correction_safe);
    CU_ASSERT_EQUAL(cm_trials_of(session, &rig.job, "P3"), CM_BAD_INPUT);
    cm_close(session);
}

/* Pieces of 0.4 and 1.5 g, one of the larger: the set nearest to what is wanted, never outside the bounds. */
static void test_pieces(void)
{
    cm_piece pieces[] = {{.mass = 0.4e-3, .stock = 9}, {.mass = 1.5e-3, .stock = 1}};
    cm_plane plane = {.piece_count = 2, .pieces = pieces};
    cm_session *session = cm_open(NULL);
    double sum = 0;
    const int *count = cm_trial_pieces(session, &plane, 1e-3, 4e-3, 2.0e-3, &sum);
    CU_ASSERT_PTR_NOT_NULL_FATAL(count);
    CU_ASSERT(count[0] == 1 && count[1] == 1); /* 1.9 g; 2.0 g would need five pieces */
    ASSERT_NEAR(sum * 1e3, 1.9, 1e-12);
    count = cm_trial_pieces(session, &plane, 1.45e-3, 1.55e-3, 1.5e-3, &sum);
    CU_ASSERT_FATAL(count != NULL);
    CU_ASSERT(count[0] == 0 && count[1] == 1);
    pieces[1].stock = 0;
    CU_ASSERT_PTR_NULL(cm_trial_pieces(session, &plane, 1.45e-3, 1.55e-3, 1.5e-3, &sum));
    cm_close(session);
}

/* Nothing but loads: 10 % of the static load of the nearest bearing. 1000 kg on a journal at 3000 r/min:
 * 9936 g mm (computed from the rule; common practice, no source). */
static void test_trial_by_load(void)
{
    cm_rig rig;
    cm_session *session = cm_open(NULL);
    build(&rig, (const double complex[]){0, 0}, 0.1);
    rig.job.influence = NULL;
    rig.job.runs = NULL;
    rig.c.service_speed = 3000 * RPM;
    rig.bearings[0].static_load = rig.bearings[1].static_load = 1000 * 9.80665;
    const cm_trial *trial = trial_of(session, &rig, "P1");
    CU_ASSERT_EQUAL(trial->bounds[0].kind, CM_BOUND_LOAD);
    ASSERT_NEAR(trial->upper * 0.2 * 1e6, 9936.2, 1e-5);
    outside("trial mass whose force is a tenth of the static load", "rule of the trade", "common practice",
            "9936.2 g mm for 1000 kg at 3000 r/min to 1e-5");
    CU_ASSERT(trial->possible && !trial->angle_known && trial->visible_row == -1);
    rig.bearings[0].static_load = rig.bearings[1].static_load = NAN;
    rig.c.rotor.mass_centre = NAN; /* no loads: 5 times the permissible unbalance of half the rotor */
    trial = trial_of(session, &rig, "P1");
    CU_ASSERT_EQUAL(trial->bounds[0].kind, CM_BOUND_PERMISSIBLE);
    ASSERT_NEAR(trial->upper * 1e3, 5 * 0.5 * 2.5e-3 * 800 / (3000 * RPM) / 0.2 * 1e3, 1e-12);
    rig.c.rotor.grade = NAN;
    CU_ASSERT_EQUAL(cm_trials_of(session, &rig.job, NULL), CM_BAD_INPUT);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"residual unbalance put in comes back", test_residual},
        {"verdicts", test_verdicts},
        {"no residual for a rotor that bends", test_not_rigid},
        {"trial mass between its bounds", test_trial},
        {"no trial mass is both safe and visible", test_trial_refused},
        {"trial mass by static load", test_trial_by_load},
        {"trial mass of real pieces", test_pieces},
        {NULL, NULL},
    };
    return run_suite("starts/rig", tests);
}
