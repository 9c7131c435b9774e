/* SPDX-License-Identifier: MIT */
/* Findings in words, the worst first. Of many of one kind the first stand in full, the others by their place only: forty
 * lines that say the same hide the one that matters. */
#include "base/text.h"
#include "countermass/place.h"
#include "page/words.h"

#include <string.h>

#define IN_FULL 2
#define MOST_PLACES 12

static const struct {
    const char *word;
    cm_tone tone;
} SEVERITY[] = {
    [CM_NOTE] = {"Note", CM_PLAIN}, [CM_WARNING] = {"Warning", CM_CAREFUL}, [CM_ERROR] = {"Fault", CM_BAD}};

static const char *place_of(cm_session *session, const cm_case *c, const cm_finding *f)
{
    const char *at = "";
    if (f->run >= 0)
        at = cm_format(session, "run %s", cm_short_name(session, c->runs[f->run].id));
    if (f->sensor >= 0)
        at = cm_format(session, "%s%s%s", at, *at ? ", " : "",
                       cm_short_name(session, c->sensors[f->sensor].id));
    if (f->plane >= 0)
        at =
            cm_format(session, "%s%s%s", at, *at ? ", " : "", cm_short_name(session, c->planes[f->plane].id));
    if (f->speed >= 0)
        at = cm_format(session, "%s%s%s", at, *at ? " at " : "at ",
                       cm_short_name(session, c->speeds[f->speed].id));
    return at;
}

static bool alike(const cm_finding *a, const cm_finding *b)
{
    return a->severity == b->severity && strcmp(a->code, b->code) == 0;
}

/* How many of the first `end` findings are like `f`; counting stops at `most`. */
static int count_alike(const cm_findings *all, int end, const cm_finding *f, int most)
{
    int count = 0;
    for (int i = 0; i < end && count < most; i++)
        count += alike(&all->items[i], f);
    return count;
}

static void say_finding(cm_document *d, const cm_job *job, const cm_finding *f)
{
    const char *place = place_of(d->session, job->given, f);
    cm_item(d, SEVERITY[f->severity].tone, "%s, %s%s: %s", SEVERITY[f->severity].word, f->code,
            *place ? cm_format(d->session, " (%s)", place) : "", f->message);
}

/* The findings like the i-th from it on. */
static void say_places(cm_document *d, const cm_job *job, int i)
{
    const cm_finding *f = &job->findings->items[i];
    cm_text places = {.session = d->session};
    int count = 0;
    for (; i < job->findings->count; i++)
        if (alike(&job->findings->items[i], f) && count++ < MOST_PLACES) {
            cm_text_add(&places, count > 1 ? "; " : "");
            cm_text_add(&places, place_of(d->session, job->given, &job->findings->items[i]));
        }
    cm_item(d, SEVERITY[f->severity].tone,
            "%s, %s, %d more of this kind: %s%s. `check --format csv` has each in full.",
            SEVERITY[f->severity].word, f->code, count, places.bytes,
            count > MOST_PLACES ? cm_format(d->session, "; and %d others", count - MOST_PLACES) : "");
}

/* Where the outcome is that readings are undetermined, the summary of a page with an outcome tells each of them. */
static bool is_told_above(const cm_job *job, const char *empty, const cm_finding *f)
{
    bool open = (job->answer && job->answer->outcome == CM_UNDETERMINED) ||
                (job->placement && job->placement->outcome == CM_PLACE_UNDETERMINED);
    return !empty && open && strcmp(f->code, "undetermined") == 0;
}

static bool any_to_tell(const cm_job *job, const char *empty)
{
    bool any = false;
    for (int i = 0; job->findings && i < job->findings->count; i++)
        any = any || !is_told_above(job, empty, &job->findings->items[i]);
    return any;
}

void cm_words_findings(cm_document *d, const cm_job *job, const char *title, const char *empty)
{
    const cm_findings *all = job->findings;
    int count = all ? all->count : 0;
    if (any_to_tell(job, empty) || empty)
        cm_section(d, "%s", title);
    if (!count && empty)
        cm_say(d, CM_GOOD, "%s", empty);
    for (int severity = CM_ERROR; severity >= CM_NOTE; severity--)
        for (int i = 0; i < count; i++) {
            const cm_finding *f = &all->items[i];
            if ((int)f->severity != severity || is_told_above(job, empty, f))
                continue;
            int before = count_alike(all, i, f, IN_FULL + 1);
            int together = count_alike(all, count, f, IN_FULL + 2);
            if (before < IN_FULL || together == IN_FULL + 1)
                say_finding(d, job, f);
            else if (before == IN_FULL)
                say_places(d, job, i);
        }
}
