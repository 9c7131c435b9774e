/* SPDX-License-Identifier: MIT */
/* The page of `solve`, read at a machine: summary, masses, prediction, doubts, cautions. */
#include "page/gains.h"
#include "page/gains.h"
#include "page/load_range.h"
#include "page/words.h"

static void words_optimal(cm_document *d, const cm_job *job)
{
    cm_words_summary(d, job);
    cm_words_mount(d, job);
    cm_words_angles(d, job->given);
    cm_words_totals(d, job);
    cm_words_predicted(d, job);
    cm_words_orbits(d, job);
    cm_words_load_range(d, job);
    cm_words_gains(d, job);
    cm_words_judged(d, job);
    cm_words_worth(d, job);
    cm_words_trade_off(d, job);
    cm_words_findings(d, job, "WARNINGS AND NOTES", NULL);
    cm_words_condition(d, job);
    cm_words_drift(d, job);
    cm_words_runs(d, job);
    cm_words_cautions(d);
}

static void words_infeasible(cm_document *d, const cm_job *job)
{
    cm_words_infeasible(d, job);
    cm_words_load_range(d, job);
    cm_words_trade_off(d, job);
    cm_words_findings(d, job, "WARNINGS AND NOTES", NULL);
    cm_words_drift(d, job);
    cm_words_runs(d, job);
}

static void words_undetermined(cm_document *d, const cm_job *job)
{
    cm_words_undetermined(d, job);
    cm_words_trade_off(d, job);
    cm_words_findings(d, job, "WARNINGS AND NOTES", NULL);
    cm_words_drift(d, job);
    cm_words_runs(d, job);
    cm_words_cautions(d);
}

/* "5 planes", or "4 of 5 planes" where some are held. */
static const char *planes_in_use(cm_session *session, const cm_problem *problem)
{
    int held = 0;
    for (int j = 0; j < problem->planes; j++)
        held += problem->held[j];
    const char *all = cm_count_of(session, problem->planes, "plane", "planes");
    return held ? cm_format(session, "%d of %s", problem->planes - held, all) : all;
}

cm_document *cm_words_solve(cm_session *session, const cm_job *job)
{
    static void (*const outcome[])(cm_document *, const cm_job *) = {[CM_OPTIMAL] = words_optimal,
                                                                     [CM_INFEASIBLE] = words_infeasible,
                                                                     [CM_UNDETERMINED] = words_undetermined};
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job,
                  cm_format(session, "Correction masses from %s: %s on %s.",
                            cm_count_of(session, job->runs->runs, "run", "runs"),
                            cm_count_of(session, job->problem->rows, "reading", "readings"),
                            planes_in_use(session, job->problem)));
    outcome[job->answer->outcome](d, job);
    return d;
}
