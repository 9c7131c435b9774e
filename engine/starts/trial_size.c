/* SPDX-License-Identifier: MIT */
/*
 * How large and where: the arithmetic of one trial mass m at angle t.
 *
 *     reading with the trial   y + a m exp(it)
 *     worst angle              |y| + |a| m            (the two phasors in line)
 *     with an uncertain a      |y| + (|a| + k s) m,   k s the radius that holds 99 % of a's error
 *     shows                    |a| m >= 7 sigma
 *     best by itself           u = argmin_u sum w² |y + a u|²,  the place opposite the heavy spot
 *     its error                du = -sum conj(a) w² (e_y + e_a u) / sum |a|² w²
 *
 * Source: elementary geometry of phasors; one-plane least squares.
 */
#include "starts/trial.h"

#include <math.h>

static double size2(double complex z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

double cm_trial_row_bound(const cm_trial_row *row)
{
    double room = row->ceiling - cabs(row->y);
    return room <= 0 ? 0 : room / (cabs(row->a) + CM_TRIAL_SURE * row->spread);
}

double cm_trial_visible(const cm_trial_row *row)
{
    return CM_TRIAL_VISIBLE * row->scatter / cabs(row->a);
}

double complex cm_trial_opposite(int rows, const cm_trial_row *row, double *std)
{
    double complex pull = 0;
    double stiff = 0, error = 0;
    for (int i = 0; i < rows; i++)
        if (row[i].told && row[i].counted) {
            double w2 = row[i].weight * row[i].weight;
            pull += conj(row[i].a) * w2 * row[i].y;
            stiff += size2(row[i].a) * w2;
        }
    double complex best = stiff > 0 ? -pull / stiff : 0;
    for (int i = 0; i < rows; i++)
        if (row[i].told && row[i].counted) {
            double gain = cabs(row[i].a) * row[i].weight * row[i].weight;
            error +=
                gain * gain * (row[i].scatter * row[i].scatter + row[i].spread * row[i].spread * size2(best));
        }
    *std = stiff > 0 ? sqrt(error) / stiff : NAN;
    return best;
}

double cm_trial_round(double mass, double least, double unit)
{
    if (!(mass > 0) || isinf(mass))
        return mass;
    double step = pow(10, floor(log10(mass / unit)) - 1);
    double rounded = floor(mass / unit / step * (1 + 1e-12)) * step * unit;
    return rounded >= least ? rounded : mass;
}
