/* SPDX-License-Identifier: MIT */
/*
 * Slope of a reading over speed, from two readings r_1, r_2 at W_1, W_2:
 *
 *     (r_2 - r_1) / ((r_1 + r_2)/2) / ((W_2 - W_1)/((W_1 + W_2)/2)) / 100      for 1 % of speed
 *
 * A finite difference over up to 5 %; a difference within three standard deviations of its scatter tells nothing. A
 * fitted sweep gives the same by its closed form.
 */
#include "evidence/slopes.h"
#include "base/constants.h"
#include "evidence/steps.h"
#include "evidence/sweep_fit.h"
#include "evidence/weights.h"
#include "linalg/dense.h"
#include "model/judged.h"

#include <math.h>

#undef I

static const double NEAR_PAIR = 0.05;   /* speeds so near are a pair */
static const double LEAST_APART = 1e-3; /* nearer speeds tell nothing (our own figure) */
static const double POOR =
    0.1; /* share of the readings that a fit may leave and still tell a slope (our own figure) */
static const double SEEN = 3;         /* standard deviations of a difference */
static const double SAME_LOAD = 0.05; /* as for loads that moved between runs */

double cm_held_speed(const cm_case *given, int run, int speed)
{
    double held = given->runs[run].actual_speed ? given->runs[run].actual_speed[speed] : NAN;
    return isnan(held) ? given->speeds[speed].omega : held;
}

/* What load does must not be taken for what speed does; a load that is not told may be the same. */
static bool other_load(double a, double b)
{
    return fabs(a - b) > SAME_LOAD * fmax(fabs(a), fabs(b)); /* false when one is not given */
}

/* `weights`: 1/w of the two readings, summed. */
static bool take(const cm_notes *notes, cm_slope *slope, int row, const double omega[2],
                 const double complex r[2], double weights)
{
    double seen = SEEN * notes->job->influence->scatter[row] * sqrt(weights);
    double apart = (omega[1] - omega[0]) / ((omega[0] + omega[1]) / 2);
    if (fabs(apart) < LEAST_APART || fabs(apart) > NEAR_PAIR * (1 + 1e-9) || cabs(r[1] - r[0]) < seen ||
        cabs(r[0] + r[1]) < seen)
        return false;
    slope->relative = (r[1] - r[0]) / ((r[0] + r[1]) / 2) / apart / 100;
    slope->degrees = cm_degrees_between(r[0], r[1]) / fabs(100 * apart);
    slope->percent = 100 * cabs(slope->relative);
    slope->row = row;
    return true;
}

/* The fitted curve of a sweep, where it reaches the speed. */
static bool from_sweep(const cm_notes *notes, int row, cm_slope *slope)
{
    const cm_case *c = notes->job->given;
    const cm_sweeps *sweeps = notes->job->sweeps;
    double omega = c->speeds[c->row_speed[row]].omega;
    for (int i = 0; sweeps && i < sweeps->count; i++) {
        const cm_sweep_result *sweep = &sweeps->items[i];
        int channel = sweep->channel ? sweep->channel[c->row_sensor[row]] : -1;
        if (channel < 0 || !sweep->model->modes || sweep->share > POOR || omega < sweep->low ||
            omega > sweep->high)
            continue;
        double complex rise, r = cm_sweep_curve(sweep->model, channel, omega, &rise);
        if (cabs(r) < SEEN * sqrt(2) * notes->job->influence->scatter[row])
            continue;
        slope->relative = rise * omega / r / 100;
        slope->degrees = fabs(cimag(slope->relative)) * 180 / CM_PI;
        slope->percent = 100 * cabs(slope->relative);
        slope->from = cm_format(notes->session, "the sweep of run %s", c->runs[sweep->run].id);
        return true;
    }
    return false;
}

/* Another speed within 5 % in one run, at the same load; states of one speed are apart by their load. */
static bool from_pair(const cm_notes *notes, int row, cm_slope *slope)
{
    const cm_case *c = notes->job->given;
    const cm_runs *runs = notes->job->runs;
    int sensor = c->row_sensor[row], speed = c->row_speed[row];
    for (int v = 0; v < c->speed_count; v++) {
        int other = c->row_of[sensor + c->sensor_count * v];
        bool alike = c->speeds[v].root != c->speeds[speed].root &&
                     !other_load(c->speeds[v].load, c->speeds[speed].load);
        for (int k = 0; alike && other >= 0 && k < runs->runs; k++) {
            if (!cm_run_read(runs, row, k) || !cm_run_read(runs, other, k))
                continue;
            double omega[2] = {cm_held_speed(c, k, speed), cm_held_speed(c, k, v)};
            double complex r[2] = {runs->readings[row + k * runs->rows],
                                   runs->readings[other + k * runs->rows]};
            if (!take(notes, slope, row, omega, r,
                      1 / cm_weight_of(runs, row, k) + 1 / cm_weight_of(runs, other, k)))
                continue;
            slope->from = cm_format(notes->session, "the speeds %s and %s in run %s", c->speeds[speed].id,
                                    c->speeds[v].id, c->runs[k].id);
            return true;
        }
    }
    return false;
}

/* Two runs in one state that held different speeds. */
static bool from_runs(const cm_notes *notes, int row, cm_slope *slope)
{
    const cm_case *c = notes->job->given;
    const cm_runs *runs = notes->job->runs;
    int speed = c->row_speed[row];
    for (int k = 0; k < runs->runs; k++)
        for (int q = 0; q < k; q++) {
            double omega[2] = {cm_held_speed(c, q, speed), cm_held_speed(c, k, speed)};
            if (omega[0] == omega[1] || !cm_run_read(runs, row, k) || !cm_run_read(runs, row, q) ||
                !cm_same_state(notes, q, k) || other_load(c->runs[q].load, c->runs[k].load))
                continue;
            double complex r[2] = {runs->readings[row + q * runs->rows],
                                   runs->readings[row + k * runs->rows]};
            if (!take(notes, slope, row, omega, r,
                      1 / cm_weight_of(runs, row, q) + 1 / cm_weight_of(runs, row, k)))
                continue;
            slope->from = cm_format(notes->session, "runs %s and %s, which had the same masses",
                                    c->runs[q].id, c->runs[k].id);
            return true;
        }
    return false;
}

cm_slope cm_slope_of(const cm_notes *notes, int row)
{
    cm_slope slope = {.row = row};
    if (!notes->job->given->runs || isnan(notes->job->given->speeds[notes->job->given->row_speed[row]].omega))
        return slope;
    if (from_sweep(notes, row, &slope) || from_pair(notes, row, &slope) || from_runs(notes, row, &slope))
        return slope;
    return slope;
}

/* ---- near a resonance ---- */

static const double STEEP_DEGREES = 3, STEEP_PERCENT = 8;

static double steepness(const cm_slope *slope)
{
    return fmax(slope->degrees / STEEP_DEGREES, slope->percent / STEEP_PERCENT);
}

/* What an error of 1 % in the speed of one run does to the prediction of a row. */
static const char *effect(const cm_notes *notes, const cm_slope *slope)
{
    const cm_job *job = notes->job;
    double before = cabs(job->influence->y[slope->row]) * slope->percent / 100;
    const char *moved = cm_row_size(notes, slope->row, before);
    if (!job->answer || job->answer->outcome != CM_OPTIMAL)
        return cm_format(notes->session, "A run held 1 %% off would be read %s wrong.", moved);
    return cm_format(notes->session,
                     "A run held 1 %% off would be read %s wrong, and the prediction of %s with it.", moved,
                     cm_row_size(notes, slope->row,
                                 cabs(cm_compensated(job->problem, slope->row, job->answer->r[slope->row]))));
}

static void say_steep(cm_notes *notes, const cm_slope *slope)
{
    cm_note(notes, "near-resonance", CM_WARNING, cm_at_row(notes, slope->row),
            "%s changes by %s degrees and %s %% (as a vector) for 1 %% of speed, by %s: more than 3 degrees "
            "or 8 %% "
            "(common practice, no source) means that a resonance is near. %s Measure farther from it, hold "
            "the speed "
            "within 0.2 %%, or give the speed less weight yourself, such as weight: 0.3; nothing is "
            "down-weighted "
            "unasked.",
            cm_row_name(notes, slope->row), cm_three_digits(notes->session, slope->degrees),
            cm_three_digits(notes->session, slope->percent), slope->from, effect(notes, slope));
}

void cm_ask_slopes(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!notes->steps || !job->influence->y)
        return;
    for (int v = 0; v < job->given->speed_count; v++) {
        cm_slope worst = {0};
        for (int i = 0; i < job->runs->rows; i++) {
            cm_slope slope = job->given->row_speed[i] == v ? cm_slope_of(notes, i) : (cm_slope){0};
            if (slope.from && (!worst.from || steepness(&slope) > steepness(&worst)))
                worst = slope;
        }
        if (worst.from && steepness(&worst) > 1)
            say_steep(notes, &worst);
    }
}
