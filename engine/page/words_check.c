/* SPDX-License-Identifier: MIT */
/* The page of `check`: what the case holds, and what a sceptical colleague would say of it. */
#include "countermass/evidence.h"
#include "page/words.h"

static int count_severity(const cm_job *job, cm_severity severity)
{
    int count = 0;
    for (int i = 0; job->findings && i < job->findings->count; i++)
        count += job->findings->items[i].severity == severity;
    return count;
}

static bool any_left_out(const cm_case *c)
{
    for (int k = 0; k < c->run_count; k++)
        if (c->runs[k].left_out)
            return true;
    return false;
}

static void say_result(cm_document *d, const cm_job *job)
{
    int faults = count_severity(job, CM_ERROR), warnings = count_severity(job, CM_WARNING);
    cm_section(d, "SUMMARY");
    if (job->card && job->card->run >= 0)
        cm_say(d,
               job->card->go == CM_GO_STOP ? CM_BAD
               : job->card->go == CM_GO_ON ? CM_GOOD
                                           : CM_CAREFUL,
               "The run on its way up: %s.",
               job->card->go == CM_GO_STOP ? "STOP, see below"
               : job->card->go == CM_GO_ON
                   ? "go on"
                   : cm_format(d->session, "no verdict, %s", cm_why_untold(d->session, job)));
    if (faults)
        cm_say(d, CM_BAD, "The case can be read, but %s it is to be trusted.",
               cm_format(d->session, "%s be settled before",
                         cm_count_of(d->session, faults, "fault must", "faults must")));
    else
        cm_say(d, warnings ? CM_CAREFUL : CM_GOOD, "The case can be read; no faults, %s.",
               cm_count_of(d->session, warnings, "warning", "warnings"));
    if (!job->influence)
        cm_say(d, CM_PLAIN,
               any_left_out(job->given) ? "All its readings are left out, so there is no evidence to judge."
                                        : "It holds no readings yet, so there is no evidence to judge.");
}

/* Coefficients that entries of the case and of its records tell; several records may tell one. */
static int coefficients_known(cm_session *session, const cm_case *c)
{
    size_t planes = (size_t)c->plane_count + (size_t)c->set_count, sensors = (size_t)c->sensor_count;
    unsigned char *known = CM_NEW(session, planes * sensors * (size_t)c->speed_count, unsigned char);
    int count = 0;
    for (int k = 0; k < c->known_count; k++) {
        const cm_coefficient *one = &c->known[k];
        unsigned char *cell =
            &known[(size_t)one->plane + planes * ((size_t)one->sensor + sensors * (size_t)one->speed)];
        count += !*cell;
        *cell = 1;
    }
    return count;
}

static void say_case(cm_document *d, const cm_case *c)
{
    int known = coefficients_known(d->session, c);
    cm_section(d, "WHAT THE CASE HOLDS");
    cm_item(d, CM_PLAIN, "%s, %s, %s, %s", cm_count_of(d->session, c->speed_count, "speed", "speeds"),
            cm_count_of(d->session, c->sensor_count, "sensor", "sensors"),
            cm_count_of(d->session, c->plane_count, "plane", "planes"),
            cm_count_of(d->session, known, "known coefficient", "known coefficients"));
    cm_item(d, CM_PLAIN, "phase %s, mass angles %s", c->phase_lag ? "lag" : "lead", cm_sense(c));
    for (int k = 0; k < c->run_count; k++)
        cm_item(d, CM_PLAIN, "run %s: %s, %s%s", cm_short_name(d->session, c->runs[k].id),
                cm_count_of(d->session, c->runs[k].masses.count, "mass", "masses"),
                cm_count_of(d->session, c->runs[k].reading_count, "reading", "readings"),
                c->runs[k].left_out ? cm_format(d->session, ", %d left out", c->runs[k].left_out) : "");
}

cm_document *cm_words_check(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "Check of the case and of its evidence.");
    say_result(d, job);
    bool on_its_way = job->card && job->card->run >= 0;
    if (on_its_way) /* read with the machine turning: the verdict before all else */
        cm_words_card(d, job);
    cm_words_findings(d, job, "FINDINGS", "Nothing to point out.");
    cm_words_survey(d, job);
    cm_words_sweeps(d, job);
    if (!on_its_way)
        cm_words_card(d, job);
    say_case(d, job->given);
    if (job->condition)
        cm_words_condition(d, job);
    cm_words_drift(d, job);
    cm_words_runs(d, job);
    return d;
}
