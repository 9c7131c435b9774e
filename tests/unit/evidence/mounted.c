/* SPDX-License-Identifier: MIT */
/* From the text of a case to what was really mounted, the card and the survey. The machine: readings y + A m with the
 * coefficients below; all numbers constructed. */
#include "suite.h"
#include "base/session.h"
#include "base/text.h"
#include "countermass.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"

#include <math.h>
#include <string.h>

#undef I

enum { ROWS = 6, PLANES = 2 };

static double complex phasor(double size, double degrees)
{
    double a = degrees * 3.14159265358979323846 / 180;
    return size * cm_pack(cos(a), sin(a));
}

/* Readings with masses in grams at the planes' own angles, lead phasors in um pp; rows 0 to 2 at `low`, 3 to 5 at `service`. */
static void read_machine(const double complex m[PLANES], double complex r[ROWS])
{
    for (int i = 0; i < ROWS; i++) {
        double each = i < 3 ? 0.3 : 0.9;
        r[i] = phasor(40 + 5 * i, 70 * i) +
               each * (phasor(1, 30 + 55 * i) * m[0] + phasor(0.8, 200 - 40 * i) * m[1]);
    }
}

static void add_run(cm_text *text, const char *id, const double complex stated[PLANES],
                    const double complex really[PLANES], int rows)
{
    double complex r[ROWS];
    const double degrees = 180 / 3.14159265358979323846;
    read_machine(really, r);
    cm_text_print(text, "  - id: %s\n    masses: [", id);
    for (int j = 0; j < PLANES; j++)
        cm_text_print(text, "%s{plane: P%d, mass: %.9f, angle: %.9f}", j ? ", " : "", j + 1, cabs(stated[j]),
                      carg(stated[j]) * degrees);
    cm_text_print(text, "]\n    readings:\n");
    for (int i = 0; i < rows; i++)
        cm_text_print(text, "%s%s: %.9f @ %.9f%s",
                      i % 3 ? ", "
                      : i   ? "      service: {"
                            : "      low: {",
                      i % 3 == 0   ? "DE"
                      : i % 3 == 1 ? "FE"
                                   : "GE",
                      cabs(r[i]), carg(r[i]) * degrees, i % 3 == 2 ? "}\n" : "");
}

/* A job whose last run states `stated` and has `really` on the rotor. */
static const char *job_text(cm_session *session, const double complex stated[PLANES],
                            const double complex really[PLANES], int rows)
{
    static const double complex none[PLANES], first[PLANES] = {50, 0};
    const double complex second[PLANES] = {0, phasor(50, 90)};
    cm_text text = {.session = session};
    cm_text_add(&text,
                "case: {format: 1, title: unit}\n"
                "conventions: {phase: lead, mass_angle: with-rotation}\n"
                "speeds: [{id: low, speed: 1000}, {id: service, speed: 3000}]\n"
                "sensors: [{id: DE, repeatability: 1, alarm: 150}, {id: FE, repeatability: 1},\n"
                "          {id: GE, repeatability: 1}]\n"
                "planes: [{id: P1, radius: 200}, {id: P2, radius: 200, zero: 20, sites: {count: 12}}]\n"
                "survey: [{bearing: A, horizontal: {overall: 5 mm/s rms, once: 4.5 mm/s rms @ 10},\n"
                "          vertical: {once: 3 mm/s rms @ 20}}]\n"
                "objective: {minimise: least-squares}\nruns:\n");
    add_run(&text, "as-found", none, none, ROWS);
    add_run(&text, "one", first, first, ROWS);
    add_run(&text, "two", second, second, ROWS);
    add_run(&text, "trim", stated, really, rows);
    return text.bytes;
}

static cm_job examine(cm_session *session, const char *text, int so_far)
{
    cm_job job = {.size = sizeof job};
    CU_ASSERT_EQUAL_FATAL(cm_case_parse(session, "unit.yaml", text, strlen(text), &job.given), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, job.given, &job.runs), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, job.runs, &job.influence), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_problem(session, job.given, job.influence, &job.problem), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_determine(session, &job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, job.problem, &job.answer), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, &job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_examine(session, &job, so_far), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_card_of(session, &job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_sweeps_of(session, &job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_survey_of(session, &job), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_judge(session, &job), CM_OK);
    return job;
}

/* The best explanation of the last run; shares must sum to 1. */
static const cm_explanation *best_of(const cm_job *job)
{
    const cm_run_test *last = &job->examined->items[job->examined->count - 1];
    double sum = 0;
    CU_ASSERT_EQUAL_FATAL(last->run, 3);
    CU_ASSERT_FATAL(last->missed && last->explanation_count > 0);
    for (int i = 0; i < last->explanation_count; i++) {
        sum += last->explanations[i].likelihood;
        CU_ASSERT(i == 0 || last->explanations[i].likelihood <= last->explanations[i - 1].likelihood);
    }
    CU_ASSERT_DOUBLE_EQUAL(sum, 1, 1e-12);
    return &last->explanations[0];
}

static const cm_finding *finding_of(const cm_job *job, const char *code)
{
    for (int i = 0; i < job->findings->count; i++)
        if (strcmp(job->findings->items[i].code, code) == 0)
            return &job->findings->items[i];
    return NULL;
}

static void test_right(void)
{
    cm_session *session = cm_open(NULL);
    const double complex m[PLANES] = {phasor(40, 75), phasor(35, 310)};
    cm_job job = examine(session, job_text(session, m, m, ROWS), 0);
    CU_ASSERT(!job.examined->items[job.examined->count - 1].missed);
    CU_ASSERT_PTR_NULL(finding_of(&job, "mounted-differently"));
    CU_ASSERT_EQUAL(job.card->count, ROWS);
    CU_ASSERT_EQUAL(job.card->run, -1);
    for (int i = 0; i < ROWS; i++)
        CU_ASSERT(job.card->rows[i].abort > cabs(job.card->rows[i].expected) &&
                  job.card->rows[i].abort <= 75e-6 * 2);
    cm_close(session);
}

static void test_singles(void)
{
    const double complex m[PLANES] = {phasor(40, 75),
                                      phasor(35, 320)}; /* own angles; 320 is nearest to position 12 */
    const struct {
        cm_mistake_kind kind;
        int plane;
        double complex really[PLANES];
    } rows[] = {
        {CM_ANGLE_MIRRORED, 0, {conj(m[0]), m[1]}},
        {CM_ANGLE_MIRRORED, 1, {m[0], conj(m[1])}},
        {CM_OPPOSITE_SIDE, 1, {m[0], -m[1]}},
        {CM_ONE_POSITION_OFF, 1, {m[0], phasor(35, 350)}},
        {CM_MASS_MISSING, 0, {0, m[1]}},
        {CM_TRIAL_LEFT_ON, 1, {m[0], m[1] + phasor(50, 90)}},
        {CM_PLANES_SWAPPED, 0, {m[1], m[0]}},
        {CM_WRONG_RADIUS, 0, {1.4 * m[0], m[1]}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cm_session *session = cm_open(NULL);
        cm_job job = examine(session, job_text(session, m, rows[i].really, ROWS), 0);
        const cm_explanation *best = best_of(&job);
        CU_ASSERT_EQUAL(best->mistake.kind, rows[i].kind);
        CU_ASSERT_EQUAL(best->mistake.plane, rows[i].plane);
        CU_ASSERT(!best->has_second && best->likelihood > 0.9);
        const cm_finding *finding = finding_of(&job, "mounted-differently");
        CU_ASSERT_PTR_NOT_NULL_FATAL(finding);
        CU_ASSERT_EQUAL(finding->explained->run, 3);
        cm_close(session);
    }
}

static void test_pair(void)
{
    const double complex m[PLANES] = {phasor(40, 75), phasor(35, 310)}, really[PLANES] = {conj(m[0]), -m[1]};
    cm_session *session = cm_open(NULL);
    cm_job job = examine(session, job_text(session, m, really, ROWS), 0);
    const cm_explanation *best = best_of(&job);
    CU_ASSERT(best->has_second);
    CU_ASSERT_EQUAL(best->mistake.kind, CM_ANGLE_MIRRORED);
    CU_ASSERT_EQUAL(best->mistake.plane, 0);
    CU_ASSERT_EQUAL(best->second.kind, CM_OPPOSITE_SIDE);
    CU_ASSERT_EQUAL(best->second.plane, 1);
    cm_close(session);
}

static void test_so_far(void)
{
    const double complex m[PLANES] = {phasor(140, 75), phasor(35, 310)}, really[PLANES] = {-m[0], m[1]};
    cm_session *session = cm_open(NULL);
    cm_job job = examine(session, job_text(session, m, really, 3), 1);
    CU_ASSERT_EQUAL(job.card->go, CM_GO_STOP);
    CU_ASSERT_EQUAL(job.card->run, 3);
    CU_ASSERT_EQUAL(job.card->count, ROWS);
    CU_ASSERT_EQUAL(best_of(&job)->mistake.kind, CM_OPPOSITE_SIDE);
    double complex r[ROWS];
    read_machine(really, r); /* what service speed would bring, in um pp: half of it is the amplitude */
    for (int i = 3; i < ROWS; i++) {
        CU_ASSERT(!job.card->rows[i].is_read);
        CU_ASSERT_DOUBLE_EQUAL(job.card->rows[i].if_so, cabs(r[i]) * 0.5e-6, 1e-10);
    }
    job = examine(session, job_text(session, m, m, 3), 1);
    CU_ASSERT_EQUAL(job.card->go, CM_GO_ON);
    cm_close(session);
}

/* Horizontal and vertical 10 degrees apart speak against unbalance; 90 % of the overall is once per turn. */
static void test_survey(void)
{
    const double complex m[PLANES] = {phasor(40, 75), phasor(35, 310)};
    cm_session *session = cm_open(NULL);
    cm_job job = examine(session, job_text(session, m, m, ROWS), 0);
    CU_ASSERT_EQUAL_FATAL(job.surveyed->count, 1);
    CU_ASSERT_EQUAL(job.surveyed->items[0].against, 1);
    CU_ASSERT_DOUBLE_EQUAL(job.surveyed->items[0].signs[0].value, 0.9, 1e-12);
    CU_ASSERT_PTR_NOT_NULL(finding_of(&job, "not-unbalance"));
    cm_close(session);
}

/* Gamma(1) and F(2, 2f) are the tails of one error; Gamma(3) at 2: exp(-2) (1 + 2 + 2). */
static void test_tail(void)
{
    CU_ASSERT_DOUBLE_EQUAL(cm_sum_tail(1, 2.25, INFINITY), cm_tail(1.5, INFINITY), 1e-15);
    CU_ASSERT_DOUBLE_EQUAL(cm_sum_tail(1, 2.25, 4), cm_tail(1.5, 4), 1e-15);
    CU_ASSERT_DOUBLE_EQUAL(cm_sum_tail(3, 2, INFINITY), exp(-2) * 5, 1e-15);
    CU_ASSERT_DOUBLE_EQUAL(cm_sum_tail(3, 2, 1e9), exp(-2) * 5, 1e-8);
    CU_ASSERT_EQUAL(cm_sum_tail(5, 0, 3), 1);
}

int main(void)
{
    static const cm_test tests[] = {
        {"a right run is not accused, and has a card", test_right},
        {"single mistakes", test_singles},
        {"two mistakes at once", test_pair},
        {"on the way up", test_so_far},
        {"survey", test_survey},
        {"sum of squares of errors", test_tail},
        {NULL, NULL},
    };
    return run_suite("evidence/mounted", tests);
}
