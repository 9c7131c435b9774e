/* SPDX-License-Identifier: MIT */
/* Predicted vibration, one table per speed: limit, before, after with the radius that holds 90 %. */
#include "page/words.h"

#include <math.h>

enum { COLUMNS = 8 };

/* The unit that all readings at a speed share, or NULL. */
static const cm_unit *common_unit(const cm_job *job, int speed)
{
    const cm_unit *unit = NULL;
    for (int i = 0; i < job->problem->rows; i++) {
        if (job->given->row_speed[i] != speed)
            continue;
        if (unit && cm_sensor_of(job, i)->unit != unit)
            return NULL;
        unit = cm_sensor_of(job, i)->unit;
    }
    return unit;
}

static int amplitude_decimals(const cm_job *job, int speed)
{
    double largest = 0;
    for (int i = 0; i < job->problem->rows; i++) {
        double complex before;
        if (job->given->row_speed[i] == speed && cm_before(job, i, &before))
            largest = fmax(largest, cm_user_amplitude(job, i, cabs(before)));
    }
    int decimals = cm_decimals(largest, 3);
    return decimals < 1 && largest < 1000 ? 1 : decimals;
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, int row, int decimals, bool common)
{
    double complex before;
    bool told = cm_before(job, row, &before);
    bool predicted = cm_is_predicted(job, row);
    double limit = cm_user_limit(job, row);
    cm_size_angle after = cm_user_reading(job, row, cm_after(job, row));
    const char *cells[COLUMNS] = {
        cm_sensor_of(job, row)->id,
        common ? "" : cm_unit_words(cm_sensor_of(job, row)->unit),
        cm_digits(d->session, limit, 4),
        told ? cm_phasor(d->session, cm_user_reading(job, row, before), decimals) : "not told",
        predicted ? cm_phasor(d->session, after, decimals) : "not told",
        predicted ? cm_decimal(d->session, cm_after_radius(job, row), decimals) : "-",
        predicted ? cm_decimal(d->session, cm_level(job, row, cm_after(job, row)) / limit, 2) : "-",
        predicted && job->spread && job->spread->within ? cm_percent(d->session, job->spread->within[row])
                                                        : "-",
    };
    cm_table_row(d, table, cells);
}

static int rows_at(const cm_job *job, int speed)
{
    int count = 0;
    for (int i = 0; i < job->problem->rows; i++)
        count += job->given->row_speed[i] == speed;
    return count;
}

static void say_speed(cm_document *d, const cm_job *job, int speed)
{
    const cm_unit *unit = common_unit(job, speed);
    const char *shared = unit ? cm_unit_words(unit) : NULL;
    const char *phasor = unit ? cm_format(d->session, "%s @ deg", shared) : "@ degrees";
    const cm_column columns[COLUMNS] = {
        {.head = "sensor", .key = true},
        {.head = unit ? "" : "unit"},
        {.head = "limit", .unit = shared, .right = true},
        {.head = "before", .unit = phasor, .right = true},
        {.head = "after", .unit = phasor, .right = true},
        {.head = "± 90 %", .unit = shared, .right = true},
        {.head = "after/", .unit = "limit", .right = true},
        {.head = "within", .unit = "%", .right = true},
    };
    const cm_speed *s = &job->given->speeds[speed];
    double shown = s->omega / job->given->speed_unit->factor;
    cm_section(d, "PREDICTED VIBRATION AT %s, %s %s", cm_short_name(d->session, s->id),
               cm_digits(d->session, shown, 6), cm_unit_words(job->given->speed_unit));
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    int decimals = amplitude_decimals(job, speed);
    for (int i = 0; i < job->problem->rows; i++)
        if (job->given->row_speed[i] == speed)
            add_row(d, table, job, i, decimals, unit != NULL);
}

void cm_words_predicted(cm_document *d, const cm_job *job)
{
    for (int s = 0; s < job->given->speed_count; s++)
        if (rows_at(job, s))
            say_speed(d, job, s);
    cm_say(d, CM_PLAIN,
           "± 90 %%: the radius around the predicted phasor that holds the true reading in 9 of 10 cases. "
           "within: probability that the reading ends within its limit. -: not available. Slow roll is "
           "subtracted everywhere.");
}
