/* SPDX-License-Identifier: MIT */
/* Problem: take out of the problem what does not need an optimiser.
 *
 *     x_j = held_j                 held planes
 *     x_j = centre                 planes whose disc has radius 0: as a constraint such a disc has no interior
 *     T x = t                      ties
 *
 * leave x = b + z0 + Z u with Z orthonormal and z0 ⟂ Z, so that |z|² = |z0|² + |u|²: the shortest u gives the
 * shortest z. Ties that contradict the held planes are a mistake of the caller; ties that only caps of zero prevent
 * are an infeasible problem.
 */
#include "optimise/presolve.h"

#include "linalg/dense.h"
#include "optimise/pairs.h"

#include <math.h>
#include <string.h>

/* Share of a radius by which rounding may put a plane that stands still outside its disc. */
#define OUTSIDE 1e-12
/* Share of the masses that rounding makes of a difference of zero. */
#define ROUNDING 1e-14

bool cm_limits_bind(const cm_problem *p)
{
    bool masses = p->objective == CM_LEAST_MASS || p->objective == CM_LEAST_CHANGE;
    bool kept =
        p->keeps && (p->kept == CM_LEAST_MASS || p->kept == CM_LEAST_CHANGE || p->kept == CM_CONFIDENCE);
    return p->within_limits || kept || (masses && !p->keeps) || p->objective == CM_CONFIDENCE;
}

static bool is_held(const cm_problem *p, int plane)
{
    return p->held && p->held[plane];
}

static void list_rows(cm_session *session, cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    int *row = CM_NEW(session, p->rows, int);
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0 && (!p->determined || p->determined[i]))
            row[pre->row_count++] = i;
    pre->row = row;
}

static void list_discs(cm_session *session, cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    int *disc = CM_NEW(session, p->disc_count, int);
    for (int d = 0; d < p->disc_count; d++)
        if (!pre->still[p->discs[d].plane] && !isinf(p->discs[d].radius))
            disc[pre->disc_count++] = d;
    pre->disc = disc;
}

/* Typical mass per plane, for the scaling of ties. */
static double *typical_mass(cm_session *session, const cm_problem *p)
{
    double *scale = CM_NEW(session, p->planes, double);
    for (int d = 0; d < p->disc_count; d++) {
        const cm_disc *disc = &p->discs[d];
        if (disc->radius > 0 && !isinf(disc->radius) &&
            (scale[disc->plane] == 0 || disc->radius < scale[disc->plane]))
            scale[disc->plane] = disc->radius;
    }
    for (int j = 0; j < p->planes; j++)
        if (scale[j] == 0)
            scale[j] = p->mass_unit > 0 ? p->mass_unit : 1;
    return scale;
}

static cm_affine allowed(cm_session *session, const cm_problem *p, const unsigned char *still,
                         const double complex *value)
{
    return cm_affine_set(session, p->planes, p->tie_count, p->ties, p->tie_value, still, value,
                         typical_mass(session, p));
}

static void refuse_contradiction(cm_session *session, const cm_problem *p)
{
    int tie = allowed(session, p, p->held, p->held_value).contradiction;
    if (tie < 0)
        return;
    for (int j = 0; j < p->planes; j++)
        if (is_held(p, j) && p->ties[tie + j * p->tie_count] != 0)
            cm_fail(
                session, CM_BAD_INPUT,
                "tie %d cannot be met: it contradicts the other ties or the held planes (plane %d is held)",
                tie + 1, j + 1);
    cm_fail(session, CM_BAD_INPUT, "tie %d cannot be met: it contradicts the other ties", tie + 1);
}

static void mark_shut_out(cm_session *session, cm_presolved *pre, int plane)
{
    unsigned char *shut_out =
        pre->shut_out ? (unsigned char *)pre->shut_out : CM_NEW(session, pre->given->planes, unsigned char);
    shut_out[plane] = 1;
    pre->shut_out = shut_out;
}

/* True when a plane in `disc` cannot stand at `at`. */
static bool is_outside(const cm_problem *p, const cm_disc *disc, double complex at)
{
    return cabs(at - disc->centre) > disc->radius * (1 + OUTSIDE) + p->mass_zero;
}

/* Planes that cannot move, and where they stand. */
static double complex *stand_still(cm_session *session, cm_presolved *pre)
{
    const cm_problem *p = pre->given;
    double complex *value = CM_NEW(session, p->planes, double complex);
    for (int j = 0; j < p->planes; j++)
        if (is_held(p, j)) {
            pre->still[j] = 1;
            value[j] = p->held_value[j];
        }
    for (int d = p->disc_count - 1; d >= 0; d--) {
        int j = p->discs[d].plane;
        if (p->discs[d].radius > 0 || is_held(p, j))
            continue;
        pre->still[j] = 1;
        value[j] = p->discs[d].centre;
    }
    for (int d = 0; d < p->disc_count; d++) {
        int j = p->discs[d].plane;
        if (pre->still[j] && !is_held(p, j) && is_outside(p, &p->discs[d], value[j]))
            mark_shut_out(session, pre, j);
    }
    return value;
}

static void blame_zero_caps(cm_session *session, cm_presolved *pre, int tie)
{
    const cm_problem *p = pre->given;
    for (int j = 0; j < p->planes; j++)
        if (pre->still[j] && !is_held(p, j) && p->ties[tie + j * p->tie_count] != 0)
            mark_shut_out(session, pre, j);
}

static void without_ties(cm_session *session, cm_presolved *pre, const double complex *value)
{
    const cm_problem *p = pre->given;
    int *plane = CM_NEW(session, p->planes, int);
    for (int j = 0; j < p->planes; j++)
        if (!pre->still[j])
            plane[pre->n++] = j;
        else if (cabs(value[j] - p->base[j]) >= p->mass_zero)
            pre->z0[j] = value[j] - p->base[j];
    pre->plane = plane;
}

/* What is rounding next to the masses it comes from is nothing: a base state that meets the ties stays an answer. */
static void drop_rounding(const cm_problem *p, const double complex *origin, double complex *z0)
{
    double most = 0;
    for (int j = 0; j < p->planes; j++)
        most = fmax(most, cabs(origin[j]) + cabs(p->base[j]));
    for (int j = 0; j < p->planes; j++)
        if (cabs(z0[j]) <= ROUNDING * most)
            z0[j] = 0;
}

/* z0 := (I - Z Zᴴ)(origin - base): the shortest of the allowed z. */
static void with_ties(cm_session *session, cm_presolved *pre, const double complex *value)
{
    const cm_problem *p = pre->given;
    cm_affine set = allowed(session, p, pre->still, value);
    if (set.contradiction >= 0)
        blame_zero_caps(session, pre, set.contradiction);
    pre->n = set.unknowns;
    pre->basis = set.basis;
    double complex *along = CM_NEW(session, set.unknowns, double complex);
    for (int j = 0; j < p->planes; j++)
        pre->z0[j] = set.origin[j] - p->base[j];
    cm_matvec(true, p->planes, set.unknowns, 1, set.basis, p->planes, pre->z0, 0, along);
    cm_matvec(false, p->planes, set.unknowns, -1, set.basis, p->planes, along, 1, pre->z0);
    drop_rounding(p, set.origin, pre->z0);
}

cm_presolved cm_presolve(cm_session *session, const cm_problem *p)
{
    cm_presolved pre = {.given = p};
    pre.still = CM_NEW(session, p->planes, unsigned char);
    pre.z0 = CM_NEW(session, p->planes, double complex);
    if (p->tie_count > 0)
        refuse_contradiction(session, p);
    double complex *value = stand_still(session, &pre);
    if (p->tie_count > 0)
        with_ties(session, &pre, value);
    else
        without_ties(session, &pre, value);
    list_rows(session, &pre);
    list_discs(session, &pre);
    return pre;
}

double complex cm_presolved_row(const cm_presolved *pre, int row, double scale, double complex *out,
                                int stride)
{
    const cm_problem *p = pre->given;
    const double complex *a = p->a + row;
    double complex constant = p->y[row];
    for (int j = 0; j < p->planes; j++)
        if (pre->z0[j] != 0)
            constant += a[j * p->rows] * pre->z0[j];
    for (int k = 0; k < pre->n; k++) {
        if (pre->plane) {
            out[(size_t)k * (size_t)stride] = scale * a[pre->plane[k] * p->rows];
            continue;
        }
        double complex sum = 0;
        for (int j = 0; j < p->planes; j++)
            sum += a[j * p->rows] * pre->basis[j + k * p->planes];
        out[(size_t)k * (size_t)stride] = scale * sum;
    }
    return scale * constant;
}

double complex cm_presolved_plane(const cm_presolved *pre, int plane, double complex origin, double scale,
                                  double complex *out, int stride)
{
    const cm_problem *p = pre->given;
    for (int k = 0; k < pre->n; k++)
        out[(size_t)k * (size_t)stride] =
            pre->plane ? (pre->plane[k] == plane ? scale : 0) : scale * pre->basis[plane + k * p->planes];
    return scale * (pre->z0[plane] + p->base[plane] - origin);
}

/* First disc of radius 0 on a plane, or -1. */
static int zero_cap(const cm_problem *p, int plane)
{
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane && !(p->discs[d].radius > 0))
            return d;
    return -1;
}

/* Where a plane that stands still stands, without the rounding of base + z0. */
static double complex still_value(const cm_problem *p, int plane)
{
    return is_held(p, plane) ? p->held_value[plane] : p->discs[zero_cap(p, plane)].centre;
}

void cm_presolved_masses(const cm_presolved *pre, const double complex *u, double complex *x)
{
    const cm_problem *p = pre->given;
    for (int j = 0; j < p->planes; j++)
        x[j] = pre->z0[j];
    if (pre->plane)
        for (int k = 0; k < pre->n; k++)
            x[pre->plane[k]] += u[k];
    else
        cm_matvec(false, p->planes, pre->n, 1, pre->basis, p->planes, u, 1, x);
    for (int j = 0; j < p->planes; j++)
        x[j] = pre->still[j] ? still_value(p, j) : p->base[j] + x[j];
}

/* Gradient of everything in the certificate but ties, on every plane, added to `gradient`. */
static void add_gradient(const cm_presolved *pre, const cm_certificate *c, double complex *gradient)
{
    const cm_problem *p = pre->given;
    int m = p->rows;
    int n = p->planes + 1;
    for (int j = 0; j < p->planes; j++) {
        double complex sum = c->mass[j];
        for (int i = 0; i < p->rows; i++)
            sum += conj(p->a[i + j * m]) * (c->row_objective[i] + c->row_limit[i]);
        for (int k = 0; k < p->pair_count; k++) {
            const cm_pair *pair = &p->pairs[k];
            for (int part = 0; part < cm_pair_part_count(pair); part++)
                sum += conj(cm_pair_part_at(pair, part, p->a + j * m)) *
                       (c->pair_objective[2 * k + part] + c->pair_limit[2 * k + part]);
            for (int l = 0; p->spread && pair->spread && l < cm_pair_part_count(pair) * n; l++)
                sum += conj(pair->spread[j + 1 + n * l]) * c->spread_pair[l + 2 * k * n];
        }
        for (int i = 0; p->spread && i < p->rows; i++)
            for (int k = 0; k < n; k++)
                sum += conj(p->spread[j + 1 + n * (k + n * i)]) *
                       (c->spread_objective[k + n * i] + c->spread_limit[k + n * i]);
        gradient[j] += sum;
    }
    for (int d = 0; d < p->disc_count; d++)
        gradient[p->discs[d].plane] += c->disc[d];
    if (c->kept)
        add_gradient(pre, c->kept, gradient);
}

void cm_presolved_gradient(const cm_presolved *pre, const cm_certificate *c, double complex *gradient)
{
    const cm_problem *p = pre->given;
    memset(gradient, 0, (size_t)p->planes * sizeof *gradient);
    add_gradient(pre, c, gradient);
    for (int j = 0; j < p->planes; j++)
        for (int k = 0; k < p->tie_count; k++)
            gradient[j] += conj(p->ties[k + j * p->tie_count]) * c->tie[k];
}

/* A cap of zero pays for the gradient of its plane: its radius is 0. */
static void pay_by_zero_caps(const cm_presolved *pre, cm_certificate *c, const double complex *gradient)
{
    const cm_problem *p = pre->given;
    for (int j = 0; j < p->planes; j++) {
        if (!pre->still[j] || is_held(p, j))
            continue;
        double complex paid = -gradient[j];
        for (int k = 0; k < p->tie_count; k++)
            paid -= conj(p->ties[k + j * p->tie_count]) * c->tie[k];
        c->disc[zero_cap(p, j)] = paid;
    }
}

/* Multipliers with Tᴴ l = -gradient on the planes that can move. */
static void solve_ties(cm_session *session, const cm_presolved *pre, const double complex *gradient,
                       double complex *tie)
{
    const cm_problem *p = pre->given;
    double complex *columns = CM_NEW(session, (size_t)p->planes * (size_t)p->tie_count, double complex);
    double complex *wanted = CM_NEW(session, p->planes, double complex);
    for (int j = 0; j < p->planes; j++) {
        if (pre->still[j])
            continue;
        wanted[j] = -gradient[j];
        for (int k = 0; k < p->tie_count; k++)
            columns[j + k * p->planes] = conj(p->ties[k + j * p->tie_count]);
    }
    cm_least_squares(session, p->planes, p->tie_count, 1, columns, p->planes, wanted, p->planes, tie,
                     p->tie_count);
}

void cm_presolved_ties(cm_session *session, const cm_presolved *pre, cm_certificate *c)
{
    const cm_problem *p = pre->given;
    cm_mark mark = cm_mark_of(session);
    double complex *gradient = CM_NEW(session, p->planes, double complex);
    add_gradient(pre, c, gradient);
    if (p->tie_count > 0)
        solve_ties(session, pre, gradient, c->tie);
    pay_by_zero_caps(pre, c, gradient);
    cm_release_to(session, mark);
}

/* ---- caps of zero that contradict each other or a tie ---- */

/* A disc that the centre of a disc of radius 0 is not in: one pulls one way, one the other. */
static bool contradict_discs(const cm_problem *p, cm_certificate *c)
{
    for (int d = 0; d < p->disc_count; d++) {
        int first = zero_cap(p, p->discs[d].plane);
        if (first < 0 || is_held(p, p->discs[d].plane) ||
            !is_outside(p, &p->discs[d], p->discs[first].centre))
            continue;
        double complex apart = p->discs[d].centre - p->discs[first].centre;
        c->disc[first] = apart / cabs(apart);
        c->disc[d] = -c->disc[first];
        return true;
    }
    return false;
}

/* What the ties ask of the planes that can move: t - T x of the others. */
static void wanted_of_ties(const cm_presolved *pre, double complex *wanted)
{
    const cm_problem *p = pre->given;
    for (int k = 0; k < p->tie_count; k++) {
        wanted[k] = p->tie_value[k];
        for (int j = 0; j < p->planes; j++)
            if (pre->still[j])
                wanted[k] -= p->ties[k + j * p->tie_count] * still_value(p, j);
    }
}

/* Multipliers perpendicular to everything that moving planes can do to the ties: minus what no masses can meet. */
static void contradict_ties(cm_session *session, const cm_presolved *pre, double complex *tie)
{
    const cm_problem *p = pre->given;
    int m = p->tie_count;
    double complex *columns = CM_NEW(session, (size_t)m * (size_t)p->planes, double complex);
    double complex *wanted = CM_NEW(session, m, double complex);
    double complex *x = CM_NEW(session, p->planes, double complex);
    wanted_of_ties(pre, wanted);
    for (int j = 0; j < p->planes; j++)
        for (int k = 0; k < m; k++)
            columns[k + j * m] = pre->still[j] ? 0 : p->ties[k + j * m];
    cm_least_squares(session, m, p->planes, 1, columns, m, wanted, m, x, p->planes);
    cm_matvec(false, m, p->planes, -1, columns, m, x, 1, wanted);
    double size = cm_norm2(m, wanted);
    for (int k = 0; k < m; k++)
        tie[k] = size > 0 ? -wanted[k] / size : 0;
}

void cm_presolved_contradiction(cm_session *session, const cm_presolved *pre, cm_certificate *c)
{
    const cm_problem *p = pre->given;
    c->infeasibility = true;
    if (contradict_discs(p, c))
        return;
    double complex *gradient = CM_NEW(session, p->planes, double complex);
    contradict_ties(session, pre, c->tie);
    pay_by_zero_caps(pre, c, gradient);
}
