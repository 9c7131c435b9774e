/* SPDX-License-Identifier: MIT */
/* Spread of masses by repetition: agrees with the closed form where there is one, and serves where caps bind. */
#include "suite.h"
#include "base/session.h"
#include "countermass.h"
#include "spread/simulate.h"

#undef I

/* Invented: readings that repeat well, so that the closed form of first order holds. */
static const char STEADY[] =
    "case: {format: 1}\n"
    "conventions: {phase: lag, mass_angle: with-rotation}\n"
    "speeds: [{id: s, speed: 3000}]\n"
    "sensors: [{id: A, limit: 50, repeatability: 0.1}, {id: B, limit: 50, repeatability: 0.1},\n"
    "  {id: C, limit: 50, repeatability: 0.1}, {id: D, limit: 50, repeatability: 0.1}]\n"
    "planes: [{id: P1, radius: 200}, {id: P2, radius: 200}]\n"
    "runs:\n"
    "  - {id: r0, readings: {s: {A: 82 @ 143, B: 40 @ 10, C: 60 @ 200, D: 33 @ 300}}}\n"
    "  - {id: r1, masses: [{plane: P1, mass: 100, angle: 0}],\n"
    "     readings: {s: {A: 60 @ 120, B: 52 @ 30, C: 41 @ 230, D: 35 @ 310}}}\n"
    "  - {id: r2, masses: [{plane: P2, mass: 100, angle: 0}],\n"
    "     readings: {s: {A: 90 @ 160, B: 70 @ 330, C: 66 @ 170, D: 70 @ 340}}}\n"
    "influence:\n"
    "  - {plane: P1, speed: s, sensor: B, value: 0.2 @ 80, uncertainty: {size: 2 %, phase: 1, common: 0.5}}\n"
    "  - {plane: P1, speed: s, sensor: C, value: 0.35 @ 330, uncertainty: {size: 2 %, phase: 1, common: "
    "0.5}}\n";

static cm_status read_case(cm_session *session, const char *file, const cm_case **given)
{
    return file ? cm_case_read(session, file, given)
                : cm_case_parse(session, "steady.yaml", STEADY, sizeof STEADY - 1, given);
}

static void solve(cm_session *session, const char *file, cm_job *job)
{
    *job = (cm_job){.size = sizeof *job};
    CU_ASSERT_EQUAL_FATAL(read_case(session, file, &job->given), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, job->given, &job->runs), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, job->runs, &job->influence), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_problem(session, job->given, job->influence, &job->problem), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_determine(session, job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, job->problem, &job->answer), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, job), CM_OK);
}

static cm_status simulate(cm_session *session, const cm_job *job, int samples, const cm_spread **spread)
{
    CM_ENTER(session);
    *spread = cm_simulate_masses(session, job, samples);
    return cm_leave(session);
}

/* 3,000 repetitions: a standard deviation is known to 1/sqrt(6000) = 1.3 %; four times that is allowed, and the same for
 * a size, which is one number instead of two: 1.8 %. */
static void test_closed_form(void)
{
    cm_session *session = cm_open(NULL);
    cm_job job;
    const cm_spread *spread;
    solve(session, NULL, &job);
    CU_ASSERT_FALSE(cm_needs_simulation(&job));
    CU_ASSERT_EQUAL_FATAL(simulate(session, &job, 3000, &spread), CM_OK);
    CU_ASSERT_EQUAL(spread->simulated, 3000);
    for (int j = 0; j < job.problem->planes; j++) {
        CU_ASSERT(fabs(spread->mass_std[j] / job.spread->mass_std[j] - 1) < 0.052);
        CU_ASSERT(fabs(spread->size_std[j] / job.spread->size_std[j] - 1) < 0.073);
        CU_ASSERT(fabs(spread->angle_std[j] / job.spread->angle_std[j] - 1) < 0.073);
    }
    cm_close(session);
}

static void test_caps(void)
{
    cm_session *session = cm_open(NULL);
    cm_job job;
    solve(session, "cases/demo/min-max.yaml", &job);
    CU_ASSERT(cm_needs_simulation(&job));
    CU_ASSERT_EQUAL_FATAL(cm_spread_by_repetition(session, &job), CM_OK);
    const cm_spread *first = job.spread;
    for (int j = 0; j < job.problem->planes; j++) {
        CU_ASSERT(first->mass_std[j] > 0 && isfinite(first->mass_std[j]));
        if (job.answer->at_cap[j])
            CU_ASSERT(first->size_std[j] < first->mass_std[j]);
    }
    const cm_spread *again;
    CU_ASSERT_EQUAL_FATAL(simulate(session, &job, 200, &again), CM_OK);
    for (int j = 0; j < job.problem->planes; j++)
        CU_ASSERT_EQUAL(again->mass_std[j], first->mass_std[j]); /* the seed is fixed */
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"agrees with the closed form", test_closed_form},
        {"serves where caps bind, the same every time", test_caps},
        {NULL, NULL},
    };
    return run_suite("spread/simulate", tests);
}
