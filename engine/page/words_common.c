/* SPDX-License-Identifier: MIT */
/* Sections that several pages share: head, condition, cautions. */
#include "page/words.h"

#include "standards/hazard.h"

#include <math.h>

static void add_header(cm_document *d, const cm_case *c)
{
    static const char *const keys[] = {"machine", "serial", "place", "customer", "by", "date"};
    const char *line = "";
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const cm_node *node = c->header ? cm_node_get(c->header, keys[i]) : NULL;
        if (node && node->kind == CM_TEXT)
            line = cm_format(d->session, "%s%s%s: %s", line, *line ? "; " : "", keys[i], node->text);
    }
    if (*line)
        cm_say(d, CM_PLAIN, "%s", line);
}

void cm_words_head(cm_document *d, const cm_job *job, const char *what)
{
    cm_title(d, "%s", job->given->title);
    cm_say(d, CM_PLAIN, "%s", what);
    add_header(d, job->given);
}

/* Bands of the condition number (common practice, no source). */
static const char *condition_words(double value)
{
    if (!isfinite(value))
        return "some of the planes cannot be told apart, or there are fewer readings than planes; only their "
               "common effect is known";
    if (value < 5)
        return "the planes act independently of each other: single masses are well founded";
    if (value < 25)
        return "the planes act partly alike: single masses are less certain than the prediction";
    return "the planes act much alike: the prediction may hold, how the mass is split between planes is "
           "weakly "
           "founded";
}

void cm_words_condition(cm_document *d, const cm_job *job)
{
    const cm_condition *condition = job->condition;
    if (!condition)
        return;
    cm_section(d, "HOW WELL THE PLANES CAN BE TOLD APART");
    if (!cm_condition_is_told(job, -1)) {
        cm_say(d, CM_PLAIN,
               "Not known yet: the runs do not tell every coefficient of the planes in use by itself.");
        return;
    }
    const char *by_speed = "";
    for (int s = 0; s < condition->blocks && s < job->given->speed_count; s++)
        by_speed =
            cm_format(d->session, "%s%s %s %s", by_speed, *by_speed ? "," : "",
                      cm_short_name(d->session, job->given->speeds[s].id),
                      cm_digits(d->session, cm_condition_is_told(job, s) ? condition->by_block[s] : NAN, 3));
    cm_say(d, CM_PLAIN, "Condition number %s: %s. Each speed by itself:%s (1 is best, - is infinite).",
           cm_digits(d->session, condition->overall, 3), condition_words(condition->overall), by_speed);
}

void cm_words_cautions(cm_document *d)
{
    cm_section(d, "BEFORE ANYTHING TURNS");
    for (const cm_caution *caution = CM_CAUTIONS; caution->title; caution++)
        cm_item(d, CM_CAREFUL, "%s %s", caution->title, caution->text);
}
