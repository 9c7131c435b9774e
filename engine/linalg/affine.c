/* SPDX-License-Identifier: MIT */
/* Problem: the masses x that ties and held planes allow.
 *
 *     T x = t          ties, count × planes
 *     x_j = value_j    held planes
 *
 * written as x = origin + basis·u with u free.
 *
 * Method: held planes go to the right-hand side; of the rest
 *     T D D⁻¹ x = t'
 * is decomposed by singular values, D the typical mass per plane and every
 * tie scaled to unit norm, so that neither units nor the size of a tie's
 * factors sway the rank. The null space, taken back through D and made
 * orthonormal, is the basis; the shortest solution is the origin. A tie whose
 * remainder does not vanish cannot be met.
 */
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

#undef I

typedef struct cm_reduced {
    int ties, free;
    int *plane;           /* free: which plane */
    double *scale;        /* free: typical mass */
    double *row_norm;     /* ties: scale of the equation, 1 where nothing is left of it */
    double complex *t;    /* ties × free, scaled */
    double complex *rest; /* ties: right-hand side, scaled */
    double *size;         /* ties: size of the numbers behind `rest`, scaled: what zero is measured against */
} cm_reduced;

static int list_free(int planes, const unsigned char *held, int *plane)
{
    int count = 0;
    for (int j = 0; j < planes; j++)
        if (!held || !held[j])
            plane[count++] = j;
    return count;
}

/* Right-hand side of tie k after the held planes, and the size of its numbers. */
static void move_held(int planes, int count, int k, const double complex *ties, const double complex *value,
                      const unsigned char *held, const double complex *held_value, cm_reduced *reduced)
{
    double complex rest = value[k];
    double size = cabs(value[k]);
    for (int j = 0; j < planes; j++)
        if (held && held[j]) {
            rest -= ties[k + j * count] * held_value[j];
            size += cabs(ties[k + j * count] * held_value[j]);
        }
    reduced->rest[k] = rest;
    reduced->size[k] = size;
}

static void scale_tie(int k, cm_reduced *reduced)
{
    double norm = 0;
    for (int j = 0; j < reduced->free; j++)
        norm = hypot(norm, cabs(reduced->t[k + j * reduced->ties]));
    reduced->row_norm[k] = norm > 0 ? norm : 1;
    for (int j = 0; j < reduced->free; j++)
        reduced->t[k + j * reduced->ties] /= reduced->row_norm[k];
    reduced->rest[k] /= reduced->row_norm[k];
    reduced->size[k] /= reduced->row_norm[k];
}

static cm_reduced reduce(cm_session *session, int planes, int count, const double complex *ties,
                         const double complex *value, const unsigned char *held,
                         const double complex *held_value, const double *scale)
{
    cm_reduced reduced = {.ties = count};
    reduced.plane = CM_NEW(session, planes, int);
    reduced.free = list_free(planes, held, reduced.plane);
    reduced.scale = CM_NEW(session, planes, double);
    reduced.row_norm = CM_NEW(session, count, double);
    reduced.t = CM_NEW(session, (size_t)count * (size_t)planes, double complex);
    reduced.rest = CM_NEW(session, count, double complex);
    reduced.size = CM_NEW(session, count, double);
    for (int j = 0; j < reduced.free; j++) {
        int plane = reduced.plane[j];
        reduced.scale[j] = scale && scale[plane] > 0 ? scale[plane] : 1;
        for (int k = 0; k < count; k++)
            reduced.t[k + j * count] = ties[k + plane * count] * reduced.scale[j];
    }
    for (int k = 0; k < count; k++) {
        move_held(planes, count, k, ties, value, held, held_value, &reduced);
        scale_tie(k, &reduced);
    }
    return reduced;
}

/* The tie with the largest remainder, if it is more than rounding. */
static int contradiction(const cm_reduced *reduced, const double complex *v)
{
    int worst = -1;
    double most = CM_RANK_TOLERANCE;
    for (int k = 0; k < reduced->ties; k++) {
        double complex remainder = reduced->rest[k];
        double size = reduced->size[k];
        for (int j = 0; j < reduced->free; j++) {
            remainder -= reduced->t[k + j * reduced->ties] * v[j];
            size += cabs(reduced->t[k + j * reduced->ties] * v[j]);
        }
        if (size > 0 && cabs(remainder) > most * size) {
            most = cabs(remainder) / size;
            worst = k;
        }
    }
    return worst;
}

/* Null space of the scaled ties, taken back through the scale and made orthonormal in plain masses. */
static void fill_basis(cm_session *session, int planes, const cm_reduced *reduced, int rank,
                       const double complex *null, cm_affine *set)
{
    int n = reduced->free;
    int k = n - rank;
    double complex *plain = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    double complex *q = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    for (int j = 0; j < k; j++)
        for (int i = 0; i < n; i++)
            plain[i + j * n] = null[i + j * n] * reduced->scale[i];
    cm_qr(session, n, k, plain, n, tau);
    for (int j = 0; j < k; j++)
        q[j + j * n] = 1;
    cm_qr_times_q(session, n, k, k, plain, n, tau, q, n);
    for (int j = 0; j < k; j++)
        for (int i = 0; i < n; i++)
            set->basis[reduced->plane[i] + j * planes] = q[i + j * n];
}

static void free_basis(int planes, const cm_reduced *reduced, cm_affine *set)
{
    for (int j = 0; j < reduced->free; j++)
        set->basis[reduced->plane[j] + j * planes] = 1;
}

cm_affine cm_affine_set(cm_session *session, int planes, int count, const double complex *ties,
                        const double complex *value, const unsigned char *held,
                        const double complex *held_value, const double *scale)
{
    cm_affine set = {.contradiction = -1};
    set.origin = CM_NEW(session, planes, double complex);
    set.basis = CM_NEW(session, (size_t)planes * (size_t)planes, double complex);
    cm_mark mark = cm_mark_of(session);
    cm_reduced reduced = reduce(session, planes, count, ties, value, held, held_value, scale);
    int n = reduced.free;
    double complex *v = CM_NEW(session, n, double complex);
    double complex *null = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    double *ones = CM_NEW(session, n, double);
    int rank = 0;
    if (count > 0 && n > 0) {
        rank = cm_least_squares(session, count, n, 1, reduced.t, count, reduced.rest, count, v, n);
        cm_scaled_rank(session, count, n, reduced.t, count, ones, null);
        for (int j = 0; j < n - rank; j++)
            for (int i = 0; i < n; i++)
                null[i + j * n] /= ones[i];
    }
    set.contradiction = contradiction(&reduced, v);
    for (int j = 0; j < planes; j++)
        if (held && held[j])
            set.origin[j] = held_value[j];
    for (int j = 0; j < n; j++)
        set.origin[reduced.plane[j]] = v[j] * reduced.scale[j];
    set.unknowns = n - rank;
    if (rank == 0)
        free_basis(planes, &reduced, &set);
    else
        fill_basis(session, planes, &reduced, rank, null, &set);
    cm_release_to(session, mark);
    return set;
}
