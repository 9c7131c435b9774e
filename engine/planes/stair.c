/* SPDX-License-Identifier: MIT */
/* Problem: min |c - B x|² over many subsets of the columns of B.
 *
 * Symbols: carry   the row that a dropped pivot leaves over
 *          f, g    entry of the carried row above, pivot of the next row below
 *
 * Method: after column p is gone, each later pivot sits one row too low. The
 * rotation
 *
 *     [ f̄  g ] / h,   h = sqrt(|f|² + g²)
 *     [-g  f ]
 *
 * of the carried row and the row of that pivot lifts it by one and leaves a
 * new carried row. A column without a pivot takes the carried row as its own
 * when it has an entry there: it had been a copy of what is now gone, and the
 * rest stays as it is. Otherwise the carried row ends as one more number that
 * the columns do not reach. Only unitary operations: no error grows from node
 * to node as it does when columns are taken out of normal equations.
 *
 * Source: Golub & Van Loan, Matrix Computations, section on updating QR
 * factorisations (deleting a column), from memory; the stair for dependent
 * columns is ours. */
#include "planes/stair.h"

#include <math.h>
#include <string.h>

#undef I

cm_stair cm_stair_new(cm_session *session, int rows, int columns)
{
    cm_stair stair = {.stride = columns + 1};
    size_t room = (size_t)(rows + 2) * (size_t)(columns + 1); /* two for the carried row */
    stair.pivot = CM_NEW(session, columns + 1, int);
    stair.re = CM_NEW(session, room, double);
    stair.im = CM_NEW(session, room, double);
    return stair;
}

static double norm_below(int rows, int first, const double complex *x)
{
    double sum = 0;
    for (int i = first; i < rows; i++)
        sum += creal(x[i]) * creal(x[i]) + cimag(x[i]) * cimag(x[i]);
    return sqrt(sum);
}

/* Householder reflection that takes column `x` (from row r on) to a real positive pivot `size`, applied to the
 * `count` columns that follow it. */
static void reflect(int rows, int r, double size, double complex *x, int count)
{
    double complex phase = x[r] == 0 ? 1 : x[r] / cabs(x[r]);
    double complex head = x[r];
    double half = size * (size + cabs(head)); /* |v|²/2 for v = x + phase·size·e_r */
    x[r] += phase * size;
    for (int j = 1; j <= count; j++) {
        double complex *column = x + (size_t)j * (size_t)rows;
        double complex product = 0;
        for (int i = r; i < rows; i++)
            product += conj(x[i]) * column[i];
        product /= half;
        for (int i = r; i < rows; i++)
            column[i] -= product * x[i];
        column[r] *= -conj(phase);
    }
    x[r] = size;
}

/* Copies the reduced dense columns into the stair's rows. */
static void take(cm_stair *out, int rows, const double complex *dense)
{
    for (int t = 0; t <= out->columns; t++)
        for (int r = 0; r < out->rows; r++) {
            double complex value = dense[(size_t)r + (size_t)t * (size_t)rows];
            out->re[r * out->stride + t] = creal(value);
            out->im[r * out->stride + t] = cimag(value);
        }
}

void cm_stair_build(cm_stair *out, int rows, int columns, double complex *dense, const double *norm,
                    double rest)
{
    int r = 0;
    for (int t = 0; t < columns; t++) {
        double complex *x = dense + (size_t)t * (size_t)rows;
        double size = norm_below(rows, r, x);
        out->pivot[t] = -1;
        if (r < rows && size > CM_STAIR_TOLERANCE * norm[t]) {
            reflect(rows, r, size, x, columns - t);
            out->pivot[t] = r++;
        }
    }
    double unreached = norm_below(rows, r, dense + (size_t)columns * (size_t)rows);
    out->columns = columns;
    out->rows = r;
    out->rest = rest + unreached * unreached;
    take(out, rows, dense);
}

/* One row above and one below become the lifted row (written to `to`) and the new carried row; `n` entries. */
static void rotate(int n, double *restrict carry_re, double *restrict carry_im, const double *restrict low_re,
                   const double *restrict low_im, double *restrict to_re, double *restrict to_im)
{
    double h = 1 / sqrt(carry_re[0] * carry_re[0] + carry_im[0] * carry_im[0] + low_re[0] * low_re[0]);
    double f_re = carry_re[0] * h;
    double f_im = carry_im[0] * h;
    double g = low_re[0] * h;
    for (int j = 0; j < n; j++) {
        double a_re = carry_re[j];
        double a_im = carry_im[j];
        double b_re = low_re[j];
        double b_im = low_im[j];
        to_re[j] = f_re * a_re + f_im * a_im + g * b_re; /* lifted = (f̄ a + g b) / h */
        to_im[j] = f_re * a_im - f_im * a_re + g * b_im;
        carry_re[j] = f_re * b_re - f_im * b_im - g * a_re; /* carried = (f b - g a) / h */
        carry_im[j] = f_re * b_im + f_im * b_re - g * a_im;
    }
}

/* The carried row becomes the row of a column that had no pivot, turned so that the pivot is real. */
static void adopt(int n, const double *carry_re, const double *carry_im, double *to_re, double *to_im)
{
    double size = hypot(carry_re[0], carry_im[0]);
    double f_re = carry_re[0] / size;
    double f_im = carry_im[0] / size;
    for (int j = 0; j < n; j++) {
        to_re[j] = f_re * carry_re[j] + f_im * carry_im[j];
        to_im[j] = f_re * carry_im[j] - f_im * carry_re[j];
    }
}

static void copy_row(int n, const cm_stair *from, size_t at, cm_stair *out, size_t to)
{
    memcpy(out->re + to, from->re + at, (size_t)n * sizeof(double));
    memcpy(out->im + to, from->im + at, (size_t)n * sizeof(double));
}

/* How a column goes over into the new stair. */
typedef struct cm_lift {
    int source;      /* next row of the old stair */
    int target;      /* next row of the new one */
    bool carrying;   /* a row is left over: re, im hold it */
    double *re, *im; /* in columns of the new stair */
} cm_lift;

static void lift_column(cm_stair *out, const cm_stair *from, int p, int t, double tolerance, cm_lift *lift)
{
    int n = out->columns - t + 1;
    size_t to = (size_t)lift->target * (size_t)out->stride + (size_t)t;
    size_t at = (size_t)lift->source * (size_t)from->stride + (size_t)(p + 1) + (size_t)t;
    bool had = from->pivot[p + 1 + t] >= 0;
    out->pivot[t] = -1;
    if (had && lift->carrying)
        rotate(n, lift->re + t, lift->im + t, from->re + at, from->im + at, out->re + to, out->im + to);
    else if (had)
        copy_row(n, from, at, out, to);
    else if (lift->carrying && hypot(lift->re[t], lift->im[t]) > tolerance) {
        adopt(n, lift->re + t, lift->im + t, out->re + to, out->im + to);
        lift->carrying = false;
        lift->source--; /* no row of the old stair is used up */
    } else
        return;
    out->pivot[t] = lift->target++;
    lift->source++;
}

void cm_stair_drop(cm_stair *out, const cm_stair *from, int p, const double *norm)
{
    int first = 0;
    for (int t = 0; t < p; t++)
        first += from->pivot[t] >= 0;
    out->columns = from->columns - p - 1;
    cm_lift lift = {.source = first, .carrying = from->pivot[p] >= 0};
    if (lift.carrying) { /* the carried row lives behind the last row of `out` */
        size_t spare = (size_t)(from->rows - first) * (size_t)out->stride;
        lift.re = out->re + spare;
        lift.im = out->im + spare;
        size_t at = (size_t)first * (size_t)from->stride + (size_t)p + 1;
        copy_row(out->columns + 1, from, at, out, spare);
        lift.source++;
    }
    for (int t = 0; t < out->columns; t++)
        lift_column(out, from, p, t, CM_STAIR_TOLERANCE * norm[p + 1 + t], &lift);
    out->rows = lift.target;
    out->rest = from->rest;
    if (lift.carrying) {
        double re = lift.re[out->columns];
        double im = lift.im[out->columns];
        out->rest += re * re + im * im;
    }
}

void cm_stair_keep(cm_stair *out, const cm_stair *from, int p)
{
    int first = 0;
    for (int t = 0; t < p; t++)
        first += from->pivot[t] >= 0;
    out->columns = from->columns - p;
    out->rows = from->rows - first;
    out->rest = from->rest;
    for (int t = 0; t < out->columns; t++)
        out->pivot[t] = from->pivot[p + t] < 0 ? -1 : from->pivot[p + t] - first;
    for (int r = 0; r < out->rows; r++)
        copy_row(out->columns + 1, from, (size_t)(first + r) * (size_t)from->stride + (size_t)p, out,
                 (size_t)r * (size_t)out->stride);
}

double cm_stair_all(const cm_stair *stair)
{
    double sum = stair->rest;
    for (int r = 0; r < stair->rows; r++) {
        double re = stair->re[r * stair->stride + stair->columns];
        double im = stair->im[r * stair->stride + stair->columns];
        sum += re * re + im * im;
    }
    return sum;
}

void cm_stair_least(const cm_stair *stair, double *least)
{
    double sum = stair->rest;
    int r = stair->rows;
    for (int t = stair->columns - 1; t >= 0; t--) {
        least[t] = sum > least[t] ? sum : least[t];
        if (stair->pivot[t] >= 0) {
            r--;
            double re = stair->re[r * stair->stride + stair->columns];
            double im = stair->im[r * stair->stride + stair->columns];
            sum += re * re + im * im;
        }
    }
}
