/* SPDX-License-Identifier: MIT */
/* Questions about what was typed: sensors that no run reads, readings over a trip or of a size that no machine
 * survives, masses in the runs beyond what their plane may carry. A wrong unit or a digit too many shows here. */
#include "evidence/notes.h"
#include "linalg/dense.h"
#include "model/units.h"

#include <math.h>

#undef I

/* Amplitudes (peak) beyond which a unit is more likely wrong than a machine still turning: 1 mm, 0.5 m/s, 1000 m/s²
 * (our own figures). */
static const double UNLIKELY[] = {
    [CM_DISPLACEMENT] = 1e-3, [CM_VELOCITY] = 0.5, [CM_ACCELERATION] = 1000};

static double unlikely_size(cm_quantity quantity)
{
    return cm_is_vibration(quantity) ? UNLIKELY[quantity] : INFINITY;
}

static double largest(const cm_reading *reading)
{
    double most = 0;
    for (int i = 0; i < reading->count; i++)
        most = fmax(most, cabs(reading->values[i]));
    return most;
}

static const char *size_of(const cm_notes *notes, const cm_sensor *sensor, double size)
{
    return cm_format(notes->session, "%s %s", cm_three_digits(notes->session, size / sensor->unit->factor),
                     sensor->unit->name);
}

static void ask_size(cm_notes *notes, int run, const cm_reading *reading)
{
    const cm_case *given = notes->job->given;
    const cm_sensor *sensor = &given->sensors[reading->sensor];
    double size = largest(reading), trip = sensor->trip[reading->speed];
    cm_where where = {run, reading->speed, reading->sensor, -1};
    const char *read = cm_format(notes->session, "%s at %s reads %s in run %s", sensor->id, given->speeds[reading->speed].id,
                                 size_of(notes, sensor, size), given->runs[run].id);
    if (size > unlikely_size(sensor->unit->quantity))
        cm_note(notes, "unlikely-size", CM_WARNING, where, "%s: more than a machine is likely to survive. Check the unit.",
                read);
    else if (size > trip * (1 + 1e-9))
        cm_note(notes, "over-trip", CM_WARNING, where, "%s, over its trip of %s. Check the number that was written down.",
                read, size_of(notes, sensor, trip));
}

void cm_ask_sizes(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    for (int k = 0; k < given->run_count; k++)
        for (int i = 0; i < given->runs[k].reading_count; i++)
            ask_size(notes, k, &given->runs[k].readings[i]);
}

static bool is_read(const cm_case *given, int sensor)
{
    for (int k = 0; k < given->run_count; k++)
        for (int i = 0; i < given->runs[k].reading_count; i++)
            if (given->runs[k].readings[i].sensor == sensor)
                return true;
    return false;
}

void cm_ask_unread(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    bool any = false;
    for (int k = 0; k < given->run_count; k++)
        any |= given->runs[k].reading_count > 0;
    for (int s = 0; any && s < given->sensor_count; s++)
        if (!is_read(given, s))
            cm_note(notes, "not-read", CM_NOTE, (cm_where){-1, -1, s, -1},
                    "No run reads %s: it plays no part, and nothing is predicted for it.", given->sensors[s].id);
}

static void ask_run(cm_notes *notes, int run, int plane)
{
    const cm_case *given = notes->job->given;
    const cm_mass_list *list = &given->runs[run].masses;
    double complex sum = 0;
    for (int i = 0; i < list->count; i++)
        if (list->items[i].plane == plane)
            sum += list->items[i].mass;
    double most = cm_carries(given, &given->planes[plane]);
    if (cabs(sum) > most * (1 + 1e-9))
        cm_note(notes, "over-cap", CM_WARNING, (cm_where){run, -1, -1, plane},
                "In run %s %s carried %s, more than the %s it may carry. Check cap, mass and unit.", given->runs[run].id,
                given->planes[plane].id, cm_mass_size(notes, cabs(sum)), cm_mass_size(notes, most));
}

void cm_ask_run_masses(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    for (int k = 0; k < given->run_count; k++)
        for (int j = 0; j < given->plane_count; j++)
            ask_run(notes, k, j);
}
