/* SPDX-License-Identifier: MIT */
/* Every public call over a job, asked of jobs that lack members: an answer, or a message that says what is wanting; never
 * a crash. What lacks is taken out of a job that went all the way. */
#include "suite.h"
#include "base/session.h"
#include "countermass/evidence.h"
#include "countermass/page.h"
#include "countermass/place.h"
#include "countermass/planes.h"
#include "countermass/start.h"

#include <string.h>

static const char HEAD[] =
    "case: {format: 1, title: half}\n"
    "conventions: {phase: lead, mass_angle: with-rotation, rotation: clockwise, seen_from: drive end}\n"
    "speeds: [{id: low, speed: 1000}, {id: service, speed: 3000}]\n"
    "sensors: [{id: DE, repeatability: 1, limit: 60, alarm: 150}, {id: FE, repeatability: 1, limit: 60}]\n"
    "planes:\n"
    "  - {id: P1, radius: 200, cap: 90, position: 400, sites: {count: 12}, pieces: [{mass: 20, stock: 3}]}\n"
    "  - {id: P2, radius: 200, zero: 20, position: 1600, sites: {count: 12}, pieces: [{mass: 15, stock: "
    "3}]}\n"
    "rotor: {mass: 800, grade: 2.5, service_speed: 3000, overspeed: 3300, first_resonance: 2400,\n"
    "        mass_centre: 1000, bearings: [{id: A, position: 0}, {id: B, position: 2000}]}\n"
    "survey: [{bearing: A, horizontal: {overall: 5 mm/s rms, once: 4.5 mm/s rms @ 10},\n"
    "          vertical: {once: 3 mm/s rms @ 20}}]\n"
    "runs:\n"
    "  - {id: as-found, readings: {low: {DE: 40 @ 30, FE: 55 @ 120}, service: {DE: 80 @ 60, FE: 70 @ 200}}}\n"
    "  - {id: one, masses: [{plane: P1, mass: 40, angle: 0}],\n"
    "     readings: {low: {DE: 48 @ 35, FE: 50 @ 110}, service: {DE: 99 @ 75, FE: 64 @ 190}}}\n"
    "  - {id: two, masses: [{plane: P2, mass: 40, angle: 90}],\n"
    "     readings: {low: {DE: 42 @ 38, FE: 66 @ 126}, service: {DE: 74 @ 70, FE: 95 @ 212}}}\n"
    "  - {id: both, masses: [{plane: P1, mass: 20, angle: 180}, {plane: P2, mass: 20, angle: 250}],\n"
    "     readings: {low: {DE: 36 @ 25, FE: 51 @ 121}, service: {DE: 75 @ 47, FE: 60 @ 190}}}\n";

static const char *const GOALS[] = {"objective: {minimise: least-squares}\n",
                                    "objective: {minimise: confidence}\n",
                                    "objective: {minimise: min-max, drift: linear}\n"};

/* ---- the calls ---- */

typedef cm_status call(cm_session *session, cm_job *job);

static const cm_shop *shop; /* of the case in hand; NULL: none */

static cm_status examine_all(cm_session *session, cm_job *job)
{
    return cm_examine(session, job, 0);
}

static cm_status examine_last(cm_session *session, cm_job *job)
{
    return cm_examine(session, job, 1);
}

static cm_status compare(cm_session *session, cm_job *job)
{
    cm_plane_question question = {.size = sizeof question};
    return cm_compare_planes(session, job, &question);
}

static cm_status place(cm_session *session, cm_job *job)
{
    cm_place_question question = {.size = sizeof question, .shop = shop, .seconds = 0.01, .offers = 1};
    return cm_place_pieces(session, job, &question);
}

static cm_status hand_work(cm_session *session, cm_job *job)
{
    static const char *const split[] = {"P1: 20 @ 17"}, *const merge[] = {"P2: 10 @ 30 + 5 @ 60"};
    return cm_hand_work_of(session, job, shop, 1, split, 1, merge);
}

static cm_status trials(cm_session *session, cm_job *job)
{
    return cm_trials_of(session, job, NULL);
}

static cm_status record(cm_session *session, cm_job *job)
{
    const char *yaml;
    return cm_record(session, job, &yaml);
}

/* In the order in which a whole job is made. */
static call *const CALLS[] = {
    cm_determine,    cm_spread_of, cm_spread_by_repetition,
    cm_drift_of,     cm_gains_of,  cm_load_range_of,
    cm_trade_off_of, examine_all,  examine_last,
    cm_foretell,     cm_card_of,   cm_sweeps_of,
    cm_survey_of,    cm_judge,     cm_tolerance_of,
    trials,          compare,      hand_work,
    place,           record,
};
enum { CALL_COUNT = sizeof CALLS / sizeof *CALLS };

typedef cm_status page(cm_session *session, const cm_job *job, cm_page **page);

static cm_status verify(cm_session *session, const cm_job *job, cm_page **out)
{
    int pass;
    return cm_page_verify(session, job, out, &pass);
}

static page *const PAGES[] = {cm_page_check,  cm_page_influence, cm_page_solve,
                              cm_page_planes, cm_page_place,     cm_page_tolerance,
                              cm_page_trial,  cm_page_report,    verify};
enum { PAGE_COUNT = sizeof PAGES / sizeof *PAGES };

/* ---- a whole job, and less ---- */

static const size_t MEMBERS[] = {
    offsetof(cm_job, given),     offsetof(cm_job, runs),          offsetof(cm_job, influence),
    offsetof(cm_job, problem),   offsetof(cm_job, determination), offsetof(cm_job, condition),
    offsetof(cm_job, answer),    offsetof(cm_job, spread),        offsetof(cm_job, findings),
    offsetof(cm_job, tolerance), offsetof(cm_job, trials),        offsetof(cm_job, comparison),
    offsetof(cm_job, hand_work), offsetof(cm_job, placement),     offsetof(cm_job, trade_off),
    offsetof(cm_job, foretold),  offsetof(cm_job, surveyed),      offsetof(cm_job, sweeps),
    offsetof(cm_job, card),      offsetof(cm_job, examined),      offsetof(cm_job, drift),
    offsetof(cm_job, gains),     offsetof(cm_job, load_range),
};
enum { MEMBER_COUNT = sizeof MEMBERS / sizeof *MEMBERS };

static cm_job whole_job(cm_session *session, const char *goal)
{
    cm_job job = {.size = sizeof job, .show_proof = 1};
    char text[sizeof HEAD + 100];
    strcpy(text, HEAD);
    strcat(text, goal);
    CU_ASSERT_EQUAL_FATAL(cm_case_parse(session, "half.yaml", text, strlen(text), &job.given), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_runs(session, job.given, &job.runs), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, job.runs, &job.influence), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_case_problem(session, job.given, job.influence, &job.problem), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_condition_of(session, job.problem, &job.condition), CM_OK);
    CU_ASSERT_EQUAL_FATAL(cm_solve(session, job.problem, &job.answer), CM_OK);
    const cm_answer *answer = job.answer;
    shop = NULL;
    if (cm_case_has_shop(job.given, job.problem))
        CU_ASSERT_EQUAL_FATAL(cm_case_shop(session, job.given, job.problem, &shop), CM_OK);
    for (int i = 0; i < CALL_COUNT; i++)
        if ((CALLS[i] != place && CALLS[i] != hand_work) || shop)
            CU_ASSERT_EQUAL(CALLS[i](session, &job), CM_OK);
    job.answer = answer;
    return job;
}

static cm_job without(const cm_job *whole, unsigned long missing)
{
    cm_job job = *whole;
    for (int m = 0; m < MEMBER_COUNT; m++)
        if (missing & 1UL << m)
            memset((char *)&job + MEMBERS[m], 0, sizeof(void *));
    return job;
}

static int answers_or_tells(const cm_session *session, int before, cm_status status)
{
    return status == CM_OK || (status == CM_BAD_INPUT && cm_message_count(session) > before);
}

static void call_with(cm_session *session, const cm_job *whole, unsigned long missing)
{
    for (int i = 0; i < CALL_COUNT; i++) {
        cm_mark mark = cm_mark_of(session);
        cm_job job = without(whole, missing);
        const cm_job same = job;
        int before = cm_message_count(session);
        cm_status status = CALLS[i](session, &job);
        CU_ASSERT(answers_or_tells(session, before, status));
        CU_ASSERT(status == CM_OK || !memcmp(&job, &same, sizeof job)); /* a failure changes nothing */
        cm_release_to(session, mark);
    }
}

static void show_with(cm_session *session, const cm_job *whole, unsigned long missing)
{
    for (int i = 0; i < PAGE_COUNT; i++) {
        cm_mark mark = cm_mark_of(session);
        cm_job job = without(whole, missing);
        cm_page *out = NULL;
        const char *text;
        int before = cm_message_count(session);
        cm_status status = PAGES[i](session, &job, &out);
        CU_ASSERT(answers_or_tells(session, before, status));
        for (int format = CM_FORMAT_TEXT; status == CM_OK && format <= CM_FORMAT_HTML; format++) {
            cm_mark inner = cm_mark_of(session);
            CU_ASSERT_EQUAL(cm_page_render(session, out, (cm_page_format)format, 0, &text), CM_OK);
            cm_release_to(session, inner);
        }
        before = cm_message_count(session);
        if (status == CM_OK)
            CU_ASSERT(answers_or_tells(session, before, cm_page_plot(session, out, &text)));
        cm_release_to(session, mark);
    }
}

/* One and two members missing; one and two members there; the job at every stage. */
static void for_subsets(const char *goal, void (*look)(cm_session *, const cm_job *, unsigned long))
{
    const unsigned long all = (1UL << MEMBER_COUNT) - 1;
    cm_session *session = cm_open(NULL);
    const cm_job whole = whole_job(session, goal);
    look(session, &whole, 0);
    for (int a = 0; a < MEMBER_COUNT; a++) {
        look(session, &whole, all & ~((2UL << a) - 1));
        for (int b = 0; b <= a; b++) {
            unsigned long both = 1UL << a | 1UL << b;
            look(session, &whole, both);
            look(session, &whole, all & ~both);
        }
    }
    cm_close(session);
}

static void test_calls(void)
{
    for (size_t g = 0; g < sizeof GOALS / sizeof *GOALS; g++)
        for_subsets(GOALS[g], call_with);
}

static void test_pages(void)
{
    for (size_t g = 0; g < sizeof GOALS / sizeof *GOALS; g++)
        for_subsets(GOALS[g], show_with);
}

int main(void)
{
    static const cm_test tests[] = {{"calls over a job that lacks members", test_calls},
                                    {"pages of such a job", test_pages},
                                    {NULL, NULL}};
    return run_suite("model/half_job", tests);
}
