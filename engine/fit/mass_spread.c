/* SPDX-License-Identifier: MIT */
/* Problem: how do the masses of plain least squares move when readings and coefficients do?
 *
 *     min |W (y + A z)|,  z = z0 + Z u,   B = W A Z,   r = y + A z
 *
 *     dz = -Z B⁺ W (dy + dA z) - Z (BᴴB)⁻¹ Zᴴ dAᴴ W² r                                (first order; both terms count)
 *
 * Row i's errors are F ξ with ξ standard complex normal. With P = Z B⁺ W and M = Z (BᴴB)⁻¹ Zᴴ the mass on plane j moves by
 *
 *     - sum_i P_ji (1, zᵀ) F ξ - sum_i W_i² r_i (M conj(F_a ξ))_j,          F_a: lines of the coefficients
 *
 * so that its variance is a sum over rows, and so is E dx², which tells size from angle. What rows share through priors
 * is added as sums over rows of common_factor (and less of base_factor). BᴴB is never formed: M = X Xᴴ, X = Z R⁻¹.
 * There is no closed form where caps or limits hold the answer, for other objectives, or when planes are dependent.
 */
#include "fit/spread.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/counts.h"

#include <math.h>
#include <string.h>

#undef I

typedef struct cm_pull {
    int counted;
    int *row;               /* counted rows */
    double complex *p;      /* planes × counted */
    double complex *m_conj; /* planes × planes: conj(M) */
    double *variance;       /* planes: E|dx|² */
    double complex *twist;  /* planes: E dx² */
    double *pooled;         /* planes × pools: part of the variance that rests on an estimated scatter */
} cm_pull;

static const double ON_LIMIT = 1 - 1e-6;

static bool limits_hold(const cm_spread_task *task)
{
    const cm_problem *problem = task->problem;
    for (int i = 0; problem->within_limits && i < task->rows; i++)
        if (problem->weight[i] > 0 && cabs(task->answer->r[i]) >= ON_LIMIT * problem->limit[i])
            return true;
    for (int k = 0; problem->within_limits && k < problem->pair_count; k++)
        if (cm_pair_is_judged(&problem->pairs[k]) &&
            cm_pair_size_at(&problem->pairs[k], task->answer->r) >= ON_LIMIT * problem->pairs[k].limit)
            return true;
    return false;
}

static bool closed_form(const cm_spread_task *task)
{
    if (!task->line || task->problem->objective != CM_LEAST_SQUARES || task->problem->then)
        return false;
    for (int j = 0; j < task->planes; j++)
        if (task->answer->at_cap && task->answer->at_cap[j])
            return false;
    return task->answer->rank == task->answer->unknowns && !limits_hold(task);
}

static void list_counted(cm_session *session, const cm_spread_task *task, cm_pull *pull)
{
    pull->row = CM_NEW(session, task->rows, int);
    for (int i = 0; i < task->rows; i++)
        if (task->problem->weight[i] > 0)
            pull->row[pull->counted++] = i;
}

static double complex *weighted(cm_session *session, const cm_spread_task *task, const cm_pull *pull)
{
    double complex *a = CM_NEW(session, (size_t)pull->counted * (size_t)task->planes, double complex);
    for (int j = 0; j < task->planes; j++)
        for (int k = 0; k < pull->counted; k++) {
            int row = pull->row[k];
            a[k + j * pull->counted] = task->problem->weight[row] * task->problem->a[row + j * task->rows];
        }
    return a;
}

/* P and conj(M) from one QR of B. */
static void factor(cm_session *session, const cm_spread_task *task, const cm_affine *allowed, cm_pull *pull)
{
    int m = pull->counted, n = allowed->unknowns, planes = task->planes;
    size_t square = (size_t)planes * (size_t)planes;
    const double complex *a = weighted(session, task, pull);
    double complex *b = CM_NEW(session, (size_t)m * (size_t)n, double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    double complex *q = CM_NEW(session, (size_t)m * (size_t)n, double complex);
    double complex *inverse = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    double complex *x = CM_NEW(session, (size_t)planes * (size_t)n, double complex);
    cm_multiply(false, false, m, n, planes, 1, a, m, allowed->basis, planes, 0, b, m);
    cm_qr(session, m, n, b, m, tau);
    for (int k = 0; k < n; k++)
        q[k + k * m] = inverse[k + k * n] = 1;
    cm_qr_times_q(session, m, n, n, b, m, tau, q, m);
    cm_tri_solve(n, n, b, m, false, inverse, n);
    cm_multiply(false, false, planes, n, n, 1, allowed->basis, planes, inverse, n, 0, x, planes);
    pull->p = CM_NEW(session, (size_t)planes * (size_t)m, double complex);
    pull->m_conj = CM_NEW(session, square, double complex);
    cm_multiply(false, true, planes, m, n, 1, x, planes, q, m, 0, pull->p, planes);
    for (int k = 0; k < m; k++)
        for (int j = 0; j < planes; j++)
            pull->p[j + k * planes] *= task->problem->weight[pull->row[k]];
    cm_multiply(false, true, planes, planes, n, 1, x, planes, x, planes, 0, pull->m_conj, planes);
    for (size_t k = 0; k < square; k++)
        pull->m_conj[k] = conj(pull->m_conj[k]);
}

/* W² r of a row: how strongly errors of its coefficients turn the answer. */
static double complex turning(const cm_spread_task *task, int row)
{
    double weight = task->problem->weight[row];
    return weight * weight * task->answer->r[row];
}

/* Own errors of counted row k. `turned`: planes × lines scratch, conj(M) F_a. */
static void add_row(const cm_spread_task *task, int k, double complex *turned, cm_pull *pull)
{
    int planes = task->planes, lines = task->lines, row = pull->row[k];
    const double complex *error = task->error + (size_t)row * (size_t)lines;
    double own = cm_norm2(lines, error);
    double complex turn = turning(task, row);
    double *pooled = isfinite(cm_spread_dof(task, row)) ? pull->pooled + task->pool[row] * planes : NULL;
    cm_multiply(false, false, planes, lines, planes, 1, pull->m_conj, planes, cm_factor_of(task, row) + 1,
                lines, 0, turned, planes);
    for (int j = 0; j < planes; j++) {
        double complex p = pull->p[j + k * planes], cross = 0;
        double square = 0;
        for (int q = 0; q < lines; q++) {
            double complex t = turned[j + q * planes];
            square += cm_abs2(t);
            cross += error[q] * conj(t);
        }
        double variance = cm_abs2(p) * own * own + cm_abs2(turn) * square;
        pull->variance[j] += variance;
        pull->twist[j] += 2 * p * turn * cross;
        if (pooled)
            pooled[j] += variance;
    }
}

/* Errors that rows share. */
typedef struct cm_shared {
    const double complex *factor;
    int width;
    double sign; /* +1: adds, -1: takes away */
    int real;    /* of them, the last ones: real numbers */
    int family;  /* of the rows that share them; -1: all rows do */
} cm_shared;

static bool takes_part(const cm_spread_task *task, const cm_shared *s, int row)
{
    return s->family < 0 || task->influence->family[row] == s->family;
}

/* The part of the variance that a family's rows make together rests on the scatter of their pool. */
static void pool_family(const cm_spread_task *task, const cm_shared *s, cm_pull *pull, const double *before)
{
    for (int i = 0; i < task->rows; i++)
        if (takes_part(task, s, i) && isfinite(cm_spread_dof(task, i))) {
            for (int j = 0; j < task->planes; j++)
                pull->pooled[j + task->pool[i] * task->planes] += pull->variance[j] - before[j];
            return;
        }
}

/* Sums over rows less what add_row has already counted of them. */
static void add_shared(cm_session *session, const cm_spread_task *task, const cm_shared *s, cm_pull *pull)
{
    cm_mark mark = cm_mark_of(session);
    const double complex *factor = s->factor;
    double sign = s->sign;
    int planes = task->planes, lines = task->lines, n = s->width;
    size_t cells = (size_t)planes * (size_t)n;
    double complex *shared = CM_NEW(session, n, double complex);
    double *before = CM_NEW(session, planes, double);
    memcpy(before, pull->variance, (size_t)planes * sizeof *before);
    double complex *turned = CM_NEW(session, cells, double complex);
    double complex *moved = CM_NEW(session, cells, double complex);
    double complex *twisted = CM_NEW(session, cells, double complex);
    for (int k = 0; k < pull->counted; k++) {
        int row = pull->row[k];
        if (!takes_part(task, s, row))
            continue;
        double complex turn = turning(task, row);
        const double complex *block = factor + (size_t)row * (size_t)lines * (size_t)n;
        cm_shared_error(task, factor, n, row, shared);
        cm_multiply(false, false, planes, n, planes, 1, pull->m_conj, planes, block + 1, lines, 0, turned,
                    planes);
        for (int l = 0; l < n; l++)
            for (int j = 0; j < planes; j++) {
                double complex one = pull->p[j + k * planes] * shared[l];
                double complex two = turn * conj(turned[j + l * planes]);
                moved[j + l * planes] += one;
                twisted[j + l * planes] += two;
                pull->variance[j] -= sign * (cm_abs2(one) + cm_abs2(two));
                pull->twist[j] -= sign * 2 * one * two;
            }
    }
    for (int l = 0; l < n; l++)
        for (int j = 0; j < planes; j++) {
            double complex one = moved[j + l * planes], two = twisted[j + l * planes];
            pull->variance[j] += sign * (cm_abs2(one) + cm_abs2(two));
            pull->twist[j] += sign * 2 * one * two;
            if (l < n - s->real)
                continue;
            pull->variance[j] += sign * 2 * creal(one * conj(two));
            pull->twist[j] += sign * (one * one + two * two);
        }
    if (s->family >= 0)
        pool_family(task, s, pull, before);
    cm_release_to(session, mark);
}

static void add_all_shared(cm_session *session, const cm_spread_task *task, cm_pull *pull)
{
    const cm_influence *f = task->influence;
    cm_shared shared = {f->common_factor, f->common_count, 1, f->real_count, -1};
    if (shared.width > 0)
        add_shared(session, task, &shared, pull);
    shared.factor = f->base_factor;
    shared.sign = -1;
    if (shared.width > 0)
        add_shared(session, task, &shared, pull);
    shared = (cm_shared){f->own_factor, f->own_width, 1, 0, 0};
    for (; shared.width > 0 && shared.family < task->rows; shared.family++)
        add_shared(session, task, &shared, pull);
}

/* Effective degrees of freedom after Welch and Satterthwaite: of each pool its part of the variance. */
static double effective_dof(const cm_spread_task *task, const cm_pull *pull, int plane)
{
    double sum = 0;
    for (int p = 0; p < task->pools; p++) {
        double part = pull->pooled[plane + p * task->planes];
        double dof = INFINITY;
        for (int i = 0; i < task->rows; i++)
            if (task->pool[i] == p && isfinite(cm_spread_dof(task, i)))
                dof = cm_spread_dof(task, i);
        sum += part * part / dof;
    }
    return sum > 0 ? pull->variance[plane] * pull->variance[plane] / sum : INFINITY;
}

static void put_plane(const cm_spread_task *task, const cm_pull *pull, int j, cm_mass_spread *out)
{
    double complex x = task->answer->x[j];
    double variance = fmax(0, pull->variance[j]), size = cabs(x);
    out->std[j] = sqrt(variance);
    out->factor[j] = cm_radius_factor(0.1, effective_dof(task, pull, j));
    out->size[j] = out->angle[j] = NAN;
    if (size <= task->problem->mass_zero)
        return;
    double along = creal(pull->twist[j] * conj(x) / size * conj(x) / size);
    out->size[j] = sqrt(fmax(0, 0.5 * (variance + along)));
    out->angle[j] = sqrt(fmax(0, 0.5 * (variance - along))) / size;
}

static cm_mass_spread not_available(cm_session *session, const cm_spread_task *task)
{
    int planes = task->planes;
    cm_mass_spread out = {CM_NEW(session, planes, double), CM_NEW(session, planes, double),
                          CM_NEW(session, planes, double), CM_NEW(session, planes, double)};
    for (int j = 0; j < planes; j++) {
        bool held = task->line && task->problem->held && task->problem->held[j];
        out.std[j] = out.size[j] = out.angle[j] = held ? 0 : NAN;
        out.factor[j] = NAN;
    }
    return out;
}

cm_mass_spread cm_spread_masses(cm_session *session, const cm_spread_task *task)
{
    cm_mass_spread out = not_available(session, task);
    if (!closed_form(task))
        return out;
    const cm_problem *problem = task->problem;
    size_t planes = (size_t)task->planes;
    cm_mark mark = cm_mark_of(session);
    cm_affine allowed =
        cm_affine_set(session, task->planes, problem->tie_count, problem->ties, problem->tie_value,
                      problem->held, problem->held_value, task->influence->column_scale + 1);
    cm_pull pull = {.variance = CM_NEW(session, planes, double),
                    .twist = CM_NEW(session, planes, double complex),
                    .pooled = CM_NEW(session, planes * (size_t)task->pools, double)};
    list_counted(session, task, &pull);
    if (allowed.unknowns <= pull.counted) {
        factor(session, task, &allowed, &pull);
        double complex *turned = CM_NEW(session, planes * (size_t)task->lines, double complex);
        for (int k = 0; k < pull.counted; k++)
            add_row(task, k, turned, &pull);
        add_all_shared(session, task, &pull);
        for (int j = 0; j < task->planes; j++)
            if (!problem->held || !problem->held[j])
                put_plane(task, &pull, j, &out);
    }
    cm_release_to(session, mark);
    return out;
}
