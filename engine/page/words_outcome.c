/* SPDX-License-Identifier: MIT */
/* Pages without masses: what contradicts what, or what the runs do not tell, and what to do about it. */
#include "page/words.h"

#include "model/counts.h"
#include "page/drops.h"
#include "page/orbits.h"

#include <math.h>

void cm_words_infeasible(cm_document *d, const cm_job *job)
{
    const cm_answer *a = job->answer;
    cm_section(d, "SUMMARY");
    if (isfinite(a->limits_factor)) {
        cm_say(d, CM_BAD, "No masses on these planes keep every counted reading within its limit.");
        cm_say(d, CM_PLAIN,
               "An answer exists as soon as every limit is multiplied by %s; that is the smallest factor.",
               cm_digits(d->session, a->limits_factor, 4));
    } else {
        cm_say(d, CM_BAD,
               "The greatest masses of the planes, held masses and ties exclude each other: no masses at all "
               "are allowed, whatever the limits.");
    }
    cm_say(d, CM_PLAIN, "What stands against each other:");
    for (int i = 0; a->conflict_rows && i < job->problem->rows; i++)
        if (a->conflict_rows[i])
            cm_item(d, CM_PLAIN, "the limit of %s %s on %s", cm_digits(d->session, cm_user_limit(job, i), 4),
                    cm_unit_words(cm_sensor_of(job, i)->unit), cm_reading_name(d->session, job, i));
    for (int k = 0; a->conflict_pairs && k < job->problem->pair_count; k++)
        if (a->conflict_pairs[k])
            cm_item(d, CM_PLAIN, "the limit of %s %s on %s", cm_digits(d->session, cm_orbit_limit(job, k), 4),
                    cm_unit_words(cm_orbit_unit(job, k)), cm_orbit_name(d->session, job, k));
    for (int j = 0; a->conflict_planes && j < job->problem->planes; j++)
        if (a->conflict_planes[j])
            cm_item(d, CM_PLAIN, "the greatest mass that %s can carry",
                    cm_short_name(d->session, job->given->planes[j].id));
    cm_say(d, CM_PLAIN,
           "What to do: find room for more mass or another plane, raise the limits that are listed, or ask "
           "for the best that these planes can do with objective: {minimise: min-max}.");
}

enum { NAMED = 12 };

static const char *const TAKEN_UP[] = {
    [CM_NOTHING_TAKEN] = "",
    [CM_TAKEN_BY_DRIFT] = ", because the drift takes up a run; with objective: {drift: none} they would",
    [CM_TAKEN_BY_GROUPS] =
        (", because every `group` takes up a run for its own reference level; with all runs in "
         "one group they would"),
    [CM_TAKEN_BY_BOTH] = ", because the drift and every `group` take up a run each; without them they would",
};

static int taken_of(const cm_determination *t, int row)
{
    return t->taken_up ? t->taken_up[row] : CM_NOTHING_TAKEN;
}

/* Rows of one speed that the runs leave open in the same way are told together. */
static bool is_alike(const cm_job *job, int a, int b)
{
    const cm_determination *t = job->determination;
    bool same = job->problem->block[a] == job->problem->block[b] && taken_of(t, a) == taken_of(t, b);
    for (int j = 0; same && j < job->problem->planes; j++)
        same = t->unknown[a + j * job->problem->rows] == t->unknown[b + j * job->problem->rows];
    return same;
}

static bool is_missing(const cm_job *job, int row)
{
    return !job->determination->determined[row] && cm_row_is_needed(job->problem, row);
}

/* Sensors of the rows like `first`, up to a dozen by name; returns their number, 0 when an earlier row has told them. */
static int gather_alike(cm_session *session, const cm_job *job, int first, const char **names)
{
    int count = 0;
    *names = "";
    for (int i = 0; i < job->problem->rows; i++) {
        if (!is_missing(job, i) || !is_alike(job, first, i))
            continue;
        if (i < first)
            return 0;
        if (count++ < NAMED)
            *names = cm_format(session, "%s%s%s", *names, count > 1 ? ", " : "",
                               cm_short_name(session, cm_sensor_of(job, i)->id));
    }
    if (count > NAMED)
        *names = cm_format(session, "%s and %d more", *names, count - NAMED);
    return count;
}

static void say_missing(cm_document *d, const cm_job *job)
{
    const cm_determination *t = job->determination;
    for (int i = 0; i < job->problem->rows; i++) {
        const char *names, *planes;
        int count = is_missing(job, i) ? gather_alike(d->session, job, i, &names) : 0;
        if (count == 0)
            continue;
        planes = cm_planes_words(d->session, job->given, t->unknown + i, job->problem->rows);
        if (count == 1)
            cm_item(d, CM_BAD, "%s: the runs do not tell %s%s%s.", cm_reading_name(d->session, job, i),
                    *planes ? "how it answers to " : "what it reads in the reference run", planes,
                    TAKEN_UP[taken_of(t, i)]);
        else
            cm_item(d, CM_BAD, "%d sensors at %s (%s): the runs do not tell %s%s%s.", count,
                    cm_short_name(d->session, cm_speed_of(job, i)->id), names,
                    *planes ? "how they answer to " : "what they read in the reference run", planes,
                    TAKEN_UP[taken_of(t, i)]);
    }
}

/* The simplest way on needs no start. */
static void say_spared(cm_document *d, const cm_job *job)
{
    const char *line = cm_spare_line(d->session, job);
    if (!line)
        return;
    cm_say(
        d, CM_PLAIN,
        "The simplest way on is to do without %s: the runs tell what the other planes do. With these lines "
        "in the case:",
        cm_planes_words(d->session, job->given, job->determination->spared, 1));
    cm_copy_line(d, "objective:");
    cm_copy_line(d, "  use_planes: %s", line);
}

static void say_runs(cm_document *d, const cm_job *job)
{
    const cm_determination *t = job->determination;
    if (t->run_count > 0)
        cm_say(d, CM_PLAIN, "%s would settle it, with all of these sensors read at all of these speeds:",
               cm_count_of(d->session, t->run_count, "more run", "more runs"));
    for (int k = 0; k < t->run_count; k++)
        cm_item(d, CM_PLAIN, "%s", cm_further_run(d->session, job, k));
}

/* A run that is not used for want of its phase shift may tell enough once that is known. */
static void say_shifted(cm_document *d, const cm_job *job)
{
    for (int k = 0; job->runs->phase_shift && k < job->runs->runs; k++)
        if (isnan(job->runs->phase_shift[k]))
            cm_say(d, CM_PLAIN,
                   "The readings of %s are not used, because nothing tells by how much its phases are "
                   "shifted. A run "
                   "with the masses of %s and a known phase reference would tell it.",
                   cm_short_name(d->session, job->given->runs[k].id),
                   cm_short_name(d->session, job->given->runs[k].id));
}

void cm_words_undetermined(cm_document *d, const cm_job *job)
{
    cm_section(d, "SUMMARY");
    cm_say(d, CM_BAD, "No masses: the runs do not tell what these readings would do.");
    say_missing(d, job);
    say_spared(d, job);
    say_runs(d, job);
    say_shifted(d, job);
    const char *line = cm_drop_line(d->session, job);
    if (!line)
        return;
    cm_say(d, CM_PLAIN,
           "Or go on without these readings, if they can be spared, with these lines in the case:");
    cm_copy_line(d, "objective:");
    cm_copy_line(d, "  drop_rows: %s", line);
}
