/* SPDX-License-Identifier: MIT */
/* Findings on a small job made by hand: two readings of one sensor, two planes. */
#include "suite.h"
#include "base/session.h"
#include "countermass/job.h"
#include "model/case.h"
#include "model/units.h"

#include <string.h>

#undef I

typedef struct bench {
    cm_case given;
    cm_speed speeds[2];
    cm_sensor sensor;
    cm_plane planes[2];
    double limit[2], alarm[2];
    int row_sensor[2], row_speed[2], block[2];
    cm_runs runs;
    cm_complex masses[4], readings[4];
    int repeats[4];
    cm_known known;
    cm_influence influence;
    cm_complex a[4], x[2], r[2], now[2], weakest[2];
    double std[4], weight[2], by_block[2];
    unsigned char determined[4], std_known[4], held[2], dependent[2];
    int base_runs[2];
    cm_scatter_source source[2];
    cm_problem problem;
    cm_condition condition;
    cm_answer answer;
    cm_job job;
} bench;

/* A job without anything to say: good coefficients, readings under their limits. */
static void set_up(bench *b)
{
    memset(b, 0, sizeof *b);
    b->speeds[0].id = "slow";
    b->speeds[1].id = "fast";
    b->limit[0] = b->limit[1] = 60e-6;
    b->alarm[0] = b->alarm[1] = 100e-6;
    b->sensor = (cm_sensor){.id = "DE", .unit = cm_unit_find("um pk"), .limit = b->limit, .alarm = b->alarm};
    for (int j = 0; j < 2; j++)
        b->planes[j] = (cm_plane){.id = j ? "P2" : "P1",
                                  .radius = 0.2,
                                  .cap = INFINITY,
                                  .cap_force = INFINITY,
                                  .change_cap = INFINITY};
    b->row_speed[1] = b->block[1] = 1;
    b->given = (cm_case){.mass_unit = cm_unit_find("g"),
                         .overspeed = 300,
                         .speed_count = 2,
                         .sensor_count = 1,
                         .plane_count = 2,
                         .speeds = b->speeds,
                         .sensors = &b->sensor,
                         .planes = b->planes,
                         .row_count = 2,
                         .row_sensor = b->row_sensor,
                         .row_speed = b->row_speed};
    for (int i = 0; i < 4; i++) {
        b->a[i] = 1e-3;
        b->std[i] = 1e-5;
        b->determined[i] = b->std_known[i] = 1;
    }
    for (int i = 0; i < 2; i++) {
        b->base_runs[i] = 1;
        b->weight[i] = 1;
        b->x[i] = 0.01;
        b->r[i] = 20e-6;
        b->weakest[i] = i ? -0.7 : 0.7;
        b->by_block[i] = 2;
    }
    b->masses[0] = b->masses[3] = 0.01;
    b->known = (cm_known){.row = 0, .plane = 0, .value = 1e-3, .uncertainty = 1e-4};
    b->runs = (cm_runs){.size = sizeof b->runs,
                        .rows = 2,
                        .planes = 2,
                        .runs = 2,
                        .block = b->block,
                        .pool = b->row_sensor,
                        .masses = b->masses,
                        .readings = b->readings,
                        .repeats = b->repeats,
                        .assumed_floor = b->weight,
                        .known_count = 1,
                        .known = &b->known,
                        .base = b->now};
    b->influence = (cm_influence){.rows = 2,
                                  .planes = 2,
                                  .a = b->a,
                                  .std = b->std,
                                  .determined = b->determined,
                                  .std_known = b->std_known,
                                  .base_runs = b->base_runs,
                                  .scatter_source = b->source};
    b->problem = (cm_problem){.size = sizeof b->problem,
                              .rows = 2,
                              .planes = 2,
                              .blocks = 2,
                              .block = b->block,
                              .y = b->r,
                              .a = b->a,
                              .weight = b->weight,
                              .base = b->now,
                              .now = b->now,
                              .held = b->held,
                              .held_value = b->now,
                              .mass_zero = 1e-12};
    b->condition = (cm_condition){.overall = 5, .blocks = 2, .by_block = b->by_block, .weakest = b->weakest};
    b->answer = (cm_answer){
        .outcome = CM_OPTIMAL, .x = b->x, .r = b->r, .rank = 2, .unknowns = 2, .dependent = b->dependent};
    b->job = (cm_job){.size = sizeof b->job,
                      .given = &b->given,
                      .runs = &b->runs,
                      .influence = &b->influence,
                      .problem = &b->problem,
                      .condition = &b->condition,
                      .answer = &b->answer};
}

/* Judges and expects exactly one finding, with this code and severity. */
static void expect_only(bench *b, const char *code, cm_severity severity)
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b->job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(b->job.findings->count, 1);
    CU_ASSERT_STRING_EQUAL(b->job.findings->items[0].code, code);
    CU_ASSERT_EQUAL(b->job.findings->items[0].severity, severity);
    cm_close(session);
}

static void test_nothing(void)
{
    bench b;
    set_up(&b);
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_EQUAL(b.job.findings->count, 0);
    cm_close(session);
}

static void test_readings(void)
{
    bench b;
    set_up(&b);
    b.r[1] = 60e-6;
    b.r[0] = 61e-6;
    expect_only(&b, "over-limit", CM_WARNING);
    set_up(&b);
    b.r[1] = -101e-6;
    expect_only(&b, "over-alarm", CM_ERROR);
}

/* kappa·delta on its steps: delta is 1 % here. */
static void test_conditioning(void)
{
    static const struct {
        double overall;
        cm_severity severity;
    } steps[] = {{101, CM_NOTE}, {201, CM_WARNING}, {401, CM_WARNING}};
    for (int i = 0; i < 3; i++) {
        bench b;
        set_up(&b);
        b.condition.overall = steps[i].overall;
        expect_only(&b, "ill-conditioned", steps[i].severity);
    }
    bench b;
    set_up(&b);
    b.condition.overall = 99;
    test_nothing();
    b.std_known[2] = 0; /* 7 % is assumed: 99 · 0.07 > 4 */
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_PTR_NOT_NULL(strstr(b.job.findings->items[0].message, "not meaningful"));
    CU_ASSERT_PTR_NOT_NULL(strstr(b.job.findings->items[0].message, "assumed"));
    CU_ASSERT_PTR_NOT_NULL(strstr(b.job.findings->items[0].message, "P1 and P2"));
    cm_close(session);
}

static void test_resonance(void)
{
    bench b;
    set_up(&b);
    b.held[1] = 1; /* one column, one row a speed: conditions count */
    b.by_block[0] = 20.1;
    expect_only(&b, "near-resonance", CM_WARNING);
    b.held[1] = 0; /* fewer rows than columns at a speed: no sign of anything */
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_EQUAL(b.job.findings->count, 0);
    cm_close(session);
}

static void test_masses(void)
{
    bench b;
    set_up(&b);
    b.x[1] = 0.0301;
    expect_only(&b, "far-from-trial", CM_WARNING);
    set_up(&b);
    b.held[0] = 1;
    b.planes[0].cap = 0.009;
    expect_only(&b, "over-cap", CM_WARNING);
    set_up(&b);
    b.held[0] = 1;
    b.planes[0].cap_force = 0.2 * 300 * 300 * 0.009; /* as much as 9 g at overspeed */
    expect_only(&b, "over-cap", CM_WARNING);
    set_up(&b);
    b.planes[0].cap = 0.011;
    b.now[0] = 0.012;
    expect_only(&b, "over-cap", CM_WARNING);
}

/* 6 g stay at 180 degrees; 5 g in total means 11 g of pieces were added: 17 g on a plane for 16. */
static void test_staying(void)
{
    bench b;
    cm_mass stays = {.plane = 0, .mass = -0.006, .stays = true};
    set_up(&b);
    b.given.has_now = true;
    b.given.now = (cm_mass_list){.count = 1, .room = 1, .items = &stays};
    b.held[0] = 1;
    b.now[0] = -0.006;
    b.x[0] = 0.005;
    b.planes[0].cap = 0.0169;
    expect_only(&b, "over-cap", CM_WARNING);
    b.planes[0].cap = 0.0171;
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_EQUAL(b.job.findings->count, 0);
    cm_close(session);
}

static void test_evidence(void)
{
    bench b;
    set_up(&b);
    b.source[1] = CM_SCATTER_ASSUMED;
    expect_only(&b, "assumed-scatter", CM_NOTE);
    set_up(&b);
    b.base_runs[1] = 0;
    expect_only(&b, "not-read-in-base", CM_NOTE);
    set_up(&b);
    b.known.value = 1e-3 + 2.7e-4; /* 2.7 of its standard deviations */
    expect_only(&b, "state-disagrees", CM_WARNING);
    set_up(&b);
    b.std[2] = b.std[3] = 0.5e-3;
    b.job.condition = NULL; /* which would have its say too */
    expect_only(&b, "hardly-seen", CM_WARNING);
    set_up(&b);
    b.answer.gap = 1.1e-8;
    expect_only(&b, "not-proven", CM_WARNING);
    set_up(&b);
    b.answer.rank = 1;
    b.dependent[0] = b.dependent[1] = 1;
    expect_only(&b, "dependent-planes", CM_WARNING);
}

static void test_undetermined(void)
{
    bench b;
    unsigned char determined[2] = {1, 0}, unknown[4] = {0, 0, 0, 1};
    cm_determination determination = {.determined = determined, .counted = 1, .unknown = unknown};
    set_up(&b);
    b.answer.outcome = CM_UNDETERMINED;
    b.job.determination = &determination;
    expect_only(&b, "undetermined", CM_ERROR);
    b.weight[1] = 0;
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_EQUAL(b.job.findings->count, 0);
    cm_close(session);
}

/* What was typed: each slip gives one finding, and a sensor that reads sound values none. */
static void test_entries(void)
{
    bench b;
    double trip[2] = {200e-6, 150e-6};
    cm_complex values[2] = {140e-6, 90e-6};
    double overall[2] = {NAN, NAN};
    cm_reading reading = {.sensor = 0, .speed = 1, .count = 2, .values = values, .overall = overall};
    cm_mass mass = {.plane = 1, .mass = 0.02};
    cm_run run = {
        .id = "trial", .masses = {.count = 1, .items = &mass}, .reading_count = 1, .readings = &reading};
    set_up(&b);
    b.sensor.trip = trip;
    b.given.runs = &run;
    b.given.run_count = 1;
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &b.job), CM_OK);
    CU_ASSERT_EQUAL(b.job.findings->count, 0);
    cm_close(session);
    values[1] = -151e-6;
    expect_only(&b, "over-trip", CM_WARNING);
    values[1] = 1.1e-3;
    expect_only(&b, "unlikely-size", CM_WARNING);
    values[1] = 90e-6;
    b.planes[1].cap = 0.019;
    expect_only(&b, "over-cap", CM_WARNING);
    b.planes[1].cap = INFINITY;
    b.given.sensors = (cm_sensor[]){b.sensor, b.sensor};
    b.given.sensor_count = 2;
    expect_only(&b, "not-read", CM_NOTE);
}

/* A coefficient that the runs do not tell makes the condition number infinite; that is no resonance. */
static void test_no_resonance(void)
{
    bench b;
    unsigned char determined[2] = {1, 0}, unknown[4] = {0, 0, 0, 1};
    cm_determination determination = {.determined = determined, .counted = 1, .unknown = unknown};
    set_up(&b);
    b.held[1] = 1;
    b.by_block[1] = INFINITY;
    expect_only(&b, "near-resonance", CM_WARNING);
    b.answer.outcome = CM_UNDETERMINED;
    b.job.determination = &determination;
    expect_only(&b, "undetermined", CM_ERROR);
}

int main(void)
{
    static const cm_test tests[] = {
        {"a good job has no findings", test_nothing},
        {"limits and alarms", test_readings},
        {"conditioning on its steps", test_conditioning},
        {"near a resonance", test_resonance},
        {"masses tried, carried and held", test_masses},
        {"masses that stay use up a plane", test_staying},
        {"evidence and proof", test_evidence},
        {"undetermined readings", test_undetermined},
        {"slips of the pen", test_entries},
        {"an unknown coefficient is no resonance", test_no_resonance},
        {NULL, NULL},
    };
    return run_suite("evidence/judge", tests);
}
