/* SPDX-License-Identifier: MIT */
/*
 * Problem: the readings of run k were turned back by an angle that was itself found from readings, with the error
 *
 *     delta_m = sum_ik Im( conj(L_m,ik) e_ik )                    L: `moved_gain`, e: errors of readings
 *
 * so that a reading v of that run is wrong by e - i v delta. What does this do to the fit?
 *
 * Lines l of row i (reading in the base state, coefficients) follow the readings by P_lk, hence err by
 *
 *     sum_k P_lk e_ik + B_lm delta_m,          B_lm = -i sum_(k of m) P_lk v_ik
 *
 * For circular errors, E e Im(conj(L) e) = i L sigma²/2 and E Im(conj(L) e) Im(conj(L') e) = Re(L conj(L')) sigma²/2.
 * With C = E delta delta' = T T', delta = T z: the row's own noise has the covariance X = E[(P e) delta'] T'⁻¹ with z, and
 *
 *     covariance of rows i and k   =   (own noise, same row only) + G_i G_kᴴ - H_i H_kᴴ,    H = X, G = X + B T
 *
 * to first order in delta. z is real, so that errors are not quite circular; their size E|error|² is exact, and only sizes are used.
 */
#include "fit/moved.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

static double complex gain(const cm_runs *runs, int row, int run, int m)
{
    size_t cell = (size_t)row + (size_t)run * (size_t)runs->rows;
    return runs->moved_gain[cell + (size_t)m * (size_t)runs->rows * (size_t)runs->runs];
}

/* Variance of one reading of a row in a run. */
static double variance_of(const cm_evidence *evidence, double scatter, int row, int run)
{
    double one = scatter / cm_root_of(evidence, row, run);
    return one * one;
}

static void fill_covariance(const cm_evidence *evidence, const cm_scatter *scatter, cm_moved *moved)
{
    const cm_runs *runs = evidence->given;
    for (int k = 0; k < runs->runs; k++)
        for (int i = 0; i < runs->rows; i++)
            for (int a = 0; cm_was_read(evidence, i, k) && a < moved->count; a++)
                for (int b = 0; b <= a; b++)
                    moved->turn[a + b * moved->count] +=
                        creal(gain(runs, i, k, a) * conj(gain(runs, i, k, b))) *
                        variance_of(evidence, scatter->value[i], i, k) / 2;
}

/* Cholesky in place; angles that are known without error keep a zero column. */
static void factor(int n, double *c)
{
    for (int j = 0; j < n; j++) {
        double pivot = c[j + j * n];
        for (int q = 0; q < j; q++)
            pivot -= c[j + q * n] * c[j + q * n];
        pivot = pivot > 1e-14 * c[j + j * n] ? sqrt(pivot) : 0;
        c[j + j * n] = pivot;
        for (int i = j + 1; i < n; i++) {
            for (int q = 0; q < j; q++)
                c[i + j * n] -= c[i + q * n] * c[j + q * n];
            c[i + j * n] = pivot > 0 ? c[i + j * n] / pivot : 0;
        }
    }
}

cm_moved cm_find_moved(cm_session *session, const cm_evidence *evidence, const cm_scatter *scatter)
{
    cm_moved moved = {.count = evidence->given->moved};
    if (moved.count == 0)
        return moved;
    moved.turn = CM_NEW(session, (size_t)moved.count * (size_t)moved.count, double);
    moved.std = CM_NEW(session, moved.count, double);
    fill_covariance(evidence, scatter, &moved);
    for (int m = 0; m < moved.count; m++)
        moved.std[m] = sqrt(moved.turn[m + m * moved.count]);
    factor(moved.count, moved.turn);
    return moved;
}

/* Each line of h becomes x with x·turn' = h. */
static void divide(const cm_moved *moved, int lines, double complex *h)
{
    int n = moved->count;
    for (int m = 0; m < n; m++)
        for (int l = 0; l < lines; l++) {
            double pivot = moved->turn[m + m * n];
            for (int q = 0; q < m; q++)
                h[l + m * lines] -= h[l + q * lines] * moved->turn[m + q * n];
            h[l + m * lines] = pivot > 0 ? h[l + m * lines] / pivot : 0;
        }
}

void cm_moved_parts(const cm_evidence *evidence, const cm_moved *moved, int row, double scatter,
                    const double complex *pull, double complex *common, double complex *own)
{
    const cm_runs *runs = evidence->given;
    int lines = evidence->planes + 1, n = moved->count;
    const double complex half_i = cm_pack(0, 0.5), minus_i = cm_pack(0, -1);
    for (int k = 0; k < runs->runs; k++) {
        if (!cm_was_read(evidence, row, k))
            continue;
        double complex turned = minus_i * runs->moved_reading[row + k * runs->rows];
        for (int m = 0; m < n; m++) {
            double complex with = half_i * gain(runs, row, k, m) * variance_of(evidence, scatter, row, k);
            double effect = runs->moved_of[k] < 0 ? 0 : moved->turn[runs->moved_of[k] + m * n];
            for (int l = 0; l < lines; l++) {
                own[l + m * lines] += pull[l + k * lines] * with;
                common[l + m * lines] += pull[l + k * lines] * turned * effect;
            }
        }
    }
    divide(moved, lines, own);
    for (int l = 0; l < lines * n; l++)
        common[l] += own[l];
}

void cm_add_parts(cm_session *session, int lines, int count, const double complex *g, const double complex *h,
                  double complex *square)
{
    cm_mark mark = cm_mark_of(session);
    size_t cells = (size_t)lines * (size_t)lines;
    double complex *c = CM_NEW(session, cells, double complex);
    double *size = CM_NEW(session, lines, double), *values = CM_NEW(session, lines, double);
    cm_multiply(false, true, lines, lines, lines, 1, square, lines, square, lines, 0, c, lines);
    cm_multiply(false, true, lines, lines, count, 1, g, lines, g, lines, 1, c, lines);
    cm_multiply(false, true, lines, lines, count, -1, h, lines, h, lines, 1, c, lines);
    for (int l = 0; l < lines; l++)
        size[l] = creal(c[l + l * lines]) > 0 ? sqrt(creal(c[l + l * lines])) : 1;
    for (int a = 0; a < lines; a++)
        for (int b = 0; b < lines; b++)
            c[a + b * lines] /= size[a] * size[b];
    cm_eigen(session, lines, c, lines, values);
    for (int b = 0; b < lines; b++)
        for (int a = 0; a < lines; a++)
            square[a + b * lines] = c[a + b * lines] * size[a] * sqrt(fmax(0, values[b]));
    cm_release_to(session, mark);
}
