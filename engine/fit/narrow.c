/* SPDX-License-Identifier: MIT */
/*
 * From the fit with additional columns back to the rows and planes that were asked for.
 *
 * Row i, member t of its family, takes lines 0 (reading in the base state of t) and 1 … M (planes) of the family's
 * block in the fit of t. Their covariance factor is a wide matrix; QR of its adjoint makes it square. What the
 * runs leave open, N (lines of the additional columns included), is seen through
 *
 *     reading at the as-found masses, in state t and at the base's levels  =  line 0 + sum over additional columns
 *
 * so the basis is mapped by that sum, and its column space found anew by SVD.
 */
#include "fit/shares.h"
#include "fit/wide.h"
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

#undef I

static const double SEEN = 1e-8; /* singular values of a mapped orthonormal basis below this are rounding */

typedef struct cm_narrow_result {
    int rows, planes, lines, runs, latents;
    double complex *a, *y, *factor, *null, *common, *base, *residual;
    unsigned char *determined, *std_known;
    double *std, *scatter, *dof, *radius;
    cm_scatter_source *source;
    int *base_runs, *null_count;
} cm_narrow_result;

static cm_narrow_result new_result(cm_session *session, const cm_runs *given, int latents, bool open)
{
    size_t rows = (size_t)given->rows, planes = (size_t)given->planes, lines = planes + 1;
    cm_narrow_result r = {.rows = given->rows,
                          .planes = given->planes,
                          .lines = given->planes + 1,
                          .runs = given->runs,
                          .latents = latents};
    r.a = CM_NEW(session, rows * planes, double complex);
    r.y = CM_NEW(session, rows, double complex);
    r.factor = CM_NEW(session, rows * lines * lines, double complex);
    r.null = open ? CM_NEW(session, rows * lines * lines, double complex) : NULL;
    r.common = latents ? CM_NEW(session, rows * lines * (size_t)latents, double complex) : NULL;
    r.base = latents ? CM_NEW(session, rows * lines * (size_t)latents, double complex) : NULL;
    r.residual = CM_NEW(session, rows * (size_t)given->runs, double complex);
    r.determined = CM_NEW(session, rows * planes, unsigned char);
    r.std_known = CM_NEW(session, rows * planes, unsigned char);
    r.std = CM_NEW(session, rows * planes, double);
    r.scatter = CM_NEW(session, rows, double);
    r.dof = CM_NEW(session, rows, double);
    r.radius = CM_NEW(session, rows, double);
    r.source = CM_NEW(session, rows, cm_scatter_source);
    r.base_runs = CM_NEW(session, rows, int);
    r.null_count = CM_NEW(session, rows, int);
    return r;
}

static void take_values(const cm_wide *wide, const cm_influence *fit, int row, cm_narrow_result *r)
{
    int f = wide->family[row];
    for (int j = 0; j < r->planes; j++) {
        size_t to = (size_t)row + (size_t)j * (size_t)r->rows,
               from = (size_t)f + (size_t)j * (size_t)fit->rows;
        r->a[to] = fit->a[from];
        r->std[to] = fit->std[from];
        r->determined[to] = fit->determined[from];
        r->std_known[to] = fit->std_known[from];
    }
    r->y[row] = fit->y[f];
    r->base_runs[row] = fit->base_runs[f];
    r->scatter[row] = fit->scatter[f] * wide->times[row];
    r->source[row] = fit->scatter_source[f];
    r->dof[row] = fit->dof[f];
    r->radius[row] = fit->radius_factor[f];
    for (int k = 0; k < r->runs; k++)
        r->residual[row + k * r->rows] =
            fit->residual[f + (k * wide->members + wide->member[row]) * fit->rows];
}

static void take_factor(cm_session *session, const cm_wide *wide, const cm_influence *fit, int row,
                        cm_narrow_result *r)
{
    cm_mark mark = cm_mark_of(session);
    int lines = r->lines, wide_lines = fit->planes + 1;
    const double complex *from =
        fit->factor + (size_t)wide->family[row] * (size_t)wide_lines * (size_t)wide_lines;
    double complex *to = r->factor + (size_t)row * (size_t)lines * (size_t)lines;
    double complex *adjoint = CM_NEW(session, (size_t)wide_lines * (size_t)lines, double complex);
    double complex *tau = CM_NEW(session, lines, double complex);
    for (int l = 0; l < lines; l++)
        for (int q = 0; q < wide_lines; q++)
            adjoint[q + l * wide_lines] = conj(from[l + q * wide_lines]);
    cm_qr(session, wide_lines, lines, adjoint, wide_lines, tau);
    for (int l = 0; l < lines; l++)
        for (int q = 0; q <= l; q++)
            to[l + q * lines] = conj(adjoint[q + l * wide_lines]);
    cm_release_to(session, mark);
}

static void take_open(cm_session *session, const cm_wide *wide, const cm_influence *fit, int row,
                      cm_narrow_result *r)
{
    cm_mark mark = cm_mark_of(session);
    int lines = r->lines, wide_lines = fit->planes + 1, open = fit->null_count[wide->family[row]];
    int most = lines < open ? lines : open;
    const double complex *null =
        fit->null_space + (size_t)wide->family[row] * (size_t)wide_lines * (size_t)wide_lines;
    double complex *seen = CM_NEW(session, (size_t)lines * (size_t)open, double complex);
    double complex *u = CM_NEW(session, (size_t)lines * (size_t)lines, double complex);
    double *s = CM_NEW(session, most, double);
    for (int d = 0; d < open; d++) {
        for (int l = 0; l < lines; l++)
            seen[l + d * lines] = null[l + d * wide_lines];
        for (int e = 0; e < wide->extra; e++)
            seen[d * lines] +=
                wide->base[r->planes + e] / fit->column_scale[lines + e] * null[lines + e + d * wide_lines];
    }
    cm_svd(session, lines, open, seen, lines, s, u, NULL);
    int rank = 0;
    while (rank < most && s[rank] > SEEN)
        rank++;
    r->null_count[row] = rank;
    if (rank > 0 && r->null)
        memcpy(r->null + (size_t)row * (size_t)lines * (size_t)lines, u,
               (size_t)lines * (size_t)rank * sizeof *u);
    cm_release_to(session, mark);
}

static void take_common(const cm_wide *wide, const cm_influence *fit, int row, cm_narrow_result *r)
{
    size_t lines = (size_t)r->lines, wide_lines = (size_t)fit->planes + 1, latents = (size_t)r->latents;
    const size_t from = (size_t)wide->family[row] * wide_lines * latents, to = (size_t)row * lines * latents;
    for (size_t q = 0; q < latents; q++)
        for (size_t l = 0; l < lines; l++) {
            r->common[to + l + q * lines] = fit->common_factor[from + l + q * wide_lines];
            r->base[to + l + q * lines] = fit->base_factor[from + l + q * wide_lines];
        }
}

/* ---- what the members of a family share ---- */

/* Gram matrix of the base means' rests: means of different members are of different readings, so that what their
 * unknowns have in common is taken back there. Factored by eigenvectors into columns. */
static void factor_rests(cm_session *session, const cm_wide *wide, const cm_fitted *fits, int family,
                         double complex *gram)
{
    int n = wide->members, lines = wide->runs.planes + 1;
    size_t block = (size_t)family * (size_t)lines * (size_t)lines;
    double *values = CM_NEW(session, n, double);
    for (int a = 0; a < n; a++)
        for (int b = 0; b < n; b++) {
            const double complex *own_a = fits[a].own + block, *own_b = fits[b].own + block;
            bool both = fits[a].influence->base_runs[family] > 0 && fits[b].influence->base_runs[family] > 0;
            gram[a + b * n] = a == b ? fits[a].rest[family] * fits[a].rest[family] : 0;
            for (int q = 0; a != b && both && q < lines; q++)
                gram[a + b * n] -= own_a[q * lines] * conj(own_b[q * lines]);
        }
    cm_eigen(session, n, gram, n, values);
    for (int q = 0; q < n; q++)
        for (int a = 0; a < n; a++)
            gram[a + q * n] *= sqrt(fmax(0, values[q]));
}

/* Rows blocks of lines × (wide lines + members). */
static const cm_complex *own_factors(cm_session *session, const cm_wide *wide, const cm_fitted *fits,
                                     int width)
{
    int n = wide->members, wide_lines = wide->runs.planes + 1;
    size_t lines = (size_t)wide->given->planes + 1, cells = lines * (size_t)width;
    double complex *own = CM_NEW(session, (size_t)wide->given->rows * cells, double complex);
    double complex *rests = CM_NEW(session, (size_t)n * (size_t)n * (size_t)wide->runs.rows, double complex);
    for (int f = 0; f < wide->runs.rows; f++)
        factor_rests(session, wide, fits, f, rests + f * n * n);
    for (int i = 0; i < wide->given->rows; i++) {
        int f = wide->family[i], t = wide->member[i];
        const double complex *from = fits[t].own + (size_t)f * (size_t)wide_lines * (size_t)wide_lines;
        double complex *to = own + (size_t)i * cells;
        for (int q = 0; q < wide_lines; q++)
            for (size_t l = 0; l < lines; l++)
                to[l + (size_t)q * lines] = from[l + (size_t)q * (size_t)wide_lines];
        for (int q = 0; q < n; q++)
            to[(size_t)(wide_lines + q) * lines] = rests[t + q * n + f * n * n];
    }
    return own;
}

static const double *phase_spread(cm_session *session, const cm_wide *wide, const cm_influence *any)
{
    if (!any->phase_shift_std)
        return NULL;
    double *std = CM_NEW(session, wide->given->runs, double);
    for (int k = 0; k < wide->given->runs; k++)
        std[k] = any->phase_shift_std[k * wide->members];
    return std;
}

const cm_influence *cm_narrow(cm_session *session, const cm_wide *wide, const cm_fitted *fits)
{
    const cm_influence *any = fits[0].influence;
    int width = wide->members > 1 ? wide->runs.planes + 1 + wide->members : 0;
    cm_narrow_result r = new_result(session, wide->given, any->common_count, any->null_space != NULL);
    for (int i = 0; i < r.rows; i++) {
        const cm_influence *fit = fits[wide->member[i]].influence;
        cm_wide at = *wide;
        cm_wide_base(&at, wide->member[i]);
        take_values(&at, fit, i, &r);
        take_factor(session, &at, fit, i, &r);
        if (fit->null_count[wide->family[i]] > 0)
            take_open(session, &at, fit, i, &r);
        if (r.latents > 0)
            take_common(&at, fit, i, &r);
    }
    cm_influence *out = CM_NEW(session, 1, cm_influence);
    *out = (cm_influence){.size = sizeof *out,
                          .rows = r.rows,
                          .planes = r.planes,
                          .a = r.a,
                          .determined = r.determined,
                          .std = r.std,
                          .y = r.y,
                          .base_runs = r.base_runs,
                          .scatter = r.scatter,
                          .scatter_source = r.source,
                          .dof = r.dof,
                          .std_known = r.std_known,
                          .factor = r.factor,
                          .null_space = r.null,
                          .null_count = r.null_count,
                          .column_scale = any->column_scale,
                          .common_count = r.latents,
                          .common_factor = r.common,
                          .radius_factor = r.radius,
                          .residual = r.residual,
                          .base_factor = r.base};
    out->real_count = any->real_count;
    out->own_width = width;
    out->family = wide->family;
    out->own_factor = width ? own_factors(session, wide, fits, width) : NULL;
    out->phase_shift_std = phase_spread(session, wide, any);
    out->common = cm_common_shares(session, wide->given->block, out);
    return out;
}
