/* SPDX-License-Identifier: MIT */
/* Splitting and merging by hand, in whole sentences. */
#include "page/words_place.h"

#include <math.h>

static const char *mass_at(cm_session *session, const cm_job *job, int plane, cm_complex mass)
{
    cm_size_angle m = cm_user_mass(job, plane, mass);
    return cm_format(session, "%s %s @ %s", cm_decimal(session, m.size, 2), job->given->mass_unit->name,
                     cm_degrees(session, m.angle, 1));
}

static const char *part_words(cm_session *session, const cm_job *job, const cm_split *split, int i)
{
    double mass = cm_user_kilograms(job, split->part[i]);
    const char *angle =
        cm_degrees(session, cm_mass_angle_to_user(job->given, split->plane, split->direction[i]), 1);
    const char *unit = job->given->mass_unit->name;
    const char *removed = mass < 0 ? " (negative: take it away, or put it on the opposite side)" : "";
    if (split->positions)
        return cm_format(session, "%s %s at %s %d (%s degrees%s)", cm_decimal(session, mass, 2), unit,
                         cm_site_word(job->given, split->plane), split->number[i], angle,
                         mass < 0 ? "; negative: take it away" : "");
    return cm_format(session, "%s %s at %s degrees%s", cm_decimal(session, mass, 2), unit, angle, removed);
}

static const char *where(cm_session *session, const cm_job *job, int plane)
{
    return plane < 0 ? "" : cm_format(session, "%s: ", cm_short_name(session, job->given->planes[plane].id));
}

static void say_split(cm_document *d, const cm_job *job, const cm_split *split)
{
    static const char *const reasons[] = {
        [CM_SPLIT_POSSIBLE] = "",
        [CM_SPLIT_ONE_LINE] = "the two angles lie on one line",
        [CM_SPLIT_NO_FREE] = "there are no two free positions less than half a turn apart around it",
        [CM_SPLIT_NO_WAY] = "nothing can be added here (action: remove), and nothing is drilled"};
    const char *mass = mass_at(d->session, job, split->plane, split->mass),
               *plane = where(d->session, job, split->plane);
    if (!split->possible)
        cm_item(d, CM_CAREFUL, "%s%s cannot be split: %s.", plane, mass, reasons[split->reason]);
    else if (split->parts == 1)
        cm_item(d, CM_PLAIN, "%s%s needs no splitting: %s.", plane, mass,
                part_words(d->session, job, split, 0));
    else
        cm_item(d, CM_PLAIN, "%s%s is the same as %s and %s.", plane, mass,
                part_words(d->session, job, split, 0), part_words(d->session, job, split, 1));
}

static void say_merge(cm_document *d, const cm_job *job, const cm_merge *merge)
{
    const char *list = "";
    for (int i = 0; i < merge->count; i++)
        list = cm_format(d->session, "%s%s%s", list, i ? " + " : "",
                         mass_at(d->session, job, merge->plane, merge->masses[i]));
    cm_item(d, CM_PLAIN, "%s%s%s is the same as one mass of %s.", where(d->session, job, merge->plane),
            merge->old ? "on the rotor now, " : "", list, mass_at(d->session, job, merge->plane, merge->sum));
}

void cm_words_hand_work(cm_document *d, const cm_job *job)
{
    const cm_hand_work *work = job->hand_work;
    if (!work || work->split_count + work->merge_count == 0)
        return;
    cm_section(d, "SPLITTING AND MERGING BY HAND");
    for (int i = 0; i < work->merge_count; i++)
        say_merge(d, job, &work->merges[i]);
    for (int i = 0; i < work->split_count; i++)
        say_split(d, job, &work->splits[i]);
    cm_say(d, CM_PLAIN,
           "For masses that are made to measure. Each plane's own masses are those of any size at any angle, "
           "split between the nearest free positions; several old masses can be taken off and replaced by "
           "the one. --split and --merge do the same for other masses.");
}
