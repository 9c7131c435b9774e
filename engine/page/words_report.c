/* SPDX-License-Identifier: MIT */
/* What a report of balancing in place should hold (ISO 21940-13 clause 9; headings in our own words), filled
 * from the case as far as it goes. */
#include "page/start_common.h"

#include <math.h>

/* A text of the case's header; a list is joined. */
static const char *header(cm_session *session, const cm_job *job, const char *key)
{
    const cm_node *node = job->given->header ? cm_node_get(job->given->header, key) : NULL;
    const char *words = "";
    if (node && node->kind == CM_TEXT)
        return node->text;
    for (const cm_node *entry = node ? node->first : NULL; entry; entry = entry->next)
        words = cm_format(session, "%s%s%s", words, *words ? "; " : "", entry->text ? entry->text : "");
    return words;
}

static const char *joined(cm_session *session, const char *a, const char *b)
{
    return *a && *b ? cm_format(session, "%s; %s", a, b) : *a ? a : b;
}

static const char *who(cm_session *session, const cm_job *job)
{
    return joined(session, header(session, job, "by"), header(session, job, "date"));
}

static const char *for_whom(cm_session *session, const cm_job *job)
{
    return joined(session, header(session, job, "customer"), header(session, job, "place"));
}

static const char *machine(cm_session *session, const cm_job *job)
{
    const char *words = joined(session, header(session, job, "machine"), header(session, job, "serial"));
    return joined(session, words,
                  cm_format(session, "%s, service speed %s %s",
                            cm_count_of(session, job->given->rotor.bearing_count, "bearing", "bearings"),
                            cm_digits(session, job->given->service_speed / job->given->speed_unit->factor, 5),
                            cm_unit_words(job->given->speed_unit)));
}

static const char *instruments(cm_session *session, const cm_job *job)
{
    const char *count = job->given->sensor_count ? cm_count_of(session, job->given->sensor_count,
                                                               "measuring point", "measuring points")
                                                 : "";
    return joined(session, header(session, job, "instruments"), count);
}

static const char *planes(cm_session *session, const cm_job *job)
{
    const char *words = "";
    for (int j = 0; j < job->given->plane_count; j++)
        words = joined(
            session, words,
            cm_format(session, "%s at radius %s %s", cm_short_name(session, job->given->planes[j].id),
                      cm_digits(session, job->given->planes[j].radius / job->given->length_unit->factor, 4),
                      job->given->length_unit->name));
    return words;
}

static const char *runs(cm_session *session, const cm_job *job)
{
    const char *words = "";
    for (int k = 0; k < job->given->run_count; k++)
        words = joined(session, words, cm_short_name(session, job->given->runs[k].id));
    return words;
}

/* The largest reading of a run against its limit, else the largest as it stands. */
static const char *largest(cm_session *session, const cm_job *job, int run)
{
    const cm_runs *r = job->runs;
    int worst = -1;
    double most = -1;
    for (int i = 0; r && i < r->rows; i++) {
        size_t at = (size_t)i + (size_t)run * (size_t)r->rows;
        double limit = cm_user_limit(job, i), size = cm_user_amplitude(job, i, cabs(r->readings[at]));
        double ratio = isfinite(limit) ? size / limit : size * 1e-6;
        if (r->repeats[at] && ratio > most) {
            most = ratio;
            worst = i;
        }
    }
    if (worst < 0)
        return "";
    cm_size_angle p = cm_user_reading(job, worst, r->readings[(size_t)worst + (size_t)run * (size_t)r->rows]);
    return cm_format(session, "%s %s in %s (and the table of all readings)", cm_phasor(session, p, 1),
                     cm_unit_words(cm_sensor_of(job, worst)->unit), cm_reading_name(session, job, worst));
}

static const char *first_reading(cm_session *session, const cm_job *job)
{
    return job->given->run_count ? largest(session, job, 0) : "";
}

static const char *last_reading(cm_session *session, const cm_job *job)
{
    return job->given->run_count > 1 ? largest(session, job, job->given->run_count - 1) : "";
}

static const char *masses(cm_session *session, const cm_job *job)
{
    const cm_case *c = job->given;
    const cm_mass_list *list = c->has_now ? &c->now : c->run_count ? &c->runs[c->run_count - 1].masses : NULL;
    const char *words = list && list->count == 0 ? "none" : "";
    for (int i = 0; list && i < list->count; i++)
        words = joined(
            session, words,
            cm_format(
                session, "%s %s on %s at %s degrees",
                cm_digits(session, cm_user_kilograms(job, cabs(list->items[i].mass)), 4), c->mass_unit->name,
                cm_short_name(session, c->planes[list->items[i].plane].id),
                cm_degrees(session, cm_mass_angle_to_user(c, list->items[i].plane, list->items[i].mass), 0)));
    return words;
}

static const char *limits(cm_session *session, const cm_job *job)
{
    static const char *const verdicts[] = {[CM_NOT_JUDGED] = "not judged",
                                           [CM_KEPT] = "kept",
                                           [CM_UNDECIDED] = "undecided",
                                           [CM_EXCEEDED] = "exceeded"};
    return cm_format(session, "grade G%s, %s g mm; verdict: %s", cm_digits(session, job->tolerance->grade, 3),
                     cm_digits(session, job->tolerance->value / CM_GRAM_MILLIMETRE, 4),
                     verdicts[job->tolerance->reached.verdict]);
}

static const char *remarks(cm_session *session, const cm_job *job)
{
    return header(session, job, "notes");
}

static const struct {
    const char *heading;
    const char *(*fill)(cm_session *, const cm_job *);
} HEADINGS[] = {
    {"Who did it and when", who},
    {"For whom and where", for_whom},
    {"Machine, rotor, bearings, operating conditions", machine},
    {"Instruments and measuring points", instruments},
    {"Correction planes", planes},
    {"Vibration as found", first_reading},
    {"Runs", runs},
    {"Masses left on the rotor", masses},
    {"Vibration in the last run", last_reading},
    {"Limits applied and verdict", limits},
    {"Remarks", remarks},
};

void cm_words_report(cm_document *d, const cm_job *job)
{
    cm_section(d, "WHAT A REPORT OF BALANCING IN PLACE SHOULD HOLD");
    cm_say(d, CM_PLAIN,
           "After ISO 21940-13:2012 clause 9, headings in our own words; what the case tells is filled in.");
    for (size_t i = 0; i < sizeof HEADINGS / sizeof *HEADINGS; i++) {
        const char *words = HEADINGS[i].fill(d->session, job);
        cm_item(d, CM_PLAIN, "%s: %s", HEADINGS[i].heading, *words ? words : "________________");
    }
}
