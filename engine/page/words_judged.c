/* SPDX-License-Identifier: MIT */
/* Readings judged as read, and overall levels beside the once-per-turn part: before, after, and what the rule assumes. */
#include "page/words.h"

#include "model/judged.h"

#include <string.h>

enum { COLUMNS = 8 };

static bool is_as_read(const cm_job *job, int row)
{
    return job->problem->offset &&
           (cabs(job->problem->offset[row]) > 0 || cm_judges_overall(job->problem, row));
}

static bool has_overall(const cm_job *job, int row)
{
    return job->problem->rest && !isnan(job->problem->rest[row]);
}

static const char *judged_words(const cm_job *job, int row)
{
    return cm_judges_overall(job->problem, row) ? "overall" : is_as_read(job, row) ? "as read" : "1x";
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, int row)
{
    double complex before, after = cm_after(job, row);
    bool told = cm_before(job, row, &before), predicted = cm_is_predicted(job, row);
    bool overall = has_overall(job, row);
    double rest = overall ? cm_user_amplitude(job, row, job->problem->rest[row]) : NAN;
    const char *cells[COLUMNS] = {
        cm_speed_of(job, row)->id,
        cm_sensor_of(job, row)->id,
        cm_unit_words(cm_sensor_of(job, row)->unit),
        judged_words(job, row),
        cm_decimal(d->session, rest, 1),
        cm_decimal(d->session, overall && told ? cm_overall(job, row, before) : NAN, 1),
        cm_decimal(d->session, overall && predicted ? cm_overall(job, row, after) : NAN, 1),
        cm_decimal(d->session, predicted ? cm_level(job, row, after) / cm_user_limit(job, row) : NAN, 2),
    };
    cm_table_row(d, table, cells);
}

/* Levels of which only rms values add by their squares. */
static bool any_peak(const cm_job *job)
{
    for (int i = 0; i < job->problem->rows; i++)
        if (has_overall(job, i) && !strstr(cm_sensor_of(job, i)->unit->name, "rms"))
            return true;
    return false;
}

static void say_rule(cm_document *d, const cm_job *job, bool overall, bool as_read)
{
    if (as_read)
        cm_say(d, CM_PLAIN,
               "as read: limits are held against the reading with its slow roll, as the instrument shows it; "
               "the tables above tell readings without slow roll.");
    if (!overall)
        return;
    cm_say(d, CM_CAREFUL,
           "Overall levels after correction are an estimate: overall² after = overall² before - 1x² before + "
           "1x² after, "
           "all as read. It takes what is not once per turn to stay as the runs read it, which balancing "
           "does not "
           "promise.");
    if (any_peak(job))
        cm_say(d, CM_CAREFUL,
               "Squares add for rms levels; for peak and peak-to-peak levels this is an approximation.");
}

void cm_words_judged(cm_document *d, const cm_job *job)
{
    static const cm_column columns[COLUMNS] = {
        {.head = "speed", .key = true},
        {.head = "sensor", .key = true},
        {.head = "unit"},
        {.head = "limit is", .unit = "on"},
        {.head = "not 1x", .right = true},
        {.head = "overall", .unit = "before", .right = true},
        {.head = "overall", .unit = "after", .right = true},
        {.head = "after/", .unit = "limit", .right = true},
    };
    bool overall = false, as_read = false;
    for (int i = 0; i < job->problem->rows; i++) {
        overall = overall || has_overall(job, i);
        as_read = as_read || is_as_read(job, i);
    }
    if (!overall && !as_read)
        return;
    cm_section(d, overall ? "OVERALL LEVELS" : "LIMITS ON READINGS AS READ");
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    for (int i = 0; i < job->problem->rows; i++)
        if (has_overall(job, i) || is_as_read(job, i))
            add_row(d, table, job, i);
    say_rule(d, job, overall, as_read);
}
