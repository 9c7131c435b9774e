/* SPDX-License-Identifier: MIT */
/* Every step of a job, asked before the steps it rests on: a message that says what is missing, and a session that still
 * works. */
#include "suite.h"
#include "base/session.h"
#include "countermass/evidence.h"
#include "countermass/job.h"
#include "countermass/place.h"
#include "countermass/planes.h"
#include "countermass/start.h"

#include <string.h>

typedef cm_status step(cm_session *session, cm_job *job);

static cm_status examine(cm_session *session, cm_job *job)
{
    return cm_examine(session, job, 1);
}

static cm_status compare(cm_session *session, cm_job *job)
{
    cm_plane_question question = {.size = sizeof question};
    return cm_compare_planes(session, job, &question);
}

static const struct {
    step *ask;
    const char *wanting; /* part of the message */
} STEPS[] = {
    {examine, "cm_examine needs the case"},
    {cm_card_of, "cm_card_of needs the case"},
    {cm_sweeps_of, "cm_sweeps_of needs the case"},
    {cm_survey_of, "cm_survey_of needs the case"},
    {cm_foretell, "cm_foretell needs the runs"},
    {cm_determine, "cm_determine needs the influence matrix"},
    {cm_drift_of, "cm_drift_of needs the runs"},
    {cm_spread_of, "cm_spread_of needs the influence matrix"},
    {cm_spread_by_repetition, "cm_spread_by_repetition needs the runs"},
    {compare, "cm_compare_planes needs the problem"},
};

static void test_steps_too_early(void)
{
    for (size_t i = 0; i < sizeof STEPS / sizeof *STEPS; i++) {
        cm_session *session = cm_open(NULL);
        cm_job job = {.size = sizeof job};
        CU_ASSERT_EQUAL(STEPS[i].ask(session, &job), CM_BAD_INPUT);
        int last = cm_message_count(session) - 1;
        CU_ASSERT_FATAL(last >= 0);
        const cm_message *message = cm_message_at(session, last);
        CU_ASSERT_PTR_NOT_NULL(strstr(message->text, STEPS[i].wanting));
        CU_ASSERT_EQUAL(STEPS[i].ask(session, &job), CM_BAD_INPUT);
        cm_close(session);
    }
}

int main(void)
{
    static const cm_test tests[] = {{"steps asked too early", test_steps_too_early}, {NULL, NULL}};
    return run_suite("model/empty_job", tests);
}
