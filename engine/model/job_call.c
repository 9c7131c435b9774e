/* SPDX-License-Identifier: MIT */
/* Members of a job that calls need and leave, in one table. */
#include "model/job_call.h"

#include "base/given.h"
#include "model/case.h"
#include "model/given.h"

#include <string.h>

/* `rests_on`: what whoever reads the member reads too. */
static const struct {
    const char *member, *words, *maker;
    size_t at;
    unsigned rests_on;
} MEMBERS[] = {
#define MEMBER(name, words, maker, rests_on)                                                                 \
    {                                                                                                        \
#name, words, maker, offsetof(cm_job, name), rests_on                                                \
    }
    MEMBER(given, "the case", "cm_case_read", 0),
    MEMBER(runs, "the runs", "cm_case_runs", 0),
    MEMBER(influence, "the influence matrix", "cm_fit", 0),
    MEMBER(problem, "the problem", "cm_case_problem", 0),
    MEMBER(determination, "what the runs tell", "cm_determine", CM_HAS_PROBLEM),
    MEMBER(condition, "the condition numbers", "cm_condition_of", CM_HAS_PROBLEM),
    MEMBER(answer, "the answer", "cm_solve", CM_HAS_PROBLEM),
    MEMBER(spread, "the spread", "cm_spread_of", CM_HAS_PROBLEM),
    MEMBER(findings, "the findings", "cm_judge", 0),
    MEMBER(tolerance, "the tolerance", "cm_tolerance_of", 0),
    MEMBER(trials, "the trial masses", "cm_trials_of", 0),
    MEMBER(comparison, "the comparison of planes", "cm_compare_planes", CM_HAS_PROBLEM),
    MEMBER(hand_work, "the hand work", "cm_hand_work_of", 0),
    MEMBER(placement, "the placement", "cm_place_pieces", CM_HAS_PROBLEM),
    MEMBER(trade_off, "the trade-off", "cm_trade_off_of", CM_HAS_PROBLEM),
    MEMBER(foretold, "the runs foretold", "cm_foretell", CM_HAS_RUNS),
    MEMBER(surveyed, "the survey", "cm_survey_of", 0),
    MEMBER(sweeps, "the sweeps", "cm_sweeps_of", 0),
    MEMBER(card, "the card", "cm_card_of", CM_HAS_RUNS),
    MEMBER(examined, "the runs examined", "cm_examine", CM_HAS_RUNS),
    MEMBER(drift, "the drift", "cm_drift_of", CM_HAS_RUNS),
    MEMBER(load_range, "the load range", "cm_load_range_of", CM_HAS_PROBLEM),
    MEMBER(gains, "the gains", "cm_gains_of", CM_HAS_PROBLEM),
#undef MEMBER
};
enum { COUNT = sizeof MEMBERS / sizeof *MEMBERS };

static bool is_there(const cm_job *job, int member)
{
    const void *value;
    memcpy(&value, (const char *)job + MEMBERS[member].at, sizeof value);
    return value != NULL;
}

static void check_members(cm_session *session, const cm_job_call *call, const cm_job *job)
{
    for (int m = 0; m < COUNT; m++) {
        if (is_there(job, m))
            continue;
        if (call->needs & 1U << m)
            cm_fail(session, CM_BAD_INPUT, "%s needs %s: cm_job.%s is NULL, %s makes it", call->name,
                    MEMBERS[m].words, MEMBERS[m].member, MEMBERS[m].maker);
        for (int other = 0; other < COUNT; other++)
            if (MEMBERS[other].rests_on & 1U << m && is_there(job, other))
                cm_fail(session, CM_BAD_INPUT,
                        "%s: the job has %s but not %s that it rests on: cm_job.%s is NULL", call->name,
                        MEMBERS[other].words, MEMBERS[m].words, MEMBERS[m].member);
    }
}

/* A result that the caller's struct has no room for would be lost. */
static void check_room(cm_session *session, const cm_job_call *call, const cm_job *given)
{
    for (int m = 0; m < COUNT; m++)
        if (call->leaves & 1U << m && given->size < MEMBERS[m].at + sizeof(void *))
            cm_fail(session, CM_BAD_INPUT,
                    "%s leaves %s in cm_job.%s, which lies beyond the size that the job says it has (%zu)",
                    call->name, MEMBERS[m].words, MEMBERS[m].member, given->size);
}

/* Rows and planes of two members, whose indices are used in each other's arrays. */
static void check_shape(cm_session *session, const cm_job_call *call, const char *what, int rows, int planes,
                        const char *other, int other_rows, int other_planes)
{
    if (rows != other_rows || planes != other_planes)
        cm_fail(session, CM_BAD_INPUT,
                "%s: the %s of the job has %d rows and %d planes, the %s %d and %d; they must be of one case",
                call->name, what, rows, planes, other, other_rows, other_planes);
}

static void check_shapes(cm_session *session, const cm_job_call *call, const cm_job *job)
{
    const cm_case *c = job->given;
    const cm_influence *fit = job->influence;
    const cm_problem *p = job->problem;
    const cm_runs *runs = job->runs;
    if (runs && fit)
        check_shape(session, call, "influence matrix", fit->rows, fit->planes, "runs", runs->rows,
                    runs->planes);
    if (p && fit)
        check_shape(session, call, "problem", p->rows, p->planes, "influence matrix", fit->rows, fit->planes);
    if (p && runs)
        check_shape(session, call, "problem", p->rows, p->planes, "runs", runs->rows, runs->planes);
    if (p && c)
        check_shape(session, call, "problem", p->rows, p->planes, "case", c->row_count, c->plane_count);
    if (runs && c)
        check_shape(session, call, "runs", runs->rows, runs->planes, "case", c->row_count, c->plane_count);
}

cm_job *cm_job_begin(cm_session *session, const cm_job_call *call, const cm_job *given)
{
    const cm_job *known = CM_GIVEN(session, cm_job, problem, given);
    cm_job *own = CM_NEW(session, 1, cm_job);
    *own = *known;
    check_room(session, call, given);
    check_members(session, call, own);
    if (own->runs)
        own->runs = cm_given_runs(session, own->runs);
    if (own->problem)
        own->problem = cm_given_problem(session, own->problem);
    check_shapes(session, call, own);
    return own;
}

void cm_job_end(const cm_job_call *call, const cm_job *own, cm_job *given)
{
    for (int m = 0; m < COUNT; m++)
        if (call->leaves & 1U << m)
            memcpy((char *)given + MEMBERS[m].at, (const char *)own + MEMBERS[m].at, sizeof(void *));
}
