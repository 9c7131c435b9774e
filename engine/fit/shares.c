/* SPDX-License-Identifier: MIT */
/* Problem: the fit gives the covariance between rows as G_i·G_kᴴ; a prior knows one number, the share c_i of the
 * variance of e_i/A_i that all rows of one plane and block have together, so that rows i and k correlate by
 * sqrt(c_i·c_k).
 *
 * Method: the relative errors g_i = G_i/A_i of the plane's rows are projected on the direction of their sum; the
 * projection, when it is positive, is the part in common. Where a single latent error is shared, which is how priors
 * make rows correlate, this is exact; else it is the nearest single one, and the rest counts as each row's own.
 */
#include "fit/shares.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#undef I

typedef struct task {
    const cm_influence *influence;
    const int *block;
    double complex *sum; /* latent errors: the sum of g_i, then its direction */
} task;

static bool takes_part(const task *t, int row, int plane, int block)
{
    int at = row + plane * t->influence->rows;
    return t->block[row] == block && t->influence->std[at] > 0 && cabs(t->influence->a[at]) > 0;
}

/* Relative error of a coefficient due to latent error l. */
static double complex relative(const task *t, int row, int plane, int l)
{
    size_t lines = (size_t)t->influence->planes + 1, count = (size_t)t->influence->common_count;
    double complex g =
        t->influence->common_factor[((size_t)row * count + (size_t)l) * lines + (size_t)plane + 1];
    return g / t->influence->a[row + plane * t->influence->rows];
}

static double length_of(const double complex *v, int count)
{
    double sum = 0;
    for (int l = 0; l < count; l++)
        sum += creal(v[l]) * creal(v[l]) + cimag(v[l]) * cimag(v[l]);
    return sqrt(sum);
}

static double share_of(const task *t, int row, int plane, double length)
{
    int at = row + plane * t->influence->rows;
    double along = 0;
    for (int l = 0; l < t->influence->common_count; l++)
        along += creal(relative(t, row, plane, l) * conj(t->sum[l])) / length;
    double part = along * cabs(t->influence->a[at]) / t->influence->std[at];
    return part > 0 ? fmin(1, part * part) : 0;
}

/* All rows of the block of row `first`, which is its first one. */
static void share_block(const task *t, int first, int plane, double *share)
{
    int rows = t->influence->rows, count = t->influence->common_count;
    memset(t->sum, 0, (size_t)count * sizeof *t->sum);
    for (int i = first; i < rows; i++)
        for (int l = 0; takes_part(t, i, plane, t->block[first]) && l < count; l++)
            t->sum[l] += relative(t, i, plane, l);
    double length = length_of(t->sum, count);
    for (int i = first; length > 0 && i < rows; i++)
        if (takes_part(t, i, plane, t->block[first]))
            share[i + plane * rows] = share_of(t, i, plane, length);
}

static bool is_first(const int *block, int row)
{
    for (int i = 0; i < row; i++)
        if (block[i] == block[row])
            return false;
    return true;
}

const double *cm_common_shares(cm_session *session, const int *block, const cm_influence *influence)
{
    int rows = influence->rows, planes = influence->planes;
    double *share = CM_NEW(session, (size_t)rows * (size_t)planes, double);
    if (influence->common_count == 0)
        return share;
    task t = {influence, block, CM_NEW(session, influence->common_count, double complex)};
    for (int i = 0; i < rows; i++)
        for (int j = 0; is_first(block, i) && j < planes; j++)
            share_block(&t, i, j, share);
    return share;
}
