/* SPDX-License-Identifier: MIT */
/* Problem: [B D⁻¹ | c] = Q [R | d], B complex m × n, m ≥ n, D its column norms.
 *
 * Method: Householder reflections (Golub & Van Loan, Matrix Computations, section 5.1, from memory). For the rest a of
 * column k from row k on
 *     v = a + (a_k/|a_k|) |a| e_k,   tau = 2/|v|² = 1/(|a| (|a| + |a_k|)),   H = I - tau v vᴴ,
 *     H a = -(a_k/|a_k|) |a| e_k,    Q = H_0 H_1 … H_{n-1}.
 * v_k replaces a_k, R_kk is kept apart.
 *
 * Real and imaginary parts are stored apart, so that the inner loops are plain sums of products. */
#include "linalg/triangle.h"

#include <math.h>

#undef I

/* By this much the lower bound of the smallest singular value must clear the rank tolerance. */
static const double SAFE_FACTOR = 10;

cm_triangle cm_triangle_new(cm_session *session, int m, int n, int extra)
{
    cm_triangle t = {.m = m, .n = n, .columns = n + extra};
    size_t size = (size_t)m * (size_t)(n + extra);
    t.re = CM_NEW(session, size, double);
    t.im = CM_NEW(session, size, double);
    t.scale = CM_NEW(session, n, double);
    t.tau = CM_NEW(session, n, double);
    t.diag_re = CM_NEW(session, n, double);
    t.diag_im = CM_NEW(session, n, double);
    return t;
}

void cm_triangle_put(cm_triangle *t, int column, const double complex *values)
{
    double *restrict re = t->re + (size_t)column * (size_t)t->m;
    double *restrict im = t->im + (size_t)column * (size_t)t->m;
    for (int i = 0; i < t->m; i++) {
        re[i] = creal(values[i]);
        im[i] = cimag(values[i]);
    }
}

static double sum_of_squares(int count, const double *restrict re, const double *restrict im)
{
    double sum = 0;
#pragma omp simd reduction(+ : sum)
    for (int i = 0; i < count; i++)
        sum += re[i] * re[i] + im[i] * im[i];
    return sum;
}

/* Norm of a column that may be huge or tiny. */
static double safe_norm(int count, const double *re, const double *im)
{
    double largest = 0;
    for (int i = 0; i < count; i++)
        largest = fmax(largest, fmax(fabs(re[i]), fabs(im[i])));
    if (!(largest > 0) || isinf(largest))
        return largest;
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += (re[i] / largest) * (re[i] / largest) + (im[i] / largest) * (im[i] / largest);
    return largest * sqrt(sum);
}

static void scale_column(cm_triangle *t, int k)
{
    double *restrict re = t->re + (size_t)k * (size_t)t->m;
    double *restrict im = t->im + (size_t)k * (size_t)t->m;
    double square = sum_of_squares(t->m, re, im);
    double norm = square > 1e-200 && square < 1e200 ? sqrt(square) : safe_norm(t->m, re, im);
    t->scale[k] = norm > 0 ? norm : 1;
    for (int i = 0; i < t->m; i++) {
        re[i] /= t->scale[k];
        im[i] /= t->scale[k];
    }
}

/* c := (I - tau v vᴴ) c. */
static void reflect(int count, double tau, const double *restrict vr, const double *restrict vi,
                    double *restrict cr, double *restrict ci)
{
    double sr = 0;
    double si = 0;
#pragma omp simd reduction(+ : sr, si)
    for (int i = 0; i < count; i++) {
        sr += vr[i] * cr[i] + vi[i] * ci[i];
        si += vr[i] * ci[i] - vi[i] * cr[i];
    }
    sr *= tau;
    si *= tau;
#pragma omp simd
    for (int i = 0; i < count; i++) {
        cr[i] -= sr * vr[i] - si * vi[i];
        ci[i] -= sr * vi[i] + si * vr[i];
    }
}

/* Reflector k from column k; its diagonal element of R. */
static void make_reflector(cm_triangle *t, int k)
{
    double *re = t->re + (size_t)k * (size_t)t->m + k;
    double *im = t->im + (size_t)k * (size_t)t->m + k;
    double norm = sqrt(sum_of_squares(t->m - k, re, im));
    double head = sqrt(re[0] * re[0] + im[0] * im[0]);
    double phase_re = head > 0 ? re[0] / head : 1;
    double phase_im = head > 0 ? im[0] / head : 0;
    t->tau[k] = norm > 0 ? 1 / (norm * (norm + head)) : 0;
    t->diag_re[k] = -phase_re * norm;
    t->diag_im[k] = -phase_im * norm;
    re[0] += phase_re * norm;
    im[0] += phase_im * norm;
}

static void apply_reflector(const cm_triangle *t, int k, int column)
{
    size_t v = (size_t)k * (size_t)t->m + (size_t)k;
    size_t c = (size_t)column * (size_t)t->m + (size_t)k;
    reflect(t->m - k, t->tau[k], t->re + v, t->im + v, t->re + c, t->im + c);
}

void cm_triangle_factor(cm_triangle *t)
{
    for (int k = 0; k < t->n; k++)
        scale_column(t, k);
    for (int k = 0; k < t->n; k++) {
        make_reflector(t, k);
        for (int j = k + 1; j < t->columns; j++)
            apply_reflector(t, k, j);
    }
}

/* Element of R (columns of unit norm) or d. */
static double complex element(const cm_triangle *t, int i, int j)
{
    if (i == j)
        return cm_pack(t->diag_re[i], t->diag_im[i]);
    size_t at = (size_t)j * (size_t)t->m + (size_t)i;
    return cm_pack(t->re[at], t->im[at]);
}

/* (xr, xi) := R⁻¹ x on the leading `size` unknowns. */
static void back_substitute(const cm_triangle *t, int size, double *restrict xr, double *restrict xi)
{
    for (int k = size - 1; k >= 0; k--) {
        const double *restrict re = t->re + (size_t)k * (size_t)t->m;
        const double *restrict im = t->im + (size_t)k * (size_t)t->m;
        double square = t->diag_re[k] * t->diag_re[k] + t->diag_im[k] * t->diag_im[k];
        double qr = (xr[k] * t->diag_re[k] + xi[k] * t->diag_im[k]) / square;
        double qi = (xi[k] * t->diag_re[k] - xr[k] * t->diag_im[k]) / square;
        xr[k] = qr;
        xi[k] = qi;
#pragma omp simd
        for (int i = 0; i < k; i++) {
            xr[i] -= re[i] * qr - im[i] * qi;
            xi[i] -= re[i] * qi + im[i] * qr;
        }
    }
}

double cm_triangle_least_singular(cm_session *session, const cm_triangle *t)
{
    for (int k = 0; k < t->n; k++)
        if (!(hypot(t->diag_re[k], t->diag_im[k]) > 1e-150))
            return 0;
    cm_mark mark = cm_mark_of(session);
    double *column = CM_NEW(session, 2 * t->n, double);
    double sum = 0;
    for (int k = 0; k < t->n; k++) {
        for (int i = 0; i < 2 * t->n; i++)
            column[i] = 0;
        column[k] = 1;
        back_substitute(t, k + 1, column, column + t->n);
        sum += sum_of_squares(k + 1, column, column + t->n);
    }
    cm_release_to(session, mark);
    return t->n > 0 ? 1 / sqrt(sum) : 1;
}

bool cm_triangle_is_full(cm_session *session, const cm_triangle *t)
{
    return cm_triangle_least_singular(session, t) >= SAFE_FACTOR * CM_RANK_TOLERANCE * sqrt(t->n);
}

bool cm_triangle_is_full_unscaled(cm_session *session, const cm_triangle *t)
{
    double least = INFINITY, squares = 0;
    for (int k = 0; k < t->n; k++) {
        least = fmin(least, t->scale[k]);
        squares += t->scale[k] * t->scale[k];
    }
    return cm_triangle_least_singular(session, t) * least >= SAFE_FACTOR * CM_RANK_TOLERANCE * sqrt(squares);
}

void cm_triangle_solve(const cm_triangle *t, int extra, double complex *u)
{
    size_t d = (size_t)(t->n + extra) * (size_t)t->m;
    for (int k = t->n - 1; k >= 0; k--) {
        double complex sum = cm_pack(t->re[d + (size_t)k], t->im[d + (size_t)k]);
        for (int j = k + 1; j < t->n; j++)
            sum -= cm_times(element(t, k, j), u[j]);
        u[k] = cm_times(sum, conj(element(t, k, k))) / cm_abs2(element(t, k, k));
    }
    for (int k = 0; k < t->n; k++)
        u[k] /= t->scale[k];
}

void cm_triangle_residual(cm_triangle *t, int extra, double complex *r)
{
    int column = t->n + extra;
    double *re = t->re + (size_t)column * (size_t)t->m;
    double *im = t->im + (size_t)column * (size_t)t->m;
    for (int k = 0; k < t->n; k++)
        re[k] = im[k] = 0;
    for (int k = t->n - 1; k >= 0; k--)
        apply_reflector(t, k, column);
    for (int i = 0; i < t->m; i++)
        r[i] = cm_pack(re[i], im[i]);
}

void cm_triangle_complement(cm_triangle *t, double complex *q)
{
    for (int e = 0; e < t->m - t->n; e++) {
        double *re = t->re + (size_t)(t->n + e) * (size_t)t->m;
        double *im = t->im + (size_t)(t->n + e) * (size_t)t->m;
        for (int i = 0; i < t->m; i++)
            re[i] = im[i] = 0;
        re[t->n + e] = 1;
        cm_triangle_residual(t, e, q + (size_t)e * (size_t)t->m);
    }
}
