/* SPDX-License-Identifier: MIT */
/*
 * Problem: the phase reference moved, so all phases of run k read too high by one unknown angle p. For the rows i whose
 * state of masses other runs (n_i of them) had, with mean w_i:
 *
 *     v_i = w_i exp(ip) + error        E|error|² = sigma_i² (1 + 1/n_i)
 *
 * Method: weighted least squares over rotations, p = arg sum v_i conj(w_i) / (sigma_i² (1 + 1/n_i)). To first order
 * only the part of an error across the phasor turns it, half of its variance, so
 *
 *     var p = 1 / (2 sum |w_i|² / (sigma_i² (1 + 1/n_i)))
 *
 * sigma_i: the sensor's repeatability, else the assumed scatter (3 % of the amplitude and the floor of its unit).
 */
#include "case/arrays.h"

#include <math.h>

static const double ASSUMED_SHARE = 0.03;

typedef struct turning {
    const cm_case *c;
    const cm_runs *runs;
    double complex *readings; /* rows × runs */
    int run;
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

/* Mean of other runs in the same state, as a still reference would show it; returns how many there are. */
static int seen_before(const turning *t, int row, double complex *mean)
{
    int count = 0;
    double complex sum = 0;
    for (int k = 0; k < t->runs->runs; k++) {
        bool known = k != t->run && !isnan(t->c->runs[k].phase_shift);
        if (!known || t->runs->repeats[row + k * t->runs->rows] == 0 || !same_group(t->runs, k, t->run) ||
            !same_masses(t->runs, k, t->run))
            continue;
        sum += t->readings[row + k * t->runs->rows];
        count++;
    }
    *mean = count ? sum / count + still(t, row) : 0;
    return count;
}

static double scatter_of(const turning *t, int row, double amplitude)
{
    double declared = t->runs->repeatability[row];
    return declared > 0 ? declared : ASSUMED_SHARE * amplitude + t->runs->assumed_floor[row];
}

static double complex turn_by(double angle)
{
    double complex turn = cos(angle);
    ((double *)&turn)[1] = sin(angle);
    return turn;
}

/* Angle and its standard deviation; false when no row was seen in this state before. */
static bool estimate(const turning *t, double *angle, double *std)
{
    double complex sum = 0;
    double told = 0;
    for (int i = 0; i < t->runs->rows; i++) {
        double complex mean;
        int count = t->runs->repeats[i + t->run * t->runs->rows] ? seen_before(t, i, &mean) : 0;
        if (count == 0)
            continue;
        double sigma = scatter_of(t, i, cabs(mean));
        double weight = 1 / (sigma * sigma * (1 + 1.0 / count));
        sum += weight * shown(t, i) * conj(mean);
        told += weight * cabs(mean) * cabs(mean);
    }
    if (!(cabs(sum) > 0))
        return false;
    *angle = carg(sum);
    *std = sqrt(0.5 / told);
    return true;
}

static void turn_back(const turning *t, double angle)
{
    for (int i = 0; i < t->runs->rows; i++)
        if (t->runs->repeats[i + t->run * t->runs->rows])
            t->readings[i + t->run * t->runs->rows] = shown(t, i) * turn_by(-angle) - still(t, i);
}

static void refuse(cm_session *session, const cm_case *c, int run)
{
    cm_report(session, CM_ERROR, &c->runs[run].phase_place,
              "the phase shift of '%s' cannot be found: no other run of its group with a known phase "
              "reference had the "
              "same masses; add a run with these masses, or write the shift in degrees",
              c->runs[run].id);
    cm_fail(session, CM_BAD_INPUT, NULL);
}

void cm_put_phases(cm_session *session, const cm_case *c, double complex *readings, cm_runs *runs)
{
    double *shift = CM_NEW(session, c->run_count, double), *std = CM_NEW(session, c->run_count, double);
    for (int k = 0; k < c->run_count; k++) {
        turning t = {c, runs, readings, k};
        shift[k] = c->runs[k].phase_shift;
        if (!isnan(shift[k]))
            continue;
        if (!estimate(&t, &shift[k], &std[k]))
            refuse(session, c, k);
        turn_back(&t, shift[k]);
    }
    runs->phase_shift = shift;
    runs->phase_shift_std = std;
}
