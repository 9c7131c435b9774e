/* SPDX-License-Identifier: MIT */
/* Orbits of probe pairs on the page of `solve`. */
#include "model/counts.h"
#include "page/orbits.h"
#include "page/words.h"

#include <math.h>

enum { COLUMNS = 9 };

static void add_row(cm_document *d, cm_table *table, const cm_job *job, int k, int decimals)
{
    const cm_orbit_row *orbit = &job->given->orbits[k];
    double before, limit = cm_orbit_limit(job, k), after = cm_orbit_after(job, k);
    bool told = cm_orbit_before(job, k, &before);
    double within = cm_orbit_within(job, k);
    const char *cells[COLUMNS] = {
        job->given->pairs[orbit->pair].id,
        job->given->speeds[orbit->speed].id,
        cm_orbit_axis_name(job, k),
        cm_digits(d->session, limit, 4),
        told ? cm_decimal(d->session, before, decimals) : "not told",
        isnan(after) ? "not told" : cm_decimal(d->session, after, decimals),
        cm_decimal(d->session, cm_orbit_radius(job, k), decimals),
        cm_decimal(d->session, after / limit, 2),
        isnan(within) ? "-" : cm_percent(d->session, within),
    };
    cm_table_row(d, table, cells);
}

void cm_words_orbits(cm_document *d, const cm_job *job)
{
    if (job->given->orbit_count == 0)
        return;
    const char *unit = cm_unit_words(cm_orbit_unit(job, 0));
    for (int k = 1; k < job->given->orbit_count; k++)
        if (cm_orbit_unit(job, k) != cm_orbit_unit(job, 0))
            unit = NULL;
    const cm_column columns[COLUMNS] = {
        {.head = "pair", .key = true},
        {.head = "speed", .key = true},
        {.head = "row"},
        {.head = "limit", .unit = unit, .right = true},
        {.head = "before", .unit = unit, .right = true},
        {.head = "after", .unit = unit, .right = true},
        {.head = "± 90 %", .unit = unit, .right = true},
        {.head = "after/", .unit = "limit", .right = true},
        {.head = "within", .unit = "%", .right = true},
    };
    double largest = 0, before;
    for (int k = 0; k < job->given->orbit_count; k++)
        if (cm_orbit_before(job, k, &before))
            largest = fmax(largest, before);
    int decimals = cm_decimals(largest, 3);
    decimals = decimals < 1 && largest < 1000 ? 1 : decimals;
    cm_section(d, "PREDICTED ORBITS");
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    for (int k = 0; k < job->given->orbit_count; k++)
        add_row(d, table, job, k, decimals);
    cm_say(d, CM_PLAIN,
           "forward: the circle run through in the direction of rotation, the part that unbalance drives. "
           "major-axis: the longest diameter of the ellipse, which single probes can under-read by up to 29 "
           "%% when "
           "they stand at right angles. ± 90 %%: the true size lies this close in at least 9 of 10 cases.");
}

int cm_orbits_over(const cm_job *job)
{
    int over = 0;
    for (int k = 0; k < job->given->orbit_count; k++)
        over += cm_orbit_after(job, k) > cm_orbit_limit(job, k) * (1 + 1e-9);
    return over;
}

/* Every counted orbit was read as the rotor stands, and none is over its limit. */
bool cm_orbits_stand_within(const cm_job *job)
{
    for (int k = 0; k < job->given->orbit_count; k++) {
        cm_pair pair = job->problem->pairs[k];
        double complex r[2];
        if (!cm_pair_is_judged(&pair))
            continue;
        if (!cm_standing(job, pair.forward, &r[0]) || !cm_standing(job, pair.backward, &r[1]))
            return false;
        pair.forward = 0;
        pair.backward = 1;
        if (cm_pair_size_at(&pair, r) > pair.limit)
            return false;
    }
    return true;
}

static double ratio_of(const cm_job *job, int k, bool after)
{
    double size = cm_orbit_after(job, k);
    if (!after)
        cm_orbit_before(job, k, &size);
    return size / cm_orbit_limit(job, k);
}

void cm_say_worst_orbit(cm_document *d, const cm_job *job, bool after)
{
    int worst = -1;
    for (int k = 0; k < job->given->orbit_count; k++) {
        double ratio = ratio_of(job, k, after);
        if (job->problem->pairs[k].weight > 0 && !isnan(ratio) &&
            (worst < 0 || ratio > ratio_of(job, worst, after)))
            worst = k;
    }
    if (worst < 0)
        return;
    double ratio = ratio_of(job, worst, after), limit = cm_orbit_limit(job, worst);
    const char *unit = cm_unit_words(cm_orbit_unit(job, worst));
    cm_item(d, ratio > 1 ? CM_BAD : CM_GOOD, "Worst orbit %s: %s, %s %s, %s times its limit of %s %s.",
            after ? "after" : "before", cm_orbit_name(d->session, job, worst),
            cm_digits(d->session, ratio * limit, 3), unit, cm_digits(d->session, ratio, 3),
            cm_digits(d->session, limit, 4), unit);
}
