/* SPDX-License-Identifier: MIT */
/* Problem: y_1 … y_n, earlier values of one coefficient (sister machines, outages), each with its own variance
 * v_k = E|e_k|². What is the coefficient of the machine at hand?
 *
 * Random effects: y_k = mu + b_k + e_k, E|b|² = tau². The machine at hand is one more draw from the same family, so
 *
 *     value    mu^ = sum w_k y_k / W,   w_k = 1 / (v_k + tau²),   W = sum w_k
 *     variance tau² + 1 / W
 *
 * tau² by the moment estimate of DerSimonian and Laird (1986), value from memory; for complex errors with
 * E|e|² = v the statistic Q = sum |y_k - y_w|² / v_k has the mean n - 1 as well (n - 1 complex degrees of freedom):
 *
 *     tau² = max(0, (Q - (n - 1)) / (S1 - S2 / S1)),   S1 = sum 1/v_k, S2 = sum 1/v_k²
 *
 * A value without spread would weigh infinitely in Q; then the unweighted moment (Hedges 1983, value from memory):
 * tau² = max(0, sum |y_k - mean|² / (n - 1) - mean v). Exact values that agree stay exact.
 *
 * The shares in common are those of the records, weighed like the variances; tau² is taken as each row's own.
 */
#include "fit/pool.h"

#include <complex.h>
#include <math.h>

#undef I

static double square(double complex z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

static double variance_of(const cm_known *known)
{
    return known->uncertainty * known->uncertainty;
}

static double complex weighted_mean(const cm_known *values, int count, double between, double *weight)
{
    double complex sum = 0;
    *weight = 0;
    for (int k = 0; k < count; k++) {
        double w = 1 / (variance_of(&values[k]) + between);
        sum += w * values[k].value;
        *weight += w;
    }
    return sum / *weight;
}

/* DerSimonian and Laird. */
static double weighted_moment(const cm_known *values, int count)
{
    double s1, s2 = 0, q = 0;
    double complex mean = weighted_mean(values, count, 0, &s1);
    for (int k = 0; k < count; k++) {
        double w = 1 / variance_of(&values[k]);
        s2 += w * w;
        q += w * square(values[k].value - mean);
    }
    return fmax(0, (q - (count - 1)) / (s1 - s2 / s1));
}

/* Hedges. */
static double plain_moment(const cm_known *values, int count)
{
    double complex mean = 0;
    double away = 0, own = 0;
    for (int k = 0; k < count; k++)
        mean += values[k].value / count;
    for (int k = 0; k < count; k++) {
        away += square(values[k].value - mean) / (count - 1);
        own += variance_of(&values[k]) / count;
    }
    return fmax(0, away - own);
}

static const cm_known *exact_one(const cm_known *values, int count)
{
    for (int k = 0; k < count; k++)
        if (values[k].uncertainty <= 0)
            return &values[k];
    return NULL;
}

cm_known cm_pool(const cm_known *values, int count)
{
    if (count == 1)
        return values[0];
    const cm_known *exact = exact_one(values, count);
    double between = exact ? plain_moment(values, count) : weighted_moment(values, count);
    if (exact && between <= 0)
        return *exact;
    double weight, shared = 0;
    cm_known pooled = {.row = values[0].row, .plane = values[0].plane, .set = values[0].set};
    pooled.value = weighted_mean(values, count, between, &weight);
    double variance = between + 1 / weight;
    for (int k = 0; k < count; k++) {
        double part = 1 / ((variance_of(&values[k]) + between) * weight);
        shared += part * part * values[k].common * variance_of(&values[k]);
    }
    pooled.uncertainty = sqrt(variance);
    pooled.common = fmin(1, shared / variance);
    return pooled;
}

/* Positions of the values of each cell (row, plane): how many, and where its first one will stand once sorted. */
static int *starts_of(cm_session *session, const cm_runs *runs)
{
    int cells = runs->rows * runs->planes;
    int *start = CM_NEW(session, cells + 1, int);
    for (int k = 0; k < runs->known_count; k++)
        start[runs->known[k].row + runs->known[k].plane * runs->rows + 1]++;
    for (int c = 0; c < cells; c++)
        start[c + 1] += start[c];
    return start;
}

static void check_origins(cm_session *session, const cm_known *values, int count)
{
    for (int k = 0; count > 1 && k < count; k++)
        if (values[k].record == 0)
            cm_fail(session, CM_BAD_INPUT, "the coefficient of row %d and plane %d is given twice",
                    values[k].row, values[k].plane);
}

static bool repeated(const int *start, int cells)
{
    for (int c = 0; c < cells; c++)
        if (start[c + 1] - start[c] > 1)
            return true;
    return false;
}

const cm_runs *cm_pool_known(cm_session *session, const cm_runs *runs)
{
    int cells = runs->rows * runs->planes;
    int *start = starts_of(session, runs);
    if (!repeated(start, cells))
        return runs;
    cm_known *sorted = CM_NEW(session, runs->known_count, cm_known);
    cm_known *pooled = CM_NEW(session, cells, cm_known);
    int *filled = CM_NEW(session, cells, int);
    cm_runs *out = CM_NEW(session, 1, cm_runs);
    *out = *runs;
    out->known = pooled;
    out->known_count = 0;
    for (int k = 0; k < runs->known_count; k++) {
        int cell = runs->known[k].row + runs->known[k].plane * runs->rows;
        sorted[start[cell] + filled[cell]++] = runs->known[k];
    }
    for (int c = 0; c < cells; c++) {
        check_origins(session, sorted + start[c], filled[c]);
        if (filled[c] > 0)
            pooled[out->known_count++] = cm_pool(sorted + start[c], filled[c]);
    }
    return out;
}
