/* SPDX-License-Identifier: MIT */
/* Runs that the runs before them foretell: predicted against measured. */
#include "page/words.h"

enum { COLUMNS = 6 };

static bool is_foretold(const cm_job *job, int row, int run)
{
    size_t at = (size_t)row + (size_t)run * (size_t)job->runs->rows;
    return job->runs->repeats[at] > 0 && job->foretold->told[at];
}

static int count_foretold(const cm_job *job, int run)
{
    int count = 0;
    for (int i = 0; i < job->runs->rows; i++)
        count += is_foretold(job, i, run);
    return count;
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, int row, int run)
{
    size_t at = (size_t)row + (size_t)run * (size_t)job->runs->rows;
    double complex expected = job->foretold->expected[at], measured = job->runs->readings[at];
    const char *cells[COLUMNS] = {
        cm_speed_of(job, row)->id,
        cm_sensor_of(job, row)->id,
        cm_unit_words(d->session, cm_sensor_of(job, row)->unit),
        cm_phasor(d->session, cm_user_reading(job, row, expected), 1),
        cm_phasor(d->session, cm_user_reading(job, row, measured), 1),
        cm_decimal(d->session, cm_user_amplitude(job, row, cabs(measured - expected)), 1),
    };
    cm_table_row(d, table, cells);
}

static void say_run(cm_document *d, const cm_job *job, int run)
{
    static const cm_column columns[COLUMNS] = {
        {.head = "speed", .key = true},
        {.head = "sensor", .key = true},
        {.head = "unit"},
        {.head = "predicted", .unit = "@ deg", .right = true},
        {.head = "measured", .unit = "@ deg", .right = true},
        {.head = "apart", .right = true},
    };
    cm_section(d, "RUN %s, PREDICTED FROM THE RUNS BEFORE IT",
               cm_short_name(d->session, job->given->runs[run].id));
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    for (int i = 0; i < job->runs->rows; i++)
        if (is_foretold(job, i, run))
            add_row(d, table, job, i, run);
}

void cm_words_runs(cm_document *d, const cm_job *job)
{
    for (int k = 1; job->foretold && k < job->runs->runs; k++)
        if (count_foretold(job, k) > 0)
            say_run(d, job, k);
}
