/* SPDX-License-Identifier: MIT */
/* Resonances of the fitted sweeps as a table. */
#include "countermass/evidence.h"
#include "page/words.h"

#include <math.h>

enum { COLUMNS = 6 };

static const char *speed_of(cm_document *d, const cm_case *c, double omega)
{
    return isfinite(omega) ? cm_digits(d->session, omega / c->speed_unit->factor, 4) : "-";
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, const cm_resonance *r, double running)
{
    const cm_case *c = job->given;
    double asked = r->omega < running ? r->asked_below : r->asked_above;
    const char *cells[COLUMNS] = {
        speed_of(d, c, r->omega),
        cm_digits(d->session, r->amplification, 3),
        cm_format(d->session, "%s to %s", speed_of(d, c, r->low), speed_of(d, c, r->high)),
        cm_digits(d->session, r->margin, 3),
        cm_digits(d->session, asked, 3),
        r->sensor >= 0 ? c->sensors[r->sensor].id : "-",
    };
    cm_table_row(d, table, cells);
}

static int count_clear(const cm_sweep_result *sweep)
{
    int count = 0;
    for (int m = 0; m < sweep->count; m++)
        count += sweep->resonances[m].clear;
    return count;
}

static void say_sweep(cm_document *d, const cm_job *job, const cm_sweep_result *sweep)
{
    const char *unit = cm_unit_words(job->given->speed_unit);
    const cm_column columns[COLUMNS] = {
        {.head = "resonance", .unit = unit, .right = true},  {.head = "amplification", .right = true},
        {.head = "half power", .unit = unit, .right = true}, {.head = "margin", .unit = "%", .right = true},
        {.head = "asked", .unit = "%", .right = true},       {.head = "best seen on"},
    };
    const char *run = cm_short_name(d->session, job->given->runs[sweep->run].id);
    if (sweep->count == 0) {
        cm_say(d, CM_CAREFUL, "Sweep of run %s: no resonance can be told from %s.", run,
               cm_count_of(d->session, sweep->readings, "reading", "readings"));
        return;
    }
    int clear = count_clear(sweep);
    cm_say(d, CM_PLAIN, "Sweep of run %s, %s: %s and a constant for run-out leave %s %% of the readings.",
           run, cm_count_of(d->session, sweep->readings, "reading", "readings"),
           cm_count_of(d->session, sweep->count, "mode", "modes"),
           cm_digits(d->session, 100 * sweep->share, 2));
    if (sweep->count > clear)
        cm_say(d, CM_PLAIN,
               "%s, outside the speeds of the sweep or not well determined: not shown here, but in "
               "--format json.",
               cm_count_of(d->session, sweep->count - clear, "of them is no clear resonance",
                           "of them are no clear resonances"));
    if (clear == 0)
        return;
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    double running = job->given->service_speed;
    for (int v = 0; v < job->given->speed_count; v++)
        running = fmax(running, job->given->speeds[v].omega);
    for (int m = 0; m < sweep->count; m++)
        if (sweep->resonances[m].clear)
            add_row(d, table, job, &sweep->resonances[m], running);
}

void cm_words_sweeps(cm_document *d, const cm_job *job)
{
    if (!job->sweeps || job->sweeps->count == 0)
        return;
    cm_section(d, "RESONANCES");
    for (int i = 0; i < job->sweeps->count; i++)
        say_sweep(d, job, &job->sweeps->items[i]);
    cm_say(d, CM_PLAIN,
           "margin: distance from the running speed; asked: separation margin of API 617 (formulas from "
           "memory; 0: "
           "critically damped). Half power is taken on the fitted mode without the growth of unbalance with "
           "speed, where "
           "it agrees with the damping. Check a resonance that matters with the maker's data.");
}
