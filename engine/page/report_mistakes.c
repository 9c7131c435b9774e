/* SPDX-License-Identifier: MIT */
/* Runs that missed what the runs before them told: what may have been mounted instead, and where to look. */
#include "page/report.h"

#include "model/mistakes.h"

enum { SHOWN = 6 };

static void say_run(cm_document *d, const cm_job *job, const cm_run_test *test)
{
    cm_head(d, "Run %s", cm_short_name(d->session, job->given->runs[test->run].id));
    for (int i = 0; i < test->explanation_count && i < SHOWN; i++) {
        const cm_explanation *e = &test->explanations[i];
        cm_item(d, CM_PLAIN, "%s %%: %s. Look: %s%s%s", cm_percent(d->session, e->likelihood),
                cm_explanation_words(d->session, job->given, e), cm_mistake_look(e->mistake.kind),
                e->has_second ? "; " : "", e->has_second ? cm_mistake_look(e->second.kind) : "");
    }
}

void cm_report_mistakes(cm_document *d, const cm_job *job)
{
    bool any = false;
    for (int t = 0; job->examined && t < job->examined->count; t++)
        any = any || job->examined->items[t].explanation_count > 0;
    if (!any)
        return;
    cm_section(d, "RUNS THAT MISSED THEIR PREDICTION, AND WHAT MAY BE BEHIND IT");
    for (int t = 0; t < job->examined->count; t++)
        if (job->examined->items[t].explanation_count > 0)
            say_run(d, job, &job->examined->items[t]);
    cm_say(d, CM_PLAIN,
           "Shares are of all mistakes looked at, not of everything that can happen. Settle it at the "
           "machine before these "
           "masses are mounted.");
}
