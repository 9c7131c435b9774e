/* SPDX-License-Identifier: MIT */
/* The report: what to do first, then why it can be believed, then what it takes to compute it again. */
#include "page/gains.h"
#include "page/load_range.h"
#include "page/report.h"

#include "page/tree_common.h"
#include "model/job_call.h"

bool cm_has_masses(const cm_job *job)
{
    return job->answer && job->answer->outcome == CM_OPTIMAL;
}

static void totals(cm_document *d, const cm_job *job)
{
    if (cm_has_masses(job))
        cm_words_totals(d, job);
}

static void cautions(cm_document *d, const cm_job *job)
{
    (void)job;
    cm_words_cautions(d);
}

static void findings(cm_document *d, const cm_job *job)
{
    cm_words_findings(d, job, "Warnings and notes", NULL);
}

static void worth(cm_document *d, const cm_job *job)
{
    if (cm_has_masses(job))
        cm_words_worth(d, job);
}

/* Sections in their order; `fitted`: about the rotor as it will be, with the pieces of a fit list where there is one. */
static const struct {
    void (*add)(cm_document *, const cm_job *);
    bool fitted;
} SECTIONS[] = {
    {cm_report_summary, true},
    {cm_report_fit_list, true},
    {cm_report_mount, false},
    {cm_report_angles, false},
    {cautions, false},
    {findings, true},
    {cm_report_mistakes, false},
    {cm_report_card, true},
    {cm_report_try, false},
    {cm_report_readings, true},
    {totals, true},
    {cm_report_diagrams, true},
    {cm_words_load_range, false},
    {cm_report_runs, false},
    {cm_words_drift, false},
    {cm_report_sweeps, false},
    {cm_words_survey, false},
    {cm_report_machine, false},
    {cm_report_influence, false},
    {cm_words_condition, false},
    {cm_report_planes, false},
    {worth, false},
    {cm_words_gains, false},
    {cm_report_tolerance, false},
    {cm_report_conditions, false},
    {cm_report_method, false},
    {cm_report_sign_off, false},
};

cm_document *cm_words_report_page(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    const char *what = "Nothing has been read yet.";
    if (job->runs)
        what = cm_format(
            session, "Balancing report: %s, %s, %s.", cm_count_of(session, job->runs->runs, "run", "runs"),
            cm_count_of(session, job->runs->rows, "reading", "readings"),
            cm_count_of(session, job->given->plane_count, "correction plane", "correction planes"));
    cm_words_head(d, job, what);
    for (size_t i = 0; i < sizeof SECTIONS / sizeof *SECTIONS; i++)
        SECTIONS[i].add(d, SECTIONS[i].fitted && job->placed ? job->placed : job);
    return d;
}

/* The answer as programs read it; runs stand on the page. */
cm_node *cm_tree_report(cm_session *session, const cm_job *job)
{
    cm_job without = *job;
    without.foretold = NULL;
    return job->answer ? cm_tree_solve(session, &without) : cm_tree_open(session, "report", job);
}

cm_status cm_page_report(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {"cm_page_report", CM_HAS_GIVEN, 0};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs); /* a copy: the page outlives the caller's */
    const cm_place top = {job->given->file, 1, 1};
    if (!job->given->rotation)
        cm_report(
            session, CM_ERROR, &top,
            "conventions: the report draws the rotor as it is seen, so it needs 'rotation' (clockwise or "
            "counter-clockwise) and 'seen_from'");
    cm_fail_on_errors(session);
    if (job->placed)
        job->placed = cm_job_begin(session, &CALL, job->placed);
    *page = cm_page_of(session, job, cm_tree_report, cm_words_report_page);
    return cm_leave(session);
}
