/* SPDX-License-Identifier: MIT */
/* Questions about what was typed: sensors that no run reads, readings over a trip or of a size that no machine
 * survives, masses in the runs beyond what their plane may carry. A wrong unit or a digit too many shows here. */
#include "evidence/notes.h"
#include "linalg/dense.h"
#include "model/levels.h"
#include "model/units.h"

#include <math.h>

#undef I

/* Amplitudes (peak) beyond which a unit is more likely wrong than a machine still turning: 1 mm, 0.5 m/s, 1000 m/s²
 * (our own figures). */
static const double UNLIKELY[] = {[CM_DISPLACEMENT] = 1e-3, [CM_VELOCITY] = 0.5, [CM_ACCELERATION] = 1000};

static double unlikely_size(cm_quantity quantity)
{
    return cm_is_vibration(quantity) ? UNLIKELY[quantity] : INFINITY;
}

/* The reading of one sensor that stands out most, over all runs. */
typedef struct cm_peak {
    int run, speed; /* run -1: none */
    double size;
} cm_peak;

static void take_reading(cm_peak *peak, int run, const cm_reading *reading)
{
    double size = cm_level_shown(reading);
    if (peak->run < 0 || size > peak->size)
        *peak = (cm_peak){run, reading->speed, size};
}

/* Over a trip only: readings of one speed are measured by the trip of that speed. The card speaks of the run on its way
 * up. */
static bool over_trip(const cm_notes *notes, int run, const cm_sensor *sensor, const cm_reading *reading)
{
    const cm_card *card = notes->job->card;
    return !(card && card->run == run) && cm_level_shown(reading) > sensor->trip[reading->speed] * (1 + 1e-9);
}

static const char *size_of(const cm_notes *notes, const cm_sensor *sensor, double size)
{
    return cm_format(notes->session, "%s %s", cm_three_digits(notes->session, size / sensor->unit->factor),
                     cm_unit_words(sensor->unit));
}

static void say_size(cm_notes *notes, int index, const cm_peak *peak, bool unlikely)
{
    const cm_case *given = notes->job->given;
    const cm_sensor *sensor = &given->sensors[index];
    const char *against = unlikely
                              ? "more than a machine is likely to survive. Check the unit"
                              : cm_format(notes->session, "over its trip of %s. Check what was written down",
                                          size_of(notes, sensor, sensor->trip[peak->speed]));
    cm_note(notes, unlikely ? "unlikely-size" : "over-trip", CM_WARNING,
            (cm_where){peak->run, peak->speed, index, -1}, "%s at %s reads %s in run %s, %s.", sensor->id,
            given->speeds[peak->speed].id, size_of(notes, sensor, peak->size), given->runs[peak->run].id,
            against);
}

/* One finding for each sensor, about its largest reading: a wrong unit would flood the page otherwise. */
static void ask_sensor(cm_notes *notes, int index)
{
    const cm_case *given = notes->job->given;
    const cm_sensor *sensor = &given->sensors[index];
    cm_peak all = {-1, 0, 0}, tripped = {-1, 0, 0};
    for (int k = 0; k < given->run_count; k++)
        for (int i = 0; i < given->runs[k].reading_count; i++) {
            const cm_reading *reading = &given->runs[k].readings[i];
            if (reading->sensor != index)
                continue;
            take_reading(&all, k, reading);
            if (over_trip(notes, k, sensor, reading))
                take_reading(&tripped, k, reading);
        }
    if (all.size > unlikely_size(sensor->unit->quantity))
        say_size(notes, index, &all, true);
    else if (tripped.run >= 0)
        say_size(notes, index, &tripped, false);
}

void cm_ask_sizes(cm_notes *notes)
{
    for (int s = 0; s < notes->job->given->sensor_count; s++)
        ask_sensor(notes, s);
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
                    "No run reads %s: it plays no part, and nothing is predicted for it.",
                    given->sensors[s].id);
}

/* Nothing that counts was read: said of readings that are left out, since a case without any is only at its start. */
void cm_ask_left_out(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    for (int k = 0; given->row_count == 0 && k < given->run_count; k++)
        if (given->runs[k].left_out)
            cm_note(
                notes, "all-left-out", CM_WARNING, (cm_where){k, -1, -1, -1},
                "All that was read in run %s is left out (%s), and no other run has readings: there is no "
                "evidence. Read again, or take `leave_out` back for what is right.",
                given->runs[k].id, given->runs[k].leave_out.because);
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
                "%s carried %s in run %s, more than the %s it may carry. Check cap, mass and unit.",
                given->planes[plane].id, cm_mass_size(notes, cabs(sum)), given->runs[run].id,
                cm_mass_size(notes, most));
}

void cm_ask_run_masses(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    for (int k = 0; k < given->run_count; k++)
        for (int j = 0; j < given->plane_count; j++)
            ask_run(notes, k, j);
}
