/* SPDX-License-Identifier: MIT */
/*
 * Questions about trial runs: was the answer to the trial mass large enough to be told from scatter, and was it too
 * much for the machine?
 *
 *     q_v = max over counted readings i at speed v of |r_i(run) - r_i(reference)| / s_i
 *
 * s_i = sqrt(E|e|²) of one reading. The change is a difference of two readings, so noise alone gives |change|² = 2 s² on
 * average; q = 4 means that it exceeds its own spread 2.8 times. A trial is the first run into a new direction of masses;
 * when another run changes the same planes in the same ratio and answers better, that one counts. That 30 % or 30 degrees should change
 * is common practice, no source; it is shown beside.
 */
#include "evidence/level.h"
#include "evidence/steps.h"
#include "linalg/dense.h"
#include "standards/bearings.h"

#include <math.h>
#include <string.h>

#undef I

static const double FAULT_BELOW = 4, WARN_BELOW = 7;
static const double SAME_RATIO = 0.9; /* cosine between two changes of several planes (our own figure) */
static const double ENOUGH = 10;      /* what a larger trial mass is sized for (our own figure) */
static const double MOST_LOAD = 0.1;  /* of the static load, as for sizing trial masses */
static const double TWICE = 2;        /* without an alarm: so many times the larger of limit and reference */

typedef struct cm_best {
    int run, row;
    double ratio;
} cm_best;

static double complex change_of(const cm_notes *notes, const cm_step *steps, int k, int plane)
{
    const cm_runs *runs = notes->job->runs;
    return runs->masses[k + plane * runs->runs] - runs->masses[steps[k].reference + plane * runs->runs];
}

/* True when two runs change the same planes by masses in the same ratio: one teaches what the other does. */
static bool change_alike(const cm_notes *notes, const cm_step *steps, int k, int q)
{
    int planes = notes->job->runs->planes;
    if (!steps[q].changed || memcmp(steps[q].changed, steps[k].changed, (size_t)planes) != 0)
        return false;
    double complex along = 0;
    double own = 0, other = 0;
    for (int j = 0; j < planes; j++) {
        double complex a = change_of(notes, steps, k, j), b = change_of(notes, steps, q, j);
        along += conj(a) * b;
        own += cm_abs2(a);
        other += cm_abs2(b);
    }
    return cm_abs2(along) >= SAME_RATIO * SAME_RATIO * own * other;
}

/* The best response at a speed of a run that changes the same planes as run k in the same ratio. */
static cm_best best_at(const cm_notes *notes, const cm_step *steps, int k, int speed)
{
    const cm_job *job = notes->job;
    cm_best best = {k, -1, -1};
    for (int q = 0; q < job->runs->runs; q++) {
        bool alike = change_alike(notes, steps, k, q);
        for (int i = 0; alike && i < job->runs->rows; i++) {
            bool counts = !job->problem || job->problem->weight[i] > 0;
            if (job->given->row_speed[i] != speed || !counts)
                continue;
            double ratio = cm_response(notes, &steps[q], q, i);
            if (ratio > best.ratio)
                best = (cm_best){q, i, ratio};
        }
    }
    return best;
}

static void say_too_small(cm_notes *notes, const cm_step *steps, const cm_best *best)
{
    const cm_runs *runs = notes->job->runs;
    const cm_step *step = &steps[best->run];
    cm_complex with = runs->readings[best->row + best->run * runs->rows];
    cm_complex without = runs->readings[best->row + step->reference * runs->rows];
    bool fault = best->ratio < FAULT_BELOW;
    cm_where where = cm_at_row(notes, best->row);
    where.run = best->run;
    for (int j = 0; j < runs->planes && step->changes == 1; j++)
        where.plane = step->changed[j] ? j : where.plane;
    cm_note(
        notes, "trial-too-small", fault ? CM_ERROR : CM_WARNING, where,
        "The masses changed on %s in run %s show best on %s: a change of %s, %s standard deviations of one "
        "reading (below 4 it cannot be told from scatter, below 7 hardly). It is %s %% in size and %s "
        "degrees; "
        "30 %% or 30 degrees is common practice, no source. Use about %s times the mass, as far as it is "
        "safe, or "
        "repeat both runs.",
        cm_step_planes(notes, step), notes->job->given->runs[best->run].id, cm_row_name(notes, best->row),
        cm_row_size(notes, best->row, cabs(with - without)), cm_three_digits(notes->session, best->ratio),
        cm_three_digits(notes->session, cm_percent_off(cabs(with), cabs(without))),
        cm_three_digits(notes->session, cm_degrees_between(with, without)),
        best->ratio > 0.1 ? cm_three_digits(notes->session, ENOUGH / best->ratio) : "100");
}

void cm_ask_trial_response(cm_notes *notes)
{
    const cm_step *steps = cm_steps_of(notes);
    if (!steps)
        return;
    for (int k = 0; k < notes->job->runs->runs; k++)
        for (int v = 0; steps[k].trial && v < notes->job->given->speed_count; v++) {
            cm_best best = best_at(notes, steps, k, v);
            if (best.row >= 0 && best.ratio < WARN_BELOW)
                say_too_small(notes, steps, &best);
        }
}

/* ---- too large ---- */

/* Amplitude a trial must not pass, and what it comes from. */
static double ceiling_of(const cm_notes *notes, int row, double reference, const char **from)
{
    const cm_sensor *sensor = &notes->job->given->sensors[notes->job->given->row_sensor[row]];
    int speed = notes->job->given->row_speed[row];
    if (isfinite(sensor->alarm[speed])) {
        *from = "its alarm";
        return sensor->alarm[speed];
    }
    if (sensor->trip && isfinite(sensor->trip[speed])) {
        *from = "its trip";
        return sensor->trip[speed];
    }
    *from = "twice the larger of its limit and the reading before (no alarm is given; our own figure)";
    return TWICE * fmax(sensor->limit[speed], reference);
}

/* What alarms are held against, of a row in a run that read it. */
static double level_in(const cm_notes *notes, int row, int run)
{
    const cm_case *c = notes->job->given;
    return cm_level_at(notes->job, run, row, cm_reading_of(c, run, c->row_sensor[row], c->row_speed[row]));
}

/* The reading that a trial drove farthest over its ceiling. */
static void ask_ceiling(cm_notes *notes, const cm_step *step, int run)
{
    const cm_runs *runs = notes->job->runs;
    int worst = -1;
    double most = 1 + 1e-9;
    const char *from = "", *reason = "";
    for (int i = 0; i < runs->rows; i++) {
        if (!cm_run_read(runs, i, run) || !cm_run_read(runs, i, step->reference))
            continue;
        double with = level_in(notes, i, run), without = level_in(notes, i, step->reference);
        double ceiling = ceiling_of(notes, i, without, &reason);
        if (with > without && with / ceiling > most) {
            most = with / ceiling;
            worst = i;
            from = reason;
        }
    }
    if (worst < 0)
        return;
    cm_where where = cm_at_row(notes, worst);
    where.run = run;
    double with = level_in(notes, worst, run), without = level_in(notes, worst, step->reference);
    cm_note(notes, "trial-too-large", CM_WARNING, where,
            "The trial on %s drove %s in run %s from %s to %s, over %s (%s). Do not repeat it; use a smaller "
            "mass, or "
            "put it where the readings say it helps.",
            cm_step_planes(notes, step), cm_row_name(notes, worst), notes->job->given->runs[run].id,
            cm_row_size(notes, worst, without), cm_row_size(notes, worst, with), from,
            cm_row_size(notes, worst, with / most));
}

/* Force of the changed mass at the highest speed that the run read, against the static load of the nearest bearing. */
static void ask_load(cm_notes *notes, const cm_step *step, int run, int plane)
{
    const cm_case *given = notes->job->given;
    const cm_runs *runs = notes->job->runs;
    double omega = 0;
    for (int i = 0; i < runs->rows; i++)
        if (cm_run_read(runs, i, run))
            omega = fmax(omega, given->speeds[given->row_speed[i]].omega);
    int bearing;
    bool overhung;
    double share = cm_nearest_bearing(given, given->planes[plane].position, &bearing, &overhung);
    double load = bearing >= 0 ? cm_bearing_load(given, bearing) : NAN;
    double mass =
        cabs(runs->masses[run + plane * runs->runs] - runs->masses[step->reference + plane * runs->runs]);
    double force = share * mass * given->planes[plane].radius * omega * omega;
    if (!(load > 0) || !(force > MOST_LOAD * load))
        return;
    cm_note(notes, "trial-too-large", CM_WARNING, (cm_where){run, -1, -1, plane},
            "The trial on %s in run %s pulled with %s N, %s %% of the static load of bearing %s (more than "
            "10 %% is too "
            "much for a trial; common practice, no source). Use %s or less.",
            given->planes[plane].id, given->runs[run].id, cm_three_digits(notes->session, force),
            cm_three_digits(notes->session, 100 * force / load), given->rotor.bearings[bearing].id,
            cm_mass_size(notes, mass * MOST_LOAD * load / force));
}

void cm_ask_trial_danger(cm_notes *notes)
{
    const cm_step *steps = cm_steps_of(notes);
    if (!steps)
        return;
    for (int k = 0; k < notes->job->runs->runs; k++) {
        if (!steps[k].trial)
            continue;
        ask_ceiling(notes, &steps[k], k);
        for (int j = 0; j < notes->job->given->plane_count; j++)
            if (steps[k].changed[j])
                ask_load(notes, &steps[k], k, j);
    }
}
