/* SPDX-License-Identifier: MIT */
/* Members of a job that calls need and leave, in one table. */
#include "model/job_call.h"

#include "base/given.h"
#include "model/case.h"
#include "model/given.h"

#include <string.h>

/* `rests_on`: what whoever computes with the member reads too; `shown_with`: and whoever shows it. Later members rest on
 * earlier ones only. */
static const struct {
    const char *member, *words, *maker;
    size_t at;
    unsigned rests_on, shown_with;
} MEMBERS[] = {
#define FIT (CM_HAS_RUNS | CM_HAS_INFLUENCE)
#define MEMBER(name, words, maker, rests_on, shown_with)                                                     \
    {                                                                                                        \
#name, words, maker, offsetof(cm_job, name), rests_on, (rests_on) | (shown_with)                     \
    }
    MEMBER(given, "the case", "cm_case_read", 0, 0),
    MEMBER(runs, "the runs", "cm_case_runs", 0, 0),
    MEMBER(influence, "the influence matrix", "cm_fit", 0, CM_HAS_RUNS),
    MEMBER(problem, "the problem", "cm_case_problem", 0, FIT),
    MEMBER(determination, "what the runs tell", "cm_determine", CM_HAS_PROBLEM, FIT),
    MEMBER(condition, "the condition numbers", "cm_condition_of", CM_HAS_PROBLEM, FIT),
    MEMBER(answer, "the answer", "cm_solve", CM_HAS_PROBLEM, FIT),
    MEMBER(spread, "the spread", "cm_spread_of", CM_HAS_PROBLEM, CM_HAS_ANSWER),
    MEMBER(findings, "the findings", "cm_judge", 0, 0),
    MEMBER(tolerance, "the tolerance", "cm_tolerance_of", 0, 0),
    MEMBER(trials, "the trial masses", "cm_trials_of", 0, 0),
    MEMBER(comparison, "the comparison of planes", "cm_compare_planes", CM_HAS_PROBLEM, 0),
    MEMBER(hand_work, "the hand work", "cm_hand_work_of", 0, 0),
    MEMBER(placement, "the placement", "cm_place_pieces", CM_HAS_PROBLEM, CM_HAS_ANSWER),
    MEMBER(trade_off, "the trade-off", "cm_trade_off_of", CM_HAS_PROBLEM, CM_HAS_ANSWER),
    MEMBER(foretold, "the runs foretold", "cm_foretell", CM_HAS_RUNS, FIT),
    MEMBER(surveyed, "the survey", "cm_survey_of", 0, 0),
    MEMBER(sweeps, "the sweeps", "cm_sweeps_of", 0, 0),
    MEMBER(card, "the card", "cm_card_of", CM_HAS_RUNS, FIT),
    MEMBER(examined, "the runs examined", "cm_examine", CM_HAS_RUNS, FIT),
    MEMBER(drift, "the drift", "cm_drift_of", CM_HAS_RUNS, FIT | CM_HAS_PROBLEM),
    MEMBER(load_range, "the load range", "cm_load_range_of", CM_HAS_PROBLEM, CM_HAS_ANSWER),
    MEMBER(gains, "the gains", "cm_gains_of", CM_HAS_PROBLEM, CM_HAS_ANSWER),
#undef MEMBER
#undef FIT
};
enum { COUNT = sizeof MEMBERS / sizeof *MEMBERS };

static bool is_there(const cm_job *job, int member)
{
    const void *value;
    memcpy(&value, (const char *)job + MEMBERS[member].at, sizeof value);
    return value != NULL;
}

static void check_needs(cm_session *session, const cm_job_call *call, const cm_job *job)
{
    for (int m = 0; m < COUNT; m++)
        if (call->needs & 1U << m && !is_there(job, m))
            cm_fail(session, CM_BAD_INPUT, "%s needs %s: cm_job.%s is NULL, %s makes it", call->name,
                    MEMBERS[m].words, MEMBERS[m].member, MEMBERS[m].maker);
}

/* The first member that `other` wants and that is not there; -1: none. */
static int lacking(const cm_job *job, unsigned wanted)
{
    for (int m = 0; m < COUNT; m++)
        if (wanted & 1U << m && !is_there(job, m))
            return m;
    return -1;
}

static void check_foundations(cm_session *session, const cm_job_call *call, const cm_job *job)
{
    for (int other = 0; other < COUNT; other++) {
        int m = is_there(job, other) ? lacking(job, MEMBERS[other].rests_on) : -1;
        if (m >= 0)
            cm_fail(session, CM_BAD_INPUT,
                    "%s: the job has %s but not %s that it rests on: cm_job.%s is NULL", call->name,
                    MEMBERS[other].words, MEMBERS[m].words, MEMBERS[m].member);
    }
}

/* A page shows what is there; what cannot be shown for want of something else is not. */
static void leave_out(const cm_job_call *call, cm_job *job)
{
    for (int m = 0; m < COUNT; m++)
        if (!(call->needs & 1U << m) && lacking(job, MEMBERS[m].shown_with) >= 0)
            memset((char *)job + MEMBERS[m].at, 0, sizeof(void *));
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
    /* the last member is a pointer: NOLINTNEXTLINE(bugprone-sizeof-expression) */
    const cm_job *known = CM_GIVEN(session, cm_job, problem, given);
    cm_job *own = CM_NEW(session, 1, cm_job);
    *own = *known;
    check_room(session, call, given);
    check_needs(session, call, own);
    if (call->leaves)
        check_foundations(session, call, own);
    else
        leave_out(call, own);
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
