/* SPDX-License-Identifier: MIT */
/* The report: what to do first, then why it can be believed, then what it takes to compute it again. */
#include "page/report.h"

#include "page/tree_common.h"

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

static void (*const SECTIONS[])(cm_document *, const cm_job *) = {
    cm_report_summary,
    cm_report_fit_list,
    cm_report_mount,
    cm_report_angles,
    cautions,
    findings,
    cm_report_try,
    cm_report_readings,
    totals,
    cm_report_diagrams,
    cm_report_runs,
    cm_report_machine,
    cm_report_influence,
    cm_words_condition,
    cm_report_planes,
    worth,
    cm_report_conditions,
    cm_report_method,
    cm_report_sign_off,
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
        SECTIONS[i](d, job);
    return d;
}

/* The answer as programs read it; runs stand on the page. */
cm_node *cm_tree_report(cm_session *session, const cm_job *job)
{
    cm_job without = *job;
    without.foretold = NULL;
    return job->answer ? cm_tree_solve(session, &without) : cm_tree_open(session, "report", job);
}

cm_status cm_page_report(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    const cm_place top = {job->given->file, 1, 1};
    if (!job->given->rotation)
        cm_report(
            session, CM_ERROR, &top,
            "conventions: the report draws the rotor as it is seen, so it needs 'rotation' (clockwise or "
            "counter-clockwise) and 'seen_from'");
    cm_fail_on_errors(session);
    *page = cm_page_of(session, job, cm_tree_report, cm_words_report_page);
    return cm_leave(session);
}
