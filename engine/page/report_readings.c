/* SPDX-License-Identifier: MIT */
/* Readings: against limits, as vectors, and run by run. */
#include "page/figures.h"
#include "page/history.h"
#include "page/report.h"

#include <math.h>

enum { DETAILED = 3, HISTORY = 7 }; /* runs told reading by reading; columns of the history */

static bool is_read_at(const cm_job *job, int speed)
{
    for (int i = 0; job->problem && i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed)
            return true;
    return false;
}

void cm_report_readings(cm_document *d, const cm_job *job)
{
    if (!job->problem)
        return;
    cm_section(d, "READINGS AGAINST THEIR LIMITS");
    if (cm_has_fit_list(job))
        cm_say(d, CM_PLAIN, "Predicted with the pieces of the fit list.");
    cm_open_group(d, "halves");
    for (int s = 0; s < job->given->speed_count; s++)
        if (is_read_at(job, s))
            cm_figure(d, cm_figure_limits(d->session, job, s));
    cm_close_group(d);
    if (cm_has_masses(job))
        cm_words_predicted(d, job);
    if (cm_has_masses(job)) {
        cm_words_orbits(d, job);
        cm_words_judged(d, job);
    }
}

/* A line of the card is read out beside the machine: what to expect, when to break off, room for what was read. */
void cm_report_card(cm_document *d, const cm_job *job)
{
    if (!job->card)
        return;
    cm_section(d, "GO OR NO-GO CARD FOR THE NEXT RUN-UP");
    cm_words_card_tables(d, job, true);
}

void cm_report_diagrams(cm_document *d, const cm_job *job)
{
    for (int s = 0; s < job->given->speed_count; s++) {
        if (!is_read_at(job, s))
            continue;
        cm_section(d, "READINGS AS VECTORS AT %s", cm_short_name(d->session, job->given->speeds[s].id));
        cm_figure(d, cm_figure_reading_key(d->session, job));
        cm_open_group(d, "dials");
        for (int i = 0; i < job->problem->rows; i++)
            if (job->given->row_speed[i] == s)
                cm_figure(d, cm_figure_reading(d->session, job, i));
        cm_close_group(d);
    }
}

static const char *masses_of(cm_document *d, const cm_job *job, int run)
{
    const char *words = "";
    for (int j = 0; j < job->runs->planes; j++) {
        cm_size_angle m =
            cm_user_mass(job, j, job->runs->masses[(size_t)run + (size_t)j * (size_t)job->runs->runs]);
        if (m.size > 0)
            words = cm_format(d->session, "%s%s%s %s @ %s", words, *words ? "; " : "",
                              cm_short_name(d->session, job->given->planes[j].id),
                              cm_digits(d->session, m.size, 4), cm_degrees(d->session, m.angle, 0));
    }
    return *words ? words : "none";
}

static void add_run(cm_document *d, cm_table *table, const cm_job *job, int run)
{
    cm_run_worst w = cm_worst_of_run(job, run);
    const char *cells[HISTORY] = {
        cm_format(d->session, "%d", run + 1),
        job->given->runs[run].id,
        masses_of(d, job, run),
        w.row < 0 ? "nothing read" : cm_reading_name(d->session, job, w.row),
        cm_digits(d->session, w.measured, 3),
        cm_digits(d->session, w.predicted, 3),
        w.apart_row < 0 ? "-"
                        : cm_format(d->session, "%s %s, %s", cm_digits(d->session, w.apart, 3),
                                    cm_unit_words(cm_sensor_of(job, w.apart_row)->unit),
                                    cm_reading_name(d->session, job, w.apart_row)),
    };
    cm_table_row(d, table, cells);
}

static void add_history(cm_document *d, const cm_job *job)
{
    const char *measure = cm_runs_by_limits(job) ? "of its limit" : "in its unit";
    const cm_column columns[HISTORY] = {
        {.head = "", .key = true},
        {.head = "run", .key = true},
        {.head = "masses on the rotor"},
        {.head = "worst reading"},
        {.head = "measured", .unit = measure, .right = true},
        {.head = "told by the runs before", .unit = measure, .right = true},
        {.head = "farthest from what was told"},
    };
    cm_table *table = cm_table_open(d, HISTORY, columns);
    for (int k = 0; k < job->runs->runs; k++)
        add_run(d, table, job, k);
}

/* The last few runs that the runs before them tell, reading by reading. */
static void add_told(cm_document *d, const cm_job *job)
{
    int told = 0;
    for (int k = 0; k < job->runs->runs; k++)
        told += cm_worst_of_run(job, k).told > 0;
    for (int k = 0; k < job->runs->runs; k++)
        if (cm_worst_of_run(job, k).told > 0 && told-- <= DETAILED)
            cm_words_run(d, job, k);
}

void cm_report_runs(cm_document *d, const cm_job *job)
{
    if (!job->runs)
        return;
    cm_section(d, "RUNS, PREDICTED AGAINST MEASURED");
    cm_figure(d, cm_figure_runs(d->session, job));
    add_history(d, job);
    add_told(d, job);
}
