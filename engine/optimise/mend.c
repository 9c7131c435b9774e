/* SPDX-License-Identifier: MIT */
/* Problem: limits and discs h_i(u) ≤ 1 are exceeded by a share of 1e-11 or so. Find the least change of u that ends it.
 *
 * Method: Gauss-Newton on the exceeded ones. With gradients g_i (D the sizes of the unknowns) the shortest D⁻¹du with
 * Re(g_iᴴ du) = -e_i is du = D² Σ α_i g_i, where α solves the Gram matrix of the D g_i. Those mended once
 * stay in the set, so that mending others does not undo them. A few passes; dependent gradients end it. */
#include "optimise/mend.h"

#include "linalg/dense.h"
#include "linalg/real.h"
#include "optimise/inner.h"
#include "optimise/pairs.h"

#include <math.h>
#include <string.h>

#define PASSES 8
#define CLEARANCE 2e-14 /* what is aimed at below the edge */
#define NEAR_EDGE 1e-13 /* this near to the edge a bound is in the set */

typedef struct cm_mending {
    cm_session *session;
    const cm_presolved *pre;
    int room, count;
    double complex *u;        /* n */
    double *size;             /* n: D */
    double complex *form;     /* n: scratch */
    double complex *gradient; /* room × n of D g_i, row by row */
    double *excess;           /* room */
    double *gram;             /* room × room */
    double *diagonal;         /* room */
} cm_mending;

static cm_mending new_mending(cm_session *session, const cm_presolved *pre)
{
    cm_mending k = {
        .session = session, .pre = pre, .room = pre->row_count + pre->given->pair_count + pre->disc_count};
    k.u = CM_NEW(session, pre->n, double complex);
    k.size = CM_NEW(session, pre->n, double);
    k.form = CM_NEW(session, pre->n, double complex);
    k.gradient = CM_NEW(session, (size_t)k.room * (size_t)pre->n, double complex);
    k.excess = CM_NEW(session, k.room, double);
    k.gram = CM_NEW(session, (size_t)k.room * (size_t)k.room, double);
    k.diagonal = CM_NEW(session, k.room, double);
    return k;
}

/* Modulus of constant + form·u; its gradient is added to `gradient`. */
static double add_modulus(const cm_mending *k, double complex constant, double complex *gradient)
{
    double complex value = constant;
    for (int j = 0; j < k->pre->n; j++)
        value += k->form[j] * k->u[j];
    double modulus = cabs(value);
    for (int j = 0; j < k->pre->n && modulus > 0; j++)
        gradient[j] += conj(k->form[j]) * (value / modulus) * k->size[j];
    return modulus;
}

static double complex *clear_gradient(cm_mending *k)
{
    double complex *gradient = k->gradient + (size_t)k->count * (size_t)k->pre->n;
    memset(gradient, 0, (size_t)k->pre->n * sizeof *gradient);
    return gradient;
}

static void keep_if_near(cm_mending *k, double modulus)
{
    if (modulus - 1 > -NEAR_EDGE)
        k->excess[k->count++] = modulus - 1 + CLEARANCE;
}

static void collect_rows(cm_mending *k)
{
    const cm_problem *p = k->pre->given;
    for (int i = 0; i < k->pre->row_count; i++) {
        int row = k->pre->row[i];
        if (isinf(p->limit[row]))
            continue;
        double complex constant = cm_presolved_row(k->pre, row, 1 / p->limit[row], k->form, 1);
        keep_if_near(k, add_modulus(k, constant, clear_gradient(k)));
    }
}

static void collect_pairs(cm_mending *k)
{
    const cm_problem *p = k->pre->given;
    for (int i = 0; i < p->pair_count; i++) {
        const cm_pair *pair = &p->pairs[i];
        if (!cm_pair_is_judged(pair))
            continue;
        double complex *gradient = clear_gradient(k);
        double sum = 0;
        for (int part = 0; part < cm_pair_part_count(pair); part++) {
            double complex constant = cm_presolved_part(k->pre, pair, part, 1 / pair->limit, k->form, 1);
            sum += add_modulus(k, constant, gradient);
        }
        keep_if_near(k, sum);
    }
}

static void collect_discs(cm_mending *k)
{
    const cm_problem *p = k->pre->given;
    for (int i = 0; i < k->pre->disc_count; i++) {
        const cm_disc *disc = &p->discs[k->pre->disc[i]];
        double complex constant =
            cm_presolved_plane(k->pre, disc->plane, disc->centre, 1 / disc->radius, k->form, 1);
        keep_if_near(k, add_modulus(k, constant, clear_gradient(k)));
    }
}

static void collect(cm_mending *k)
{
    k->count = 0;
    if (cm_limits_bind(k->pre->given)) {
        collect_rows(k);
        collect_pairs(k);
    }
    collect_discs(k);
}

/* One step; false when the gradients depend on each other. */
static bool step(cm_mending *k)
{
    int n = k->pre->n;
    int m = k->count;
    for (int i = 0; i < m; i++)
        k->diagonal[i] = cm_norm2(n, k->gradient + i * n);
    for (int j = 0; j < m; j++)
        for (int i = 0; i <= j; i++) {
            double sum = 0;
            for (int l = 0; l < n; l++)
                sum += creal(conj(k->gradient[l + i * n]) * k->gradient[l + j * n]);
            k->gram[i + j * m] = sum / (k->diagonal[i] * k->diagonal[j]) + (i == j ? 1e-14 : 0);
        }
    if (!cm_real_cholesky(k->session, m, k->gram))
        return false;
    for (int i = 0; i < m; i++)
        k->excess[i] /= k->diagonal[i];
    cm_real_solve(m, k->gram, k->excess);
    for (int i = 0; i < m; i++)
        for (int l = 0; l < n; l++)
            k->u[l] -= k->size[l] * k->gradient[l + i * n] * (k->excess[i] / k->diagonal[i]);
    return true;
}

/* Sizes of the unknowns: what moves all weighted rows by one; where masses are counted, all masses count alike. */
static void find_sizes(cm_mending *k)
{
    cm_objective objective = k->pre->given->objective;
    if (objective == CM_LEAST_MASS || objective == CM_LEAST_CHANGE) {
        for (int j = 0; j < k->pre->n; j++)
            k->size[j] = 1;
        return;
    }
    double *square = k->size;
    for (int i = 0; i < k->pre->row_count; i++) {
        int row = k->pre->row[i];
        cm_presolved_row(k->pre, row, k->pre->given->weight[row], k->form, 1);
        for (int j = 0; j < k->pre->n; j++)
            square[j] += cm_abs2(k->form[j]);
    }
    for (int j = 0; j < k->pre->n; j++)
        k->size[j] = square[j] > 0 ? 1 / sqrt(square[j]) : 1;
}

bool cm_mend(cm_session *session, const cm_presolved *pre, double complex *x)
{
    cm_mending k = new_mending(session, pre);
    cm_unknowns_of(pre, x, k.u);
    find_sizes(&k);
    for (int pass = 0; pass < PASSES; pass++) {
        collect(&k);
        if (k.count == 0 || !step(&k))
            break;
        cm_presolved_masses(pre, k.u, x);
        if (!isfinite(cm_recheck_violation(pre->given, x)))
            return false;
        if (cm_recheck_violation(pre->given, x) <= NEAR_EDGE)
            return true;
    }
    return false;
}
