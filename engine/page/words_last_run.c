/* SPDX-License-Identifier: MIT */
/* The last run missed what was expected of it: then what is on the rotor may not be what the case says, and masses on top
 * of it would be wrong as well. */
#include "model/mistakes.h"
#include "page/words.h"

#include <string.h>

static const cm_finding *finding_of(const cm_job *job)
{
    for (int i = 0; job->findings && i < job->findings->count; i++) {
        const cm_finding *f = &job->findings->items[i];
        if (f->run >= 0 && f->run == job->given->run_count - 1 && strcmp(f->code, "mounted-differently") == 0)
            return f;
    }
    return NULL;
}

const char *cm_likely_words(cm_session *session, const cm_job *job, const cm_run_test *test)
{
    if (!test || test->explanation_count == 0)
        return "";
    const cm_explanation *e = &test->explanations[0];
    return cm_format(session, "; most likely: %s (%s %%)", cm_explanation_words(session, job->given, e),
                     cm_percent(session, e->likelihood));
}

bool cm_last_run_missed(const cm_job *job)
{
    return finding_of(job) != NULL;
}

const char *cm_last_run_words(cm_session *session, const cm_job *job)
{
    const cm_finding *f = finding_of(job);
    if (!f)
        return NULL;
    return cm_format(
        session,
        "Do not mount anything yet: the last run, %s, missed what was expected of it%s. Settle that "
        "first: these masses rest on what the case says is on the rotor now.",
        cm_short_name(session, job->given->runs[f->run].id), cm_likely_words(session, job, f->explained));
}
