/* SPDX-License-Identifier: MIT */
/* Signs for and against unbalance, bearing by bearing. */
#include "model/signs.h"
#include "page/words.h"

static const char *const SPEAKS[] = {[CM_SPEAKS_NOT] = "neither for nor against",
                                     [CM_SPEAKS_FOR] = "for unbalance",
                                     [CM_SPEAKS_AGAINST] = "against"};

static void say_bearing(cm_document *d, const cm_job *job, const cm_survey_verdict *v)
{
    const char *at = v->speed >= 0 ? cm_format(d->session, " at %s",
                                               cm_short_name(d->session, job->given->speeds[v->speed].id))
                                   : "";
    const char *verdict = v->count == 0    ? "nothing can be told"
                          : v->against > 0 ? "it may be something else, or not unbalance alone"
                          : v->in_favour   ? "unbalance may well be the cause"
                                           : "nothing speaks clearly";
    cm_say(d, v->against ? CM_CAREFUL : CM_PLAIN, "%s%s: %s.", v->bearing, at, verdict);
    for (int i = 0; i < v->count; i++)
        cm_item(d, v->signs[i].speaks == CM_SPEAKS_AGAINST ? CM_CAREFUL : CM_PLAIN, "%s: %s, %s",
                CM_SIGNS[v->signs[i].kind].words, cm_digits(d->session, v->signs[i].value, 3),
                SPEAKS[v->signs[i].speaks]);
}

void cm_words_survey(cm_document *d, const cm_job *job)
{
    if (!job->surveyed || job->given->survey_count == 0)
        return;
    cm_section(d, "IS IT UNBALANCE?");
    for (int i = 0; i < job->surveyed->count; i++)
        say_bearing(d, job, &job->surveyed->items[i]);
    cm_say(d, CM_PLAIN,
           "The signs are common practice, no source; they can mislead, and several causes may act together. "
           "Before any "
           "mass is mounted: remove deposits; tighten loose bolts; look for lost masses and blades; see that "
           "the phase "
           "probe sits firmly; read at steady speed and load.");
}
