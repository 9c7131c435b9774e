/* SPDX-License-Identifier: MIT */
/*
 * Problem: the phase reference moved, so all phases of run k read too high by one unknown angle p. For the rows i whose
 * state of masses other runs (n_i of them) had, with mean w_i:
 *
 *     v_i = w_i exp(ip) + error        E|error|² = s_i² = sigma_i² (1 + 1/n_i)
 *
 * (weights of runs in place of the counts 1 and n_i where they are given).
 *
 * Method: weighted least squares over rotations, p = arg sum v_i conj(w_i) / s_i². To first order only the part of an
 * error across the phasor turns it: the estimate is wrong by
 *
 *     delta = sum_i g_i Im( conj(w_i) (e_i - mean of the errors behind w_i) ),      g_i = s_i⁻² / sum |w|² s⁻²
 *
 * which is handed on as the gain of every reading behind it; the fit takes it from there (fit/moved.c). sigma_i weighs
 * only: the sensor's repeatability, else the assumed scatter (3 % of the amplitude and the floor of its unit).
 *
 * A run whose masses no other run of its group had with a known reference tells nothing: its readings are not used.
 */
#include "case/arrays.h"
#include "model/units.h"

#include <math.h>

typedef struct turning {
    const cm_case *c;
    const cm_runs *runs;
    double complex *readings; /* rows × runs */
    int run;
    double complex *gain; /* rows × runs */
} turning;

static bool same_group(const cm_runs *runs, int a, int b)
{
    for (int l = 0; l < runs->levels; l++)
        if (fabs(runs->level[a + l * runs->runs] - runs->level[b + l * runs->runs]) > 0)
            return false;
    return true;
}

static bool same_masses(const cm_runs *runs, int a, int b)
{
    for (int j = 0; j < runs->planes; j++)
        if (cabs(runs->masses[a + j * runs->runs] - runs->masses[b + j * runs->runs]) > runs->mass_zero)
            return false;
    return true;
}

/* Readings of the run as its own phase reference shows them; only its own slow roll has been taken off. */
static double complex shown(const turning *t, int row)
{
    const cm_run *run = &t->c->runs[t->run];
    int sensor = t->c->row_sensor[row];
    bool own = run->slow_roll && !isnan(creal(run->slow_roll[sensor]));
    return t->readings[row + t->run * t->c->row_count] + (own ? 0 : t->c->sensors[sensor].slow_roll);
}

static double complex still(const turning *t, int row)
{
    const cm_run *run = &t->c->runs[t->run];
    int sensor = t->c->row_sensor[row];
    bool own = run->slow_roll && !isnan(creal(run->slow_roll[sensor]));
    return own ? 0 : t->c->sensors[sensor].slow_roll;
}

static double weight_of(const turning *t, int row, int run)
{
    size_t at = (size_t)row + (size_t)run * (size_t)t->runs->rows;
    return t->runs->reading_weight ? t->runs->reading_weight[at] : 1;
}

/* Another run that read the row in the same state, with a known reference. */
static bool is_reference(const turning *t, int row, int run)
{
    return run != t->run && !isnan(t->c->runs[run].phase_shift) &&
           t->runs->repeats[row + run * t->runs->rows] > 0 && same_group(t->runs, run, t->run) &&
           same_masses(t->runs, run, t->run);
}

/* Mean of those runs, as a still reference would show it; returns the sum of their weights, 0: there are none. */
static double seen_before(const turning *t, int row, double complex *mean)
{
    double weights = 0;
    double complex sum = 0;
    for (int k = 0; k < t->runs->runs; k++) {
        if (!is_reference(t, row, k))
            continue;
        sum += weight_of(t, row, k) * t->readings[row + k * t->runs->rows];
        weights += weight_of(t, row, k);
    }
    *mean = weights > 0 ? sum / weights + still(t, row) : 0;
    return weights;
}

static double scatter_of(const turning *t, int row, double amplitude)
{
    double declared = t->runs->repeatability[row];
    return declared > 0 ? declared : cm_assumed_scatter(amplitude, t->runs->assumed_floor[row]);
}

static double complex turn_by(double angle)
{
    double complex turn = cos(angle);
    ((double *)&turn)[1] = sin(angle);
    return turn;
}

/* Weight of a row in the estimate; 0: it was not seen in this state before. */
static double row_weight(const turning *t, int row, double complex *mean)
{
    double weights = t->runs->repeats[row + t->run * t->runs->rows] ? seen_before(t, row, mean) : 0;
    if (!(weights > 0))
        return 0;
    double sigma = scatter_of(t, row, cabs(*mean));
    return 1 / (sigma * sigma * (1 / weight_of(t, row, t->run) + 1 / weights));
}

/* How the errors of the row's readings enter the angle: the run's own, and those of the runs that it is compared to. */
static void put_gain(const turning *t, int row, double complex gain)
{
    double complex mean;
    double weights = seen_before(t, row, &mean);
    t->gain[row + t->run * t->runs->rows] = gain;
    for (int k = 0; k < t->runs->runs; k++)
        if (is_reference(t, row, k))
            t->gain[row + k * t->runs->rows] = -gain * weight_of(t, row, k) / weights;
}

/* The angle; false when no row was seen in this state before. */
static bool estimate(const turning *t, double *angle)
{
    double complex sum = 0, mean = 0;
    double told = 0;
    for (int i = 0; i < t->runs->rows; i++) {
        double weight = row_weight(t, i, &mean);
        sum += weight > 0 ? weight * shown(t, i) * conj(mean) : 0;
        told += weight > 0 ? weight * cabs(mean) * cabs(mean) : 0;
    }
    if (!(cabs(sum) > 0))
        return false;
    for (int i = 0; i < t->runs->rows; i++) {
        double weight = row_weight(t, i, &mean);
        if (weight > 0)
            put_gain(t, i, weight * mean / told);
    }
    *angle = carg(sum);
    return true;
}

/* Turns the readings of the run back; `reading` receives them with the run-out that turned with them. */
static void turn_back(const turning *t, double angle, double complex *reading)
{
    for (int i = 0; i < t->runs->rows; i++) {
        int at = i + t->run * t->runs->rows;
        if (!t->runs->repeats[at])
            continue;
        reading[at] = shown(t, i) * turn_by(-angle);
        t->readings[at] = reading[at] - still(t, i);
    }
}

static int count_unknown(const cm_case *c)
{
    int count = 0;
    for (int k = 0; k < c->run_count; k++)
        count += isnan(c->runs[k].phase_shift);
    return count;
}

static void do_without(const cm_runs *runs, int run, int *repeats)
{
    for (int i = 0; i < runs->rows; i++)
        repeats[i + run * runs->rows] = 0;
}

void cm_put_phases(cm_session *session, const cm_case *c, double complex *readings, int *repeats,
                   cm_runs *runs)
{
    size_t cells = (size_t)runs->rows * (size_t)runs->runs;
    int unknown = count_unknown(c);
    double *shift = CM_NEW(session, c->run_count, double);
    int *of = CM_NEW(session, c->run_count, int);
    double complex *gain = CM_NEW(session, cells * (size_t)unknown, double complex);
    double complex *reading = CM_NEW(session, unknown ? cells : 0, double complex);
    for (int k = 0; k < c->run_count; k++) {
        turning t = {c, runs, readings, k, gain + cells * (size_t)runs->moved};
        shift[k] = c->runs[k].phase_shift;
        of[k] = -1;
        if (!isnan(shift[k]))
            continue;
        if (estimate(&t, &shift[k])) {
            turn_back(&t, shift[k], reading);
            of[k] = runs->moved++;
        } else {
            do_without(runs, k, repeats);
        }
    }
    runs->phase_shift = shift;
    if (runs->moved == 0)
        return;
    runs->moved_of = of;
    runs->moved_reading = reading;
    runs->moved_gain = gain;
}
