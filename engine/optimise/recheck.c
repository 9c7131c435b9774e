/* SPDX-License-Identifier: MIT */
/* Problem: evaluate an answer and a dual point without trusting whoever made them.
 *
 * For any x that meets the constraints, and any phasors
 *     v_i rows, p rows of pairs, q_j planes, w_d discs, s spreads, l_k ties,
 * each split into a part for the objective and a part for limits,
 *
 *     objective(x) ≥ Re Σ conj(v_i) r_i(x) + … (objective parts; their dual norm is at most 1)
 *     0 ≥ Re conj(v_i) r_i(x) - limit_i |v_i|          (limit parts)
 *     0 ≥ Re conj(w_d) (x_j - c_d) - radius_d |w_d|    (discs)
 *     0 = Re conj(l_k) (T_k x - t_k)                   (ties)
 *
 * The sum of the right-hand sides is affine in x: constant + Re Σ conj(g_j)(x_j - b_j). When g vanishes on every plane
 * that can move, the constant is a lower bound on the objective; what is left of g by rounding is charged. Without an
 * objective part, a positive constant is a contradiction: no x meets the constraints.
 *
 * Source: Lagrangian duality of second-order cone programmes (Boyd & Vandenberghe 2004, chapter 5, from memory).
 * No code is shared with the solvers: plain loops over the problem as it was given.
 */
#include "optimise/certificate.h"

#include <float.h>
#include <math.h>

/* Share of its terms up to which a gradient counts as rounded zero on a plane without a disc. */
#define FORGIVEN 1e-9

/* Share by which a kept objective may be exceeded: nothing is damaged by the last digits there. */
#define KEPT_EXCESS 1e-9

static double most(double a, double b)
{
    return a > b ? a : b;
}

static double real_product(double complex dual, double complex primal)
{
    return creal(dual) * creal(primal) + cimag(dual) * cimag(primal);
}

/* conj(a)·dual without the compiler's NaN checks. */
static double complex adjoint_product(double complex a, double complex dual)
{
    double re = creal(a) * creal(dual) + cimag(a) * cimag(dual);
    double im = creal(a) * cimag(dual) - cimag(a) * creal(dual);
    return re + im * _Complex_I;
}

static bool is_told(const cm_problem *p, int row)
{
    return !p->determined || p->determined[row];
}

static bool is_counted(const cm_problem *p, int row)
{
    return p->weight[row] > 0 && is_told(p, row);
}

static bool is_held(const cm_problem *p, int plane)
{
    return p->held && p->held[plane];
}

static bool is_about_masses(const cm_problem *p)
{
    return p->objective == CM_LEAST_MASS || p->objective == CM_LEAST_CHANGE;
}

/* The limits of objectives about masses belong to them as the first objective only. */
static bool limits_bind(const cm_problem *p)
{
    bool kept =
        p->keeps && (p->kept == CM_LEAST_MASS || p->kept == CM_LEAST_CHANGE || p->kept == CM_CONFIDENCE);
    return p->within_limits || kept || (is_about_masses(p) && !p->keeps) || p->objective == CM_CONFIDENCE;
}

/* The problem whose objective is the one that is kept. */
static cm_problem kept_problem(const cm_problem *p)
{
    cm_problem first = *p;
    first.objective = p->kept;
    first.keeps = 0;
    return first;
}

cm_certificate cm_certificate_new(cm_session *session, const cm_problem *p)
{
    cm_certificate c = {0};
    size_t spread = p->spread ? (size_t)p->rows * (size_t)(p->planes + 1) : 0;
    c.row_objective = CM_NEW(session, p->rows, double complex);
    c.row_limit = CM_NEW(session, p->rows, double complex);
    c.pair_objective = CM_NEW(session, 2 * p->pair_count, double complex);
    c.pair_limit = CM_NEW(session, 2 * p->pair_count, double complex);
    c.mass = CM_NEW(session, p->planes, double complex);
    c.spread_objective = CM_NEW(session, spread, double complex);
    c.spread_limit = CM_NEW(session, spread, double complex);
    c.spread_pair = CM_NEW(session, p->spread ? 2 * p->pair_count * (p->planes + 1) : 0, double complex);
    c.disc = CM_NEW(session, p->disc_count, double complex);
    c.tie = CM_NEW(session, p->tie_count, double complex);
    if (p->keeps && p->kept != CM_CONFIDENCE) {
        const cm_problem first = kept_problem(p);
        c.kept = CM_NEW(session, 1, cm_certificate);
        *c.kept = cm_certificate_new(session, &first);
    }
    return c;
}

/* ---- the primal side ---- */

static double complex reading(const cm_problem *p, int row, const double complex *x)
{
    double re = creal(p->y[row]);
    double im = cimag(p->y[row]);
    for (int j = 0; j < p->planes; j++) {
        const double complex a = p->a[row + j * p->rows];
        const double zr = creal(x[j]) - creal(p->base[j]);
        const double zi = cimag(x[j]) - cimag(p->base[j]);
        re += creal(a) * zr - cimag(a) * zi;
        im += creal(a) * zi + cimag(a) * zr;
    }
    return re + im * _Complex_I;
}

void cm_recheck_readings(const cm_problem *p, const double complex *x, double complex *r)
{
    for (int i = 0; i < p->rows; i++)
        r[i] = is_told(p, i) ? reading(p, i, x) : 0;
}

/* Part k of a pair is mix[2k] r_f + mix[2k+1] r_b; without `parts` it is row k itself. */
static double complex mix_of(const cm_pair *pair, int part, int which)
{
    if (pair->parts == 0)
        return part == which ? 1 : 0;
    return pair->mix[2 * part + which];
}

static int parts_of(const cm_pair *pair)
{
    if (pair->parts > 0)
        return pair->parts;
    return pair->backward < 0 ? 1 : 2;
}

static double pair_size(const cm_problem *p, const cm_pair *pair, const double complex *x)
{
    double complex forward = reading(p, pair->forward, x);
    double complex backward = pair->backward < 0 ? 0 : reading(p, pair->backward, x);
    double size = 0;
    for (int k = 0; k < parts_of(pair); k++)
        size += cabs(mix_of(pair, k, 0) * forward + mix_of(pair, k, 1) * backward);
    return size;
}

static bool is_limited(const cm_pair *pair)
{
    return pair->weight > 0 && !isinf(pair->limit);
}

/* sd² of the true reading of a row: |Fᵀ (1, z)|². */
static double factor_square(const cm_problem *p, const double complex *f, const double complex *x)
{
    int n = p->planes + 1;
    double sum = 0;
    for (int k = 0; k < n; k++) {
        double complex part = f[k * n];
        for (int j = 0; j < p->planes; j++)
            part += f[j + 1 + k * n] * (x[j] - p->base[j]);
        sum += real_product(part, part);
    }
    return sum;
}

static double variance(const cm_problem *p, int row, const double complex *x)
{
    return factor_square(p, p->spread + row * (p->planes + 1) * (p->planes + 1), x);
}

/* The spreads of the parts add. */
static double pair_spread(const cm_problem *p, const cm_pair *pair, const double complex *x)
{
    double sum = 0;
    for (int k = 0; k < parts_of(pair); k++)
        sum += sqrt(factor_square(p, pair->spread + k * (p->planes + 1) * (p->planes + 1), x));
    return sum;
}

static double weighted_norm(const cm_problem *p, const double complex *x, bool with_spread)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++) {
        if (!is_counted(p, i))
            continue;
        double size = p->weight[i] * cabs(reading(p, i, x));
        sum += size * size;
        if (with_spread)
            sum += p->weight[i] * p->weight[i] * variance(p, i, x);
    }
    return sqrt(sum);
}

static double least_squares_value(const cm_problem *p, const double complex *x)
{
    return weighted_norm(p, x, false);
}

static double expected_value(const cm_problem *p, const double complex *x)
{
    return weighted_norm(p, x, true);
}

static double min_max_value(const cm_problem *p, const double complex *x)
{
    double worst = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i))
            worst = most(worst, p->weight[i] * cabs(reading(p, i, x)));
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            worst = most(worst, p->pairs[k].weight * pair_size(p, &p->pairs[k], x));
    return worst;
}

/* Origin that the masses of the objective are counted from. */
static double complex mass_origin(const cm_problem *p, int plane)
{
    if (p->objective == CM_LEAST_CHANGE)
        return p->now[plane];
    return p->objective == CM_WORST_CASE ? p->base[plane] : 0;
}

static double mass_value(const cm_problem *p, const double complex *x)
{
    double sum = 0;
    for (int j = 0; j < p->planes; j++)
        sum += cabs(x[j] - mass_origin(p, j));
    return sum;
}

/* c_j²: squared norm of column j of W A. */
static double column_square(const cm_problem *p, int plane)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i)) {
            double size = p->weight[i] * cabs(p->a[i + plane * p->rows]);
            sum += size * size;
        }
    return sum;
}

static double worst_case_value(const cm_problem *p, const double complex *x)
{
    double sum = 0;
    for (int j = 0; j < p->planes; j++) {
        double z = cabs(x[j] - p->base[j]);
        sum += column_square(p, j) * z * z;
    }
    return weighted_norm(p, x, false) + p->influence_error * sqrt(sum);
}

static double kappa_of(double room, double sd)
{
    if (sd > 0)
        return room / sd;
    return room >= 0 ? INFINITY : -1;
}

/* Greatest kappa that x guarantees; -1 when a limit is exceeded already. */
static double confidence_value(const cm_problem *p, const double complex *x)
{
    double least = INFINITY;
    for (int i = 0; i < p->rows; i++) {
        if (!is_counted(p, i) || isinf(p->limit[i]))
            continue;
        double kappa = kappa_of(p->limit[i] - cabs(reading(p, i, x)), sqrt(variance(p, i, x)));
        least = kappa < least ? kappa : least;
    }
    for (int k = 0; k < p->pair_count; k++) {
        const cm_pair *pair = &p->pairs[k];
        if (!is_limited(pair))
            continue;
        double kappa = kappa_of(pair->limit - pair_size(p, pair, x), pair_spread(p, pair, x));
        least = kappa < least ? kappa : least;
    }
    return least;
}

double cm_recheck_value(const cm_problem *p, const double complex *x)
{
    static double (*const value[])(const cm_problem *, const double complex *) = {
        [CM_LEAST_SQUARES] = least_squares_value,
        [CM_MIN_MAX] = min_max_value,
        [CM_LEAST_MASS] = mass_value,
        [CM_LEAST_CHANGE] = mass_value,
        [CM_WORST_CASE] = worst_case_value,
        [CM_EXPECTED] = expected_value,
        [CM_CONFIDENCE] = confidence_value,
    };
    return value[p->objective](p, x);
}

double cm_recheck_ratio(const cm_problem *p, const double complex *x)
{
    double worst = -1;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i]))
            worst = most(worst, cabs(reading(p, i, x)) / p->limit[i]);
    for (int k = 0; k < p->pair_count; k++)
        if (is_limited(&p->pairs[k]))
            worst = most(worst, pair_size(p, &p->pairs[k], x) / p->pairs[k].limit);
    return worst < 0 ? NAN : worst;
}

static double tie_excess(const cm_problem *p, int tie, const double complex *x)
{
    double complex sum = -p->tie_value[tie];
    double size = cabs(p->tie_value[tie]);
    for (int j = 0; j < p->planes; j++) {
        double complex term = p->ties[tie + j * p->tie_count] * x[j];
        sum += term;
        size += cabs(term);
    }
    return size > 0 ? cabs(sum) / size : 0;
}

static double disc_excess(const cm_problem *p, const cm_disc *disc, const double complex *x)
{
    double distance = cabs(x[disc->plane] - disc->centre);
    double size = disc->radius + 1e-6 * cabs(disc->centre);
    return size > 0 ? (distance - disc->radius) / size : distance > p->mass_zero ? INFINITY : 0;
}

/* Excess of the kept objective over what it may be; of a kept kappa over the limits with that margin. */
static double kept_excess(const cm_problem *p, const double complex *x)
{
    double worst = 0;
    if (p->kept != CM_CONFIDENCE) {
        const cm_problem first = kept_problem(p);
        double value = cm_recheck_value(&first, x);
        return value <= p->keep_at * (1 + KEPT_EXCESS) ? 0
               : p->keep_at > 0                        ? value / p->keep_at - 1
                                                       : INFINITY;
    }
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i])) {
            double size = cabs(reading(p, i, x)) + p->keep_at * sqrt(variance(p, i, x));
            worst = most(worst, size / p->limit[i] - 1);
        }
    for (int k = 0; k < p->pair_count; k++)
        if (is_limited(&p->pairs[k])) {
            double size = pair_size(p, &p->pairs[k], x) + p->keep_at * pair_spread(p, &p->pairs[k], x);
            worst = most(worst, size / p->pairs[k].limit - 1);
        }
    return worst <= KEPT_EXCESS ? 0 : worst;
}

double cm_recheck_violation(const cm_problem *p, const double complex *x)
{
    double worst = p->keeps ? kept_excess(p, x) : 0;
    for (int d = 0; d < p->disc_count; d++)
        if (!is_held(p, p->discs[d].plane) && !isinf(p->discs[d].radius))
            worst = most(worst, disc_excess(p, &p->discs[d], x));
    for (int k = 0; k < p->tie_count; k++)
        worst = most(worst, tie_excess(p, k, x));
    for (int j = 0; j < p->planes; j++)
        if (is_held(p, j) && x[j] != p->held_value[j])
            worst = INFINITY;
    double ratio = limits_bind(p) ? cm_recheck_ratio(p, x) : NAN;
    return isnan(ratio) ? worst : most(worst, ratio - 1);
}

/* ---- the dual side ---- */

/* Running sum of the right-hand sides: constant at x = base, its gradient, and the size of what was added. */
typedef struct cm_tally {
    double constant;
    double size;
    double complex *gradient; /* planes */
    double *gradient_size;    /* planes: what rounding of the gradient is measured against ... */
    double *column_size;      /* planes: ... and what the objective can make of it at most */
} cm_tally;

static void add_constant(cm_tally *t, double amount)
{
    t->constant += amount;
    t->size += fabs(amount);
}

static void add_plane(cm_tally *t, int plane, double complex amount)
{
    t->gradient[plane] += amount;
    t->gradient_size[plane] += most(fabs(creal(amount)), fabs(cimag(amount)));
}

static void tally_row(const cm_problem *p, int row, double complex dual, cm_tally *t)
{
    if (dual == 0)
        return;
    add_constant(t, real_product(dual, p->y[row]));
    for (int j = 0; j < p->planes; j++)
        add_plane(t, j, adjoint_product(p->a[row + j * p->rows], dual));
}

static void tally_factor(const cm_problem *p, const double complex *f, const double complex *dual,
                         cm_tally *t)
{
    int n = p->planes + 1;
    for (int k = 0; k < n; k++) {
        const double complex s = dual[k];
        if (s == 0)
            continue;
        add_constant(t, real_product(s, f[k * n]));
        for (int j = 0; j < p->planes; j++)
            add_plane(t, j, conj(f[j + 1 + k * n]) * s);
    }
}

static void tally_spread(const cm_problem *p, int row, const double complex *dual, cm_tally *t)
{
    int n = p->planes + 1;
    tally_factor(p, p->spread + row * n * n, dual + row * n, t);
}

static double phasors_norm(int n, const double complex *s)
{
    double sum = 0;
    for (int k = 0; k < n; k++)
        sum += real_product(s[k], s[k]);
    return sqrt(sum);
}

static double spread_norm(const cm_problem *p, int row, const double complex *dual)
{
    return phasors_norm(p->planes + 1, dual + row * (p->planes + 1));
}

/* A part's phasor acts on both rows. */
static void tally_part(const cm_problem *p, const cm_pair *pair, int part, double complex dual, cm_tally *t)
{
    tally_row(p, pair->forward, adjoint_product(mix_of(pair, part, 0), dual), t);
    if (pair->backward >= 0)
        tally_row(p, pair->backward, adjoint_product(mix_of(pair, part, 1), dual), t);
}

/* Dual norms: at most 1 after division. Each says which phasors an objective admits. */
static double square_norm(const cm_problem *p, const cm_certificate *c)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i)) {
            double size = cabs(c->row_objective[i]) / p->weight[i];
            sum += size * size;
            if (p->objective == CM_EXPECTED) {
                double spread = spread_norm(p, i, c->spread_objective) / p->weight[i];
                sum += spread * spread;
            }
        }
    return sqrt(sum);
}

static double max_norm(const cm_problem *p, const cm_certificate *c)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i))
            sum += cabs(c->row_objective[i]) / p->weight[i];
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            sum +=
                most(cabs(c->pair_objective[2 * k]), cabs(c->pair_objective[2 * k + 1])) / p->pairs[k].weight;
    return sum;
}

static double mass_norm(const cm_problem *p, const cm_certificate *c)
{
    double worst = 0;
    for (int j = 0; j < p->planes; j++)
        worst = most(worst, cabs(c->mass[j]));
    return worst;
}

static double worst_case_norm(const cm_problem *p, const cm_certificate *c)
{
    double sum = 0;
    for (int j = 0; j < p->planes; j++) {
        double size = cabs(c->mass[j]);
        if (size > 0)
            sum += size * size / column_square(p, j);
    }
    double mass = sum > 0 ? sqrt(sum) / p->influence_error : 0;
    return most(square_norm(p, c), mass);
}

double cm_recheck_dual_norm(const cm_problem *p, const cm_certificate *c)
{
    static double (*const norm[])(const cm_problem *, const cm_certificate *) = {
        [CM_LEAST_SQUARES] = square_norm, [CM_MIN_MAX] = max_norm,           [CM_LEAST_MASS] = mass_norm,
        [CM_LEAST_CHANGE] = mass_norm,    [CM_WORST_CASE] = worst_case_norm, [CM_EXPECTED] = square_norm,
    };
    return p->objective == CM_CONFIDENCE ? 1 : norm[p->objective](p, c);
}

static void tally_objective(const cm_problem *p, const cm_certificate *c, cm_tally *t)
{
    bool masses = is_about_masses(p) || p->objective == CM_WORST_CASE;
    for (int i = 0; i < p->rows && !is_about_masses(p); i++)
        if (is_counted(p, i)) {
            tally_row(p, i, c->row_objective[i], t);
            if (p->objective == CM_EXPECTED)
                tally_spread(p, i, c->spread_objective, t);
        }
    for (int k = 0; k < p->pair_count && p->objective == CM_MIN_MAX; k++)
        for (int part = 0; part < parts_of(&p->pairs[k]) && p->pairs[k].weight > 0; part++)
            tally_part(p, &p->pairs[k], part, c->pair_objective[2 * k + part], t);
    for (int j = 0; j < p->planes && masses; j++) {
        add_constant(t, real_product(c->mass[j], p->base[j] - mass_origin(p, j)));
        add_plane(t, j, c->mass[j]);
    }
}

static double kappa_in(const cm_problem *p, const cm_certificate *c)
{
    return p->keeps && p->kept == CM_CONFIDENCE ? p->keep_at : c->kappa;
}

/* |r_i| + kappa sd_i ≤ limit_i: the spread's phasor may be as long as kappa times the row's. */
static void tally_row_limit(const cm_problem *p, const cm_certificate *c, int row, cm_tally *t)
{
    double size = cabs(c->row_limit[row]);
    if (kappa_in(p, c) > 0 && p->spread) {
        size = most(size, spread_norm(p, row, c->spread_limit) / kappa_in(p, c));
        tally_spread(p, row, c->spread_limit, t);
    }
    tally_row(p, row, c->row_limit[row], t);
    add_constant(t, -p->limit[row] * size);
    for (int j = 0; j < p->planes;
         j++) /* what the row's phasor could make of the gradient, were it that long */
        t->gradient_size[j] += size * cabs(p->a[row + j * p->rows]);
}

/* The limit of a pair is paid for once, at the longest of its phasors; those of spreads may be kappa times as long. */
static void tally_pair_limit(const cm_problem *p, const cm_certificate *c, int number, cm_tally *t)
{
    const cm_pair *pair = &p->pairs[number];
    int n = p->planes + 1;
    double size = 0;
    for (int k = 0; k < parts_of(pair); k++) {
        double complex dual = c->pair_limit[2 * number + k];
        size = most(size, cabs(dual));
        tally_part(p, pair, k, dual, t);
        if (!(kappa_in(p, c) > 0) || !pair->spread)
            continue;
        const double complex *s = c->spread_pair + (2 * number + k) * n;
        size = most(size, phasors_norm(n, s) / kappa_in(p, c));
        tally_factor(p, pair->spread + k * n * n, s, t);
    }
    add_constant(t, -pair->limit * size);
}

static void tally_limits(const cm_problem *p, const cm_certificate *c, cm_tally *t)
{
    for (int i = 0; i < p->rows; i++)
        if (is_counted(p, i) && !isinf(p->limit[i]))
            tally_row_limit(p, c, i, t);
    for (int k = 0; k < p->pair_count; k++)
        if (is_limited(&p->pairs[k]))
            tally_pair_limit(p, c, k, t);
}

static void tally_discs(const cm_problem *p, const cm_certificate *c, cm_tally *t)
{
    for (int d = 0; d < p->disc_count; d++) {
        const cm_disc *disc = &p->discs[d];
        if (is_held(p, disc->plane) || c->disc[d] == 0)
            continue;
        add_constant(t, real_product(c->disc[d], p->base[disc->plane] - disc->centre));
        add_constant(t, -disc->radius * cabs(c->disc[d]));
        add_plane(t, disc->plane, c->disc[d]);
    }
}

static void tally_ties(const cm_problem *p, const cm_certificate *c, cm_tally *t)
{
    for (int k = 0; k < p->tie_count; k++) {
        if (c->tie[k] == 0)
            continue;
        add_constant(t, -real_product(c->tie[k], p->tie_value[k]));
        for (int j = 0; j < p->planes; j++) {
            double complex factor = p->ties[k + j * p->tie_count];
            add_constant(t, real_product(c->tie[k], factor * p->base[j]));
            add_plane(t, j, conj(factor) * c->tie[k]);
        }
    }
}

/* What a gradient that did not quite vanish can cost on plane j. A disc tells how far the plane can move from the base
 * state; a free plane is charged at the distance of the answer, and only rounding is forgiven. */
static double plane_charge(const cm_problem *p, int plane, const double complex *x, const cm_tally *t)
{
    double size = cabs(t->gradient[plane]);
    double reach = INFINITY;
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane) {
            double far = cabs(p->discs[d].centre - p->base[plane]) + p->discs[d].radius;
            reach = far < reach ? far : reach;
        }
    if (size == 0 || !isinf(reach))
        return size > 0 ? size * reach : 0;
    return size > FORGIVEN * (t->gradient_size[plane] + t->column_size[plane])
               ? INFINITY
               : size * cabs(x[plane] - p->base[plane]);
}

/* Held planes: x_j is known, the gradient counts in full. Others: it should be zero. */
static void settle_planes(const cm_problem *p, const double complex *x, cm_tally *t)
{
    double charge = 0;
    for (int j = 0; j < p->planes; j++) {
        if (is_held(p, j))
            add_constant(t, real_product(t->gradient[j], p->held_value[j] - p->base[j]));
        else
            charge += plane_charge(p, j, x, t);
    }
    t->constant -= charge;
}

/* keep_at ≥ objective ≥ Re Σ of its phasors, over their dual norm. */
static void tally_kept(const cm_problem *p, const cm_certificate *c, cm_tally *t)
{
    if (!p->keeps || p->kept == CM_CONFIDENCE)
        return;
    const cm_problem first = kept_problem(p);
    tally_objective(&first, c->kept, t);
    add_constant(t, -p->keep_at * cm_recheck_dual_norm(&first, c->kept));
}

double cm_recheck_bound(cm_session *session, const cm_problem *p, const cm_certificate *c,
                        const double complex *x)
{
    cm_mark mark = cm_mark_of(session);
    cm_tally tally = {.gradient = CM_NEW(session, p->planes, double complex),
                      .gradient_size = CM_NEW(session, p->planes, double),
                      .column_size = CM_NEW(session, p->planes, double)};
    double norm = 1;
    if (!c->infeasibility) {
        norm = cm_recheck_dual_norm(p, c);
        for (int j = 0; j < p->planes; j++)
            tally.column_size[j] = norm * (is_about_masses(p) ? 1 : sqrt(column_square(p, j)));
        tally_objective(p, c, &tally);
    }
    if (limits_bind(p))
        tally_limits(p, c, &tally);
    tally_kept(p, c, &tally);
    tally_discs(p, c, &tally);
    tally_ties(p, c, &tally);
    settle_planes(p, x, &tally);
    cm_release_to(session, mark);
    if (c->infeasibility)
        return tally.size > 0 ? tally.constant / tally.size - 4 * DBL_EPSILON : -1;
    return norm > 0 && tally.constant > 0 ? tally.constant / norm : 0;
}
