/* SPDX-License-Identifier: MIT */
/* Problem: write objective, limits and discs as cones |form| ≤ t over complex affine forms of u.
 *
 *     least squares    |(W r)| ≤ t                             minimise t
 *     min-max          W_i |r_i| ≤ t                           minimise t
 *     masses           |x_j - o_j| ≤ t_j                       minimise sum t_j
 *     worst case       |(W r)| ≤ t, rho |(c_j z_j)| ≤ t'       minimise t + t'
 *     expected         |(W r, W_i F_iᵀ(1, z))| ≤ t             minimise t
 *     confidence       |r_i|/limit_i ≤ t_i, kappa |F_iᵀ(1,z)|/limit_i ≤ 1 - t_i + (t - 1) kappa sd_i'/limit_i    minimise t
 *                      (kappa = 0: t in place of the last term)
 *     limits           |r_i|/limit_i ≤ 1
 *     pairs            |F| ≤ a, |B| ≤ b, a + b ≤ t (or 1); confidence: a + b + kappa (sd_F + sd_B) in the place of |r_i| + kappa sd_i
 *     discs            |x_j - centre|/radius ≤ 1
 *     kept objective   its cones, and the sum of its scalars ≤ keep_at; a kept kappa: |r_i| + kappa sd_i ≤ limit_i
 *
 * Every form remembers where its dual phasor belongs in the certificate, so that the way back is one loop. */
#include "optimise/build.h"

#include "optimise/pairs.h"

#include <math.h>

static int new_scalar(cm_build *b, double cost)
{
    b->cost[b->scalars] = cost;
    return b->scalars++;
}

/* A scalar that is a term of the objective. */
static int new_top(cm_build *b)
{
    b->top[b->tops++] = b->scalars;
    return new_scalar(b, b->top_cost);
}

static cm_ball *new_ball(cm_build *b, double t0)
{
    cm_ball *ball = &b->ball[b->balls++];
    *ball = (cm_ball){.first = b->forms, .t0 = t0};
    return ball;
}

static void bound_by(cm_ball *ball, int scalar, double factor)
{
    ball->scalar[ball->terms] = scalar;
    ball->factor[ball->terms++] = factor;
}

static void close_form(cm_build *b, cm_ball *ball, double complex constant, double scale,
                       double complex *slot)
{
    b->c[b->forms] = constant;
    b->scale[b->forms] = scale;
    b->slot[b->forms++] = slot;
    ball->forms++;
}

static void add_row(cm_build *b, cm_ball *ball, int row, double scale, double complex *slot)
{
    double complex constant = cm_presolved_row(b->pre, row, scale, b->f + b->forms, b->form_room);
    close_form(b, ball, constant, scale, slot);
}

static void add_plane(cm_build *b, cm_ball *ball, int plane, double complex origin, double scale,
                      double complex *slot)
{
    double complex constant = cm_presolved_plane(b->pre, plane, origin, scale, b->f + b->forms, b->form_room);
    close_form(b, ball, constant, scale, slot);
}

/* scale·(Fᵀ(1, z)): one form per column of the factor; `slots` receives as many duals. */
static void add_factor(cm_build *b, cm_ball *ball, const double complex *factor, double scale,
                       double complex *slots)
{
    const cm_problem *p = b->pre->given;
    int size = p->planes + 1;
    for (int k = 0; k < size; k++) {
        const double complex *f = factor + size * k;
        double complex constant = f[0];
        for (int j = 0; j < p->planes; j++)
            constant += f[j + 1] * b->pre->z0[j];
        for (int i = 0; i < b->pre->n; i++) {
            double complex sum = b->pre->plane ? f[b->pre->plane[i] + 1] : 0;
            for (int j = 0; j < p->planes && !b->pre->plane; j++)
                sum += f[j + 1] * b->pre->basis[j + i * p->planes];
            b->f[b->forms + i * b->form_room] = scale * sum;
        }
        close_form(b, ball, scale * constant, scale, &slots[k]);
    }
}

static void add_spread(cm_build *b, cm_ball *ball, int row, double scale, double complex *slots)
{
    int size = b->pre->given->planes + 1;
    add_factor(b, ball, b->pre->given->spread + size * size * row, scale, slots + size * row);
}

/* ---- objectives ---- */

static void add_norm_of_rows(cm_build *b, cm_ball *ball)
{
    for (int i = 0; i < b->pre->row_count; i++) {
        int row = b->pre->row[i];
        add_row(b, ball, row, b->pre->given->weight[row] / b->row_scale, &b->to->row_objective[row]);
    }
}

static void least_squares(cm_build *b)
{
    cm_ball *ball = new_ball(b, 0);
    bound_by(ball, new_top(b), 1);
    add_norm_of_rows(b, ball);
}

/* A part of a pair is at most a scalar of its own, which `sum` receives. */
static void add_part(cm_build *b, cm_ball *sum, const cm_pair *pair, int part, double scale,
                     double complex *slot)
{
    int size = new_scalar(b, 0);
    cm_ball *ball = new_ball(b, 0);
    bound_by(ball, size, 1);
    double complex constant = cm_presolved_part(b->pre, pair, part, scale, b->f + b->forms, b->form_room);
    close_form(b, ball, constant, scale, slot);
    bound_by(sum, size, -1);
}

static void close_sum(cm_build *b, cm_ball *sum)
{
    sum->first = b->forms;
    *new_ball(b, 0) = *sum;
}

/* scale·(|F| + |B|) ≤ t0 + t. */
static void add_pair(cm_build *b, const cm_pair *pair, double scale, double t0, int scalar,
                     double complex *slots)
{
    cm_ball sum = {.t0 = t0, .limit = scalar < 0};
    if (scalar >= 0)
        bound_by(&sum, scalar, 1);
    for (int k = 0; k < cm_pair_part_count(pair); k++)
        add_part(b, &sum, pair, k, scale, &slots[k]);
    close_sum(b, &sum);
}

static void min_max(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    int worst = new_top(b);
    for (int i = 0; i < b->pre->row_count; i++) {
        int row = b->pre->row[i];
        cm_ball *ball = new_ball(b, 0);
        bound_by(ball, worst, 1);
        add_row(b, ball, row, p->weight[row] / b->row_scale, &b->to->row_objective[row]);
    }
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            add_pair(b, &p->pairs[k], p->pairs[k].weight / b->row_scale, 0, worst,
                     &b->to->pair_objective[2 * k]);
}

static void masses(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    for (int j = 0; j < p->planes; j++) {
        cm_ball *ball = new_ball(b, 0);
        bound_by(ball, new_top(b), 1);
        add_plane(b, ball, j, b->objective == CM_LEAST_CHANGE ? p->now[j] : 0, 1 / b->mass_scale,
                  &b->to->mass[j]);
    }
}

static double column_norm(const cm_presolved *pre, int plane)
{
    double sum = 0;
    for (int i = 0; i < pre->row_count; i++)
        sum = hypot(sum, pre->given->weight[pre->row[i]] *
                             cabs(pre->given->a[pre->row[i] + plane * pre->given->rows]));
    return sum;
}

static void worst_case(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    least_squares(b);
    if (!(p->influence_error > 0))
        return;
    cm_ball *ball = new_ball(b, 0);
    bound_by(ball, new_top(b), 1);
    for (int j = 0; j < p->planes; j++) {
        double c = column_norm(b->pre, j);
        if (c > 0)
            add_plane(b, ball, j, p->base[j], p->influence_error * c / b->row_scale, &b->to->mass[j]);
    }
}

static void expected(cm_build *b)
{
    cm_ball *ball = new_ball(b, 0);
    bound_by(ball, new_top(b), 1);
    add_norm_of_rows(b, ball);
    for (int i = 0; i < b->pre->row_count; i++) {
        int row = b->pre->row[i];
        add_spread(b, ball, row, b->pre->given->weight[row] / b->row_scale, b->to->spread_objective);
    }
}

double cm_factor_size(const cm_problem *p, const double complex *factor, const double complex *x)
{
    int size = p->planes + 1;
    double sum = 0;
    for (int k = 0; k < size; k++) {
        const double complex *f = factor + size * k;
        double complex part = f[0];
        for (int j = 0; j < p->planes; j++)
            part += f[j + 1] * (x[j] - p->base[j]);
        sum = hypot(sum, cabs(part));
    }
    return sum;
}

double cm_spread_size(const cm_problem *p, int row, const double complex *x)
{
    return cm_factor_size(p, p->spread + (p->planes + 1) * (p->planes + 1) * row, x);
}

/* Adds (t - 1) kappa sd' to what a ball is bounded by; at kappa = 0 t in its place. Without t (`worst` < 0): nothing. */
static void loosen(const cm_build *b, cm_ball *ball, int worst, double sd)
{
    if (worst < 0)
        return;
    ball->t0 -= b->kappa * sd;
    bound_by(ball, worst, b->kappa > 0 ? b->kappa * sd : sd);
}

static void guarantee_row(cm_build *b, int row, int worst)
{
    const cm_problem *p = b->pre->given;
    int size = new_scalar(b, 0);
    cm_ball *ball = new_ball(b, 0);
    bound_by(ball, size, 1);
    add_row(b, ball, row, 1 / p->limit[row], &b->certificate.row_limit[row]);
    double sd = b->kappa > 0 ? cm_spread_size(p, row, b->x) / p->limit[row] : 1;
    ball = new_ball(b, 1);
    loosen(b, ball, worst, sd);
    bound_by(ball, size, -1);
    if (b->kappa > 0)
        add_spread(b, ball, row, b->kappa / p->limit[row], b->certificate.spread_limit);
}

/* |F| + |B| + kappa (sd_F + sd_B) ≤ limit: a scalar for each of the four. */
static void guarantee_pair(cm_build *b, int number, int worst)
{
    const cm_problem *p = b->pre->given;
    const cm_pair *pair = &p->pairs[number];
    size_t size = (size_t)p->planes + 1;
    double sd = b->kappa > 0 ? cm_pair_spread(p, pair, b->x) / pair->limit : 1;
    cm_ball sum = {.t0 = 1};
    loosen(b, &sum, worst, sd);
    for (int k = 0; k < cm_pair_part_count(pair); k++) {
        size_t slot = 2 * (size_t)number + (size_t)k;
        add_part(b, &sum, pair, k, 1 / pair->limit, &b->certificate.pair_limit[slot]);
        if (!(b->kappa > 0))
            continue;
        int spread = new_scalar(b, 0);
        cm_ball *ball = new_ball(b, 0);
        bound_by(ball, spread, 1);
        add_factor(b, ball, pair->spread + (size_t)k * size * size, b->kappa / pair->limit,
                   b->certificate.spread_pair + slot * size);
        bound_by(&sum, spread, -1);
    }
    close_sum(b, &sum);
}

static void guarantee_all(cm_build *b, int worst)
{
    const cm_problem *p = b->pre->given;
    for (int i = 0; i < b->pre->row_count; i++)
        if (!isinf(p->limit[b->pre->row[i]]))
            guarantee_row(b, b->pre->row[i], worst);
    for (int k = 0; k < p->pair_count; k++)
        if (cm_pair_is_judged(&p->pairs[k]))
            guarantee_pair(b, k, worst);
}

static void confidence(cm_build *b)
{
    guarantee_all(b, new_top(b));
}

/* ---- constraints ---- */

static cm_ball *new_limit(cm_build *b)
{
    cm_ball *ball = new_ball(b, 1);
    ball->limit = 1;
    return ball;
}

static void add_limits(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    for (int i = 0; i < b->pre->row_count; i++) {
        int row = b->pre->row[i];
        if (!isinf(p->limit[row]))
            add_row(b, new_limit(b), row, 1 / p->limit[row], &b->certificate.row_limit[row]);
    }
}

static void add_pair_limits(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    for (int k = 0; k < p->pair_count; k++)
        if (cm_pair_is_judged(&p->pairs[k]))
            add_pair(b, &p->pairs[k], 1 / p->pairs[k].limit, 1, -1, &b->certificate.pair_limit[2 * k]);
}

static void add_discs(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    for (int i = 0; i < b->pre->disc_count; i++) {
        int d = b->pre->disc[i];
        add_plane(b, new_ball(b, 1), p->discs[d].plane, p->discs[d].centre, 1 / p->discs[d].radius,
                  &b->certificate.disc[d]);
    }
}

/* ---- what is kept ---- */

typedef void cm_write_objective(cm_build *b);

static void write_objective(cm_build *b, cm_objective which)
{
    static cm_write_objective *const objective[] = {
        [CM_LEAST_SQUARES] = least_squares, [CM_MIN_MAX] = min_max,       [CM_LEAST_MASS] = masses,
        [CM_LEAST_CHANGE] = masses,         [CM_WORST_CASE] = worst_case, [CM_EXPECTED] = expected,
        [CM_CONFIDENCE] = confidence,
    };
    b->objective = which;
    b->tops = 0;
    objective[which](b);
}

/* The sum of the scalars is at most `most`: partial sums, three terms a cone. */
static void bound_sum(cm_build *b, double most)
{
    int before = -1;
    for (int k = 0; k < b->tops; k++) {
        bool last = k == b->tops - 1;
        int sum = last ? -1 : new_scalar(b, 0);
        cm_ball *ball = new_ball(b, last ? most : 0);
        bound_by(ball, b->top[k], -1);
        if (before >= 0)
            bound_by(ball, before, -1);
        if (!last)
            bound_by(ball, sum, 1);
        before = sum;
    }
}

/* A kept kappa is a limit with a margin; any other objective at most `keep_at`, in the scale it is written in. */
static void add_kept(cm_build *b)
{
    const cm_problem *p = b->pre->given;
    if (!p->keeps)
        return;
    if (p->kept == CM_CONFIDENCE) {
        double kappa = b->kappa;
        b->kappa = b->certificate.kappa = p->keep_at;
        guarantee_all(b, -1);
        b->kappa = kappa;
        return;
    }
    bool masses_kept = p->kept == CM_LEAST_MASS || p->kept == CM_LEAST_CHANGE;
    b->to = b->certificate.kept;
    b->top_cost = 0;
    write_objective(b, p->kept);
    bound_sum(b, p->keep_at / (masses_kept ? b->mass_scale : b->row_scale));
}

/* ---- all of it ---- */

static void allocate(cm_session *session, cm_build *b)
{
    const cm_problem *p = b->pre->given;
    int spread = p->spread ? (b->pre->row_count + 2 * p->pair_count) * (p->planes + 1) : 0;
    b->form_room = 2 * b->pre->row_count + 4 * p->pair_count + b->pre->disc_count + p->planes + spread;
    if (p->keeps)
        b->form_room += b->pre->row_count + 2 * p->pair_count + p->planes + spread;
    int room = 4 * b->form_room + 16 * p->pair_count + 4 * p->planes + 8;
    b->f = CM_NEW(session, b->form_room * b->pre->n, double complex);
    b->c = CM_NEW(session, b->form_room, double complex);
    b->slot = CM_NEW(session, b->form_room, double complex *);
    b->scale = CM_NEW(session, b->form_room, double);
    b->ball = CM_NEW(session, room, cm_ball);
    b->cost = CM_NEW(session, room, double);
    b->top = CM_NEW(session, room, int);
    b->certificate = cm_certificate_new(session, p);
    b->certificate.kappa = b->kappa;
}

/* |W r| at the guess and at the base state. */
static void find_row_scale(cm_session *session, cm_build *b, const double complex *x)
{
    const cm_problem *p = b->pre->given;
    double complex *r = CM_NEW(session, p->rows, double complex);
    cm_recheck_readings(p, x, r);
    double at_guess = 0;
    double at_base = 0;
    for (int i = 0; i < b->pre->row_count; i++) {
        int row = b->pre->row[i];
        at_guess = hypot(at_guess, p->weight[row] * cabs(r[row]));
        at_base = hypot(at_base, p->weight[row] * cabs(p->y[row]));
    }
    for (int k = 0; k < p->pair_count; k++) {
        const cm_pair *pair = &p->pairs[k];
        if (!(pair->weight > 0))
            continue;
        at_guess = hypot(at_guess, pair->weight * cm_pair_size_at(pair, r));
        at_base = hypot(at_base, pair->weight * cm_pair_size_at(pair, p->y));
    }
    b->row_scale = fmax(at_guess, 1e-9 * at_base);
    if (!(b->row_scale > 0))
        b->row_scale = 1;
}

static bool mass_is_change(const cm_problem *p)
{
    return p->objective == CM_LEAST_CHANGE || (p->keeps && p->kept == CM_LEAST_CHANGE);
}

static void find_mass_scale(cm_build *b, const double complex *x)
{
    const cm_problem *p = b->pre->given;
    for (int j = 0; j < p->planes; j++)
        b->mass_scale = fmax(b->mass_scale, cabs(mass_is_change(p) ? x[j] - p->now[j] : x[j]));
    for (int d = 0; d < p->disc_count && !(b->mass_scale > 0); d++)
        b->mass_scale = isinf(p->discs[d].radius) ? 0 : p->discs[d].radius;
    if (!(b->mass_scale > 0))
        b->mass_scale = p->mass_unit > 0 ? p->mass_unit : 1;
}

cm_build cm_build_cones(cm_session *session, const cm_presolved *pre, const double complex *guess,
                        double kappa)
{
    cm_build b = {.pre = pre, .kappa = kappa, .top_cost = 1};
    const cm_problem *p = pre->given;
    allocate(session, &b);
    b.to = &b.certificate;
    b.x = CM_NEW(session, p->planes, double complex);
    cm_presolved_masses(pre, guess, b.x);
    find_row_scale(session, &b, b.x);
    find_mass_scale(&b, b.x);
    write_objective(&b, p->objective);
    add_kept(&b);
    if (cm_limits_bind(p) && p->objective != CM_CONFIDENCE) {
        add_limits(&b);
        add_pair_limits(&b);
    }
    add_discs(&b);
    return b;
}
