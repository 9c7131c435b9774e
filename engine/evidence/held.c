/* SPDX-License-Identifier: MIT */
/*
 * Questions about how runs were held: speed and load that moved between runs, readings that moved inside one.
 *
 * What moved from its planned value by `part` makes of a reading r the error |slope|·part·|r|, with the local slope where
 * the case tells it. Without, the share alone decides: 0.5 % of speed and 5 % of load are noted, 1 % and 10 % warned
 * (common practice, no source).
 */
#include "evidence/slopes.h"
#include "evidence/steps.h"
#include "linalg/dense.h"
#include "model/units.h"

#include <math.h>

#undef I

static const double SPEED_NOTED = 0.005, SPEED_WARNED = 0.01, LOAD_NOTED = 0.05, LOAD_WARNED = 0.1;
static const double ERROR_WARNED = 2; /* standard deviations of one reading (our own figure) */

/* Lowest and highest of what runs held. */
typedef struct cm_range_held {
    int low_run, high_run; /* -1: none */
    double low, high;
} cm_range_held;

static void widen(cm_range_held *range, int run, double value)
{
    if (range->low_run < 0 || value < range->low) {
        range->low = value;
        range->low_run = run;
    }
    if (range->high_run < 0 || value > range->high) {
        range->high = value;
        range->high_run = run;
    }
}

static bool read_at(const cm_notes *notes, int run, int speed)
{
    for (int i = 0; i < notes->job->runs->rows; i++)
        if (notes->job->given->row_speed[i] == speed && cm_run_read(notes->job->runs, i, run))
            return true;
    return false;
}

/* The row at a speed whose error is the largest in standard deviations, given its error; -1: nothing tells. */
static int worst_row(const cm_notes *notes, int speed, double percent, cm_slope *slope, double *error)
{
    int worst = -1;
    double most = 0;
    for (int i = 0; i < notes->job->runs->rows; i++) {
        if (notes->job->given->row_speed[i] != speed)
            continue;
        cm_slope own = cm_slope_of(notes, i);
        double size = own.from ? cabs(own.relative) * percent * cabs(notes->job->influence->y[i]) : 0;
        if (size / notes->job->influence->scatter[i] > most) {
            most = size / notes->job->influence->scatter[i];
            worst = i;
            *slope = own;
            *error = size;
        }
    }
    return worst;
}

static const char *slope_words(const cm_notes *notes, int row, const cm_slope *slope, double error)
{
    if (row < 0)
        return "Nothing in the case tells the local slope; two speeds within 5 % or a sweep would.";
    return cm_format(
        notes->session,
        "The local slope of %s (from %s) makes an error of %s of it, %s standard deviations of one "
        "reading.",
        cm_row_name(notes, row), slope->from, cm_row_size(notes, row, error),
        cm_three_digits(notes->session, error / notes->job->influence->scatter[row]));
}

static void ask_speed(cm_notes *notes, int v)
{
    const cm_case *c = notes->job->given;
    cm_range_held range = {-1, -1, 0, 0};
    for (int k = 0; k < c->run_count; k++)
        if (read_at(notes, k, v))
            widen(&range, k, cm_held_speed(c, k, v));
    double part = range.low_run < 0 ? 0 : (range.high - range.low) / c->speeds[v].omega;
    if (!(part > SPEED_NOTED * 0.1))
        return;
    cm_slope slope = {0};
    double error = 0;
    int row = worst_row(notes, v, 100 * part, &slope, &error);
    bool felt = row >= 0 && error > ERROR_WARNED * notes->job->influence->scatter[row];
    if (part <= SPEED_NOTED * (1 + 1e-9) && !felt)
        return;
    cm_where where = {range.high_run, v, -1, -1};
    cm_note(notes, "speed-moved", part > SPEED_WARNED * (1 - 1e-9) || felt ? CM_WARNING : CM_NOTE, where,
            "At %s the speed moved by %s %% between runs: %s %s in %s, %s in %s (0.5 %% is noted; common "
            "practice, no "
            "source). %s Hold all runs at one speed, or repeat the run that was off.",
            c->speeds[v].id, cm_three_digits(notes->session, 100 * part),
            cm_five_digits(notes->session, range.low / c->speed_unit->factor), cm_unit_words(c->speed_unit),
            c->runs[range.low_run].id, cm_five_digits(notes->session, range.high / c->speed_unit->factor),
            c->runs[range.high_run].id, slope_words(notes, row, &slope, error));
}

void cm_ask_speeds_held(cm_notes *notes)
{
    if (!notes->steps || !notes->job->influence->y || !notes->job->given->speed_unit)
        return;
    for (int v = 0; v < notes->job->given->speed_count; v++)
        if (!isnan(notes->job->given->speeds[v].omega))
            ask_speed(notes, v);
}

/* ---- load ---- */

/* Change of readings for the whole range of load, from two runs of one state at different loads: the largest in standard
 * deviations. */
static const char *load_words(const cm_notes *notes, const cm_range_held *range)
{
    const cm_runs *runs = notes->job->runs;
    const cm_case *c = notes->job->given;
    double most = 3 * sqrt(2);
    const char *words =
        "No two runs in one state tell what load does; repeat one state at both loads, or list the "
        "loads as operating states.";
    for (int k = 0; k < runs->runs; k++)
        for (int q = 0; q < k; q++) {
            double step = fabs(c->runs[k].load - c->runs[q].load);
            if (!(step > 0) || !cm_same_state(notes, q, k))
                continue;
            for (int i = 0; i < runs->rows; i++) {
                if (!cm_run_read(runs, i, k) || !cm_run_read(runs, i, q))
                    continue;
                double change = cabs(runs->readings[i + k * runs->rows] - runs->readings[i + q * runs->rows]);
                if (change <= most * notes->job->influence->scatter[i])
                    continue;
                most = change / notes->job->influence->scatter[i];
                words = cm_format(
                    notes->session,
                    "Runs %s and %s, with the same masses, tell what load does: %s changes by %s over "
                    "this range, %s standard deviations of one reading.",
                    c->runs[q].id, c->runs[k].id, cm_row_name(notes, i),
                    cm_row_size(notes, i, change / step * (range->high - range->low)),
                    cm_three_digits(notes->session, most / step * (range->high - range->low)));
            }
        }
    return words;
}

void cm_ask_loads_held(cm_notes *notes)
{
    const cm_case *c = notes->job->given;
    cm_range_held range = {-1, -1, 0, 0};
    if (!notes->steps)
        return;
    for (int k = 0; k < c->run_count; k++)
        if (!isnan(c->runs[k].load))
            widen(&range, k, c->runs[k].load);
    double part = range.low_run >= 0 && range.high > 0 ? (range.high - range.low) / range.high : 0;
    if (part <= LOAD_NOTED * (1 + 1e-9))
        return;
    cm_where where = {range.low_run, -1, -1, -1};
    cm_note(
        notes, "load-moved", part > LOAD_WARNED * (1 - 1e-9) ? CM_WARNING : CM_NOTE, where,
        "The load moved by %s %% between runs: %s MW in %s, %s MW in %s (5 %% is noted; common practice, no "
        "source). %s Take all runs at one load.",
        cm_three_digits(notes->session, 100 * part), cm_three_digits(notes->session, range.low * 1e-6),
        c->runs[range.low_run].id, cm_three_digits(notes->session, range.high * 1e-6),
        c->runs[range.high_run].id, load_words(notes, &range));
}

/* ---- readings that move inside a run ---- */

static double trend_of(const cm_reading *reading)
{
    int n = reading->count;
    double complex sum = 0;
    double squares = 0;
    for (int i = 0; i < n; i++) {
        double t = i - (n - 1) / 2.0;
        sum += t * reading->values[i];
        squares += t * t;
    }
    return n > 1 ? cabs(sum) / sqrt(squares) : 0; /* E|.|² = s² for readings that only scatter */
}

static void ask_trend(cm_notes *notes, int run)
{
    const cm_case *c = notes->job->given;
    double most = 0;
    const cm_reading *worst = NULL;
    int row = -1;
    for (int r = 0; r < c->runs[run].reading_count; r++) {
        const cm_reading *reading = &c->runs[run].readings[r];
        int at = c->row_of[reading->sensor + c->sensor_count * reading->speed];
        double ratio = at < 0 ? 0 : trend_of(reading) / cm_independent_scatter(notes, at);
        if (ratio > most) {
            most = ratio;
            worst = reading;
            row = at;
        }
    }
    if (!worst || most <= sqrt(log(1e3 * c->runs[run].reading_count)))
        return;
    cm_where where = cm_at_row(notes, row);
    where.run = run;
    double complex first = worst->values[0], last = worst->values[worst->count - 1];
    cm_note(notes, "not-settled", CM_WARNING, where,
            "In run %s the repeated readings of %s move from first to last by %s, %s times what scatter "
            "makes: the "
            "machine was not settled. Wait until readings repeat (temperature, load), then read again.",
            c->runs[run].id, cm_row_name(notes, row), cm_row_size(notes, row, cabs(last - first)),
            cm_three_digits(notes->session, most));
}

/* Readings on the way up or down against readings while holding. */
static void ask_taken(cm_notes *notes, const cm_step *step, int run)
{
    static const char *const WORDS[] = {"", "while holding", "on the way up", "on the way down"};
    const cm_case *c = notes->job->given;
    int own = c->runs[run].taken, other = step->reference >= 0 ? c->runs[step->reference].taken : own;
    if (own == other || own == CM_TAKEN_UNSAID || other == CM_TAKEN_UNSAID)
        return;
    cm_note(notes, "not-settled", CM_NOTE, (cm_where){run, -1, -1, -1},
            "Run %s was read %s, the run it compares with, %s, %s: temperature and, near a resonance, the "
            "rate of "
            "change differ. Compare readings taken in the same way.",
            c->runs[run].id, WORDS[own], c->runs[step->reference].id, WORDS[other]);
}

void cm_ask_settled(cm_notes *notes)
{
    const cm_step *steps = notes->steps;
    if (!steps || !notes->job->runs->repeatability)
        return;
    for (int k = 0; k < notes->job->given->run_count; k++) {
        ask_trend(notes, k);
        ask_taken(notes, &steps[k], k);
    }
}

/* ---- states ---- */

static const double SLIP_NOTED = 0.005; /* as for speeds that moved between runs */

void cm_ask_slip(cm_notes *notes)
{
    const cm_case *c = notes->job->given;
    for (int v = 0; v < c->speed_count; v++) {
        const cm_speed *state = &c->speeds[v], *root = &c->speeds[c->speeds[v].root];
        if (!state->state_of || !(fabs(state->omega - root->omega) > SLIP_NOTED * root->omega))
            continue;
        cm_note(notes, "state-slips", CM_NOTE, (cm_where){-1, v, -1, -1},
                "%s runs %s %% beside %s and takes its coefficients (over 0.5 %%; our own figure). Near a "
                "resonance they are others there: then make it a speed of its own and read the trial runs at "
                "it too.",
                state->id, cm_three_digits(notes->session, 100 * fabs(state->omega / root->omega - 1)),
                root->id);
    }
}
