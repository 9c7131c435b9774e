/* SPDX-License-Identifier: MIT */
/*
 * Problem: what one unit of a set (masses f_j on the planes) does to a reading is known, and what the planes of it do by
 * themselves is not.
 *
 * Method: the coefficient of the set, a_s = sum f_j a_j, takes the place of that of one of its planes p among the unknowns,
 *
 *     a_p = (a_s - sum_(j≠p) f_j a_j) / f_p          a = T·a',   m·a = (m T)·a'
 *
 * so that a known set is a known coordinate, exact or with a Gaussian prior, and the fit needs nothing new. Its results go
 * back by T: coefficients, lines of the covariance factor, and what is left open (made orthonormal again by QR).
 *
 * The other way round, any fit tells of a set: a_s = f·a, its variance |fᵀ F_a|², and it is told when f, scaled, is
 * orthogonal to all that is left open, whether or not its planes are told one by one.
 */
#include "fit/basis.h"
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

#undef I

static const double OPEN = 1e-8; /* as for every question to an orthonormal null space */

void cm_turn_lines(cm_session *session, const double complex *basis, int lines, int columns,
                   double complex *block)
{
    int n = lines - 1;
    if (!basis)
        return;
    cm_mark mark = cm_mark_of(session);
    double complex *turned = CM_NEW(session, (size_t)n * (size_t)columns, double complex);
    cm_multiply(false, false, n, columns, n, 1, basis, n, block + 1, lines, 0, turned, n);
    for (int q = 0; q < columns; q++)
        memcpy(block + 1 + q * lines, turned + q * n, (size_t)n * sizeof *turned);
    cm_release_to(session, mark);
}

void cm_turn_row(cm_session *session, const double complex *basis, int planes, int stride, double complex *a)
{
    if (!basis)
        return;
    cm_mark mark = cm_mark_of(session);
    double complex *from = CM_NEW(session, planes, double complex);
    for (int j = 0; j < planes; j++)
        from[j] = a[j * stride];
    for (int j = 0; j < planes; j++) {
        a[j * stride] = 0;
        for (int k = 0; k < planes; k++)
            a[j * stride] += basis[j + k * planes] * from[k];
    }
    cm_release_to(session, mark);
}

void cm_turn_open(cm_session *session, const double complex *basis, const double *scale, int lines, int count,
                  double complex *open)
{
    if (!basis || count == 0)
        return;
    double complex *tau = CM_NEW(session, count, double complex);
    for (int d = 0; d < count; d++)
        for (int l = 1; l < lines; l++)
            open[l + d * lines] /= scale[l];
    cm_turn_lines(session, basis, lines, count, open);
    for (int d = 0; d < count; d++)
        for (int l = 1; l < lines; l++)
            open[l + d * lines] *= scale[l];
    double complex *q = CM_NEW(session, (size_t)lines * (size_t)count, double complex);
    for (int d = 0; d < count; d++)
        q[d + d * lines] = 1;
    cm_qr(session, lines, count, open, lines, tau);
    cm_qr_times_q(session, lines, count, count, open, lines, tau, q, lines);
    memcpy(open, q, (size_t)lines * (size_t)count * sizeof *q);
}

/* ---- what a fit says of sets ---- */

typedef struct cm_set_results {
    double complex *a;
    double *std;
    unsigned char *determined, *known;
} cm_set_results;

static bool is_told(const cm_influence *f, const double complex *set, int row)
{
    int lines = f->planes + 1;
    double norm = 0;
    for (int j = 0; j < f->planes; j++)
        norm = hypot(norm, cabs(set[j]) / f->column_scale[j + 1]);
    for (int d = 0; d < f->null_count[row]; d++) {
        const double complex *null =
            f->null_space + ((size_t)row * (size_t)lines + (size_t)d) * (size_t)lines;
        double complex open = 0;
        for (int j = 0; j < f->planes; j++)
            open += set[j] / f->column_scale[j + 1] * null[j + 1];
        if (cabs(open) > OPEN * norm)
            return false;
    }
    return true;
}

static double spread_of(const cm_influence *f, const double complex *set, int row)
{
    size_t lines = (size_t)f->planes + 1;
    const double complex *factor = f->factor + (size_t)row * lines * lines;
    double sum = 0;
    for (size_t q = 0; q < lines; q++) {
        double complex entry = 0;
        for (size_t j = 1; j < lines; j++)
            entry += set[j - 1] * factor[j + q * lines];
        sum += cm_abs2(entry);
    }
    return sqrt(sum);
}

/* Is the set itself known beforehand in this row? Then its spread does not rest on the scatter alone. */
static bool is_given(const cm_runs *runs, int row, int set)
{
    for (int k = 0; k < runs->known_count; k++)
        if (runs->known[k].row == row && runs->known[k].set == set + 1)
            return true;
    return false;
}

static void put_set(const cm_runs *runs, const cm_influence *f, int set, cm_set_results *to)
{
    const double complex *ratios = runs->sets + (size_t)set * (size_t)f->planes;
    for (int i = 0; i < f->rows; i++) {
        size_t at = (size_t)i + (size_t)set * (size_t)f->rows;
        bool told = f->scatter_source[i] != CM_SCATTER_ASSUMED || is_given(runs, i, set);
        to->determined[at] = is_told(f, ratios, i);
        for (int j = 0; j < f->planes; j++)
            to->a[at] += ratios[j] * f->a[i + j * f->rows];
        to->std[at] = to->determined[at] ? spread_of(f, ratios, i) : NAN;
        to->known[at] = to->determined[at] && told;
    }
}

const cm_influence *cm_with_sets(cm_session *session, const cm_runs *runs, const cm_influence *influence)
{
    if (runs->set_count == 0)
        return influence;
    size_t cells = (size_t)influence->rows * (size_t)runs->set_count;
    cm_influence *out = CM_NEW(session, 1, cm_influence);
    cm_set_results to = {CM_NEW(session, cells, double complex), CM_NEW(session, cells, double),
                         CM_NEW(session, cells, unsigned char), CM_NEW(session, cells, unsigned char)};
    for (int s = 0; s < runs->set_count; s++)
        put_set(runs, influence, s, &to);
    *out = *influence;
    out->set_count = runs->set_count;
    out->set_a = to.a;
    out->set_std = to.std;
    out->set_determined = to.determined;
    out->set_std_known = to.known;
    return out;
}
