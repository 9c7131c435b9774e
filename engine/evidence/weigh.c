/* SPDX-License-Identifier: MIT */
/*
 * How likely a hypothesis makes the readings of a run.
 *
 *     d = measured - expected,   E d dᴴ = C,   C_ii = s_i²/w_i + |(1, z) F_i|²,   C_ik = G_i G_kᴴ - H_i H_kᴴ
 *     T = dᴴ C⁻¹ d,              log L = -T - log det C, or -(n + f) log(1 + T/f) - log det C
 *
 * s_i: scatter of one reading, w_i its weight; F, G, H: factors of the covariance of the fit, z: masses beyond the stated ones; f: degrees
 * of freedom of the scatter (complex Student distribution). Where a hypothesis has a number of its own, L is the mean over
 * what that number may be:
 *
 *     phase shift        uniform over the circle
 *     scale, radius      log-normal around 1, standard deviations 0.5 and 0.3 of the logarithm (our own figures)
 *     machine changed    d has 0.1, 0.3 or 1 times the usual size of readings added, each a third
 *
 * Broad hypotheses so pay for what they could have explained as well (Jeffreys, Theory of probability, 1961, chapter 5;
 * value from memory).
 */
#include "evidence/mounting.h"
#include "base/constants.h"
#include "evidence/weights.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

enum { POINTS = 81 };

static bool holds_at(const cm_view *view, const cm_guess *guess, int i)
{
    const cm_case *c = view->job->given;
    return c->speeds[c->row_speed[view->row[i]]].omega > guess->above;
}

static const double complex *extra_of(const cm_view *view, const cm_guess *guess, int i)
{
    return guess->extra && holds_at(view, guess, i) ? guess->extra : NULL;
}

/* Planes where masses are that were not stated. */
typedef struct cm_moved {
    int count;
    int *plane;
} cm_moved;

static cm_moved moved_of(const cm_view *view, const double complex *extra)
{
    cm_moved moved = {0, CM_NEW(view->session, view->planes, int)};
    for (int j = 0; extra && j < view->planes; j++)
        if (extra[j] != 0)
            moved.plane[moved.count++] = j;
    return moved;
}

/* |(1, z) F|² of a row; z is mostly zero. */
static double fit_variance(const cm_view *view, int row, const double complex *extra, const cm_moved *moved)
{
    const double complex *f = view->fit->factor + (size_t)row * (size_t)view->lines * (size_t)view->lines;
    double variance = 0;
    for (int c = 0; c < view->lines; c++) {
        const double complex *column = f + (size_t)c * (size_t)view->lines;
        double complex sum = column[0];
        for (int k = 0; extra && k < moved->count; k++)
            sum += extra[moved->plane[k]] * column[moved->plane[k] + 1];
        variance += cm_abs2(sum);
    }
    return variance;
}

/* (1, z) times the latent errors of a row. */
static void shared_of(const cm_view *view, int row, const double complex *extra, const double complex *factor,
                      double complex *out)
{
    const double complex *g = factor + (size_t)row * (size_t)view->lines * (size_t)view->fit->common_count;
    for (int k = 0; k < view->fit->common_count; k++) {
        out[k] = g[k * view->lines];
        for (int j = 0; extra && j < view->planes; j++)
            if (extra[j] != 0)
                out[k] += extra[j] * g[j + 1 + k * view->lines];
    }
}

/* Off-diagonal parts of C, and its Cholesky factor; false when C is not positive definite. */
static bool factor_shared(const cm_view *view, const cm_guess *guess, const double *variance,
                          double complex *c)
{
    int n = view->count, k = view->fit->common_count;
    double complex *g = CM_NEW(view->session, (size_t)k * (size_t)n, double complex);
    double complex *h = CM_NEW(view->session, (size_t)k * (size_t)n, double complex);
    for (int i = 0; i < n; i++) {
        const double complex *extra = extra_of(view, guess, i);
        shared_of(view, view->row[i], extra, view->fit->common_factor, g + (size_t)i * (size_t)k);
        shared_of(view, view->row[i], extra, view->fit->base_factor, h + (size_t)i * (size_t)k);
    }
    for (int a = 0; a < n; a++) {
        c[a + a * n] = variance[a];
        for (int b = 0; b < a; b++) {
            double complex sum = 0;
            for (int l = 0; l < k; l++)
                sum += g[l + a * k] * conj(g[l + b * k]) - h[l + a * k] * conj(h[l + b * k]);
            c[a + b * n] = sum;
            c[b + a * n] = conj(sum);
        }
    }
    return cm_cholesky(view->session, n, c, n);
}

static cm_whitener whitener_of(const cm_view *view, const cm_guess *guess)
{
    int n = view->count;
    if (view->plain && !guess->extra && guess->changed == 0)
        return *view->plain;
    double *variance = CM_NEW(view->session, n, double), *deviation = CM_NEW(view->session, n, double);
    cm_whitener w = {.n = n, .deviation = deviation};
    cm_moved moved = moved_of(view, guess->extra);
    for (int i = 0; i < n; i++) {
        double scatter = view->fit->scatter[view->row[i]];
        variance[i] = scatter * scatter / cm_weight_of(view->job->runs, view->row[i], view->run) +
                      fit_variance(view, view->row[i], extra_of(view, guess, i), &moved) +
                      pow(guess->changed * view->usual[i], 2);
        deviation[i] = sqrt(variance[i]);
        w.log_det += log(variance[i]);
    }
    if (view->fit->common_count == 0)
        return w;
    double complex *c = CM_NEW(view->session, (size_t)n * (size_t)n, double complex);
    if (!factor_shared(view, guess, variance, c))
        return w;
    w.lower = c;
    w.log_det = 0;
    for (int i = 0; i < n; i++)
        w.log_det += 2 * log(creal(c[i + i * n]));
    return w;
}

/* x := C^(-1/2) x. */
static void whiten(const cm_whitener *w, double complex *x)
{
    for (int i = 0; i < w->n && !w->lower; i++)
        x[i] /= w->deviation[i];
    for (int i = 0; i < w->n && w->lower; i++) {
        for (int k = 0; k < i; k++)
            x[i] -= w->lower[i + k * w->n] * x[k];
        x[i] /= w->lower[i + i * w->n];
    }
}

static double log_likelihood(const cm_view *view, const cm_whitener *w, double t)
{
    return isinf(view->dof) ? -t - w->log_det : -(w->n + view->dof) * log1p(t / view->dof) - w->log_det;
}

static double squares(int n, const double complex *x)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += cm_abs2(x[i]);
    return sum;
}

/* ---- hypotheses without a number of their own ---- */

/* Row of the view with the same speed and another sensor, or -1. */
static int partner(const cm_view *view, int i, int sensor)
{
    const cm_case *c = view->job->given;
    for (int q = 0; q < view->count; q++)
        if (c->row_sensor[view->row[q]] == sensor && c->row_speed[view->row[q]] == c->row_speed[view->row[i]])
            return q;
    return -1;
}

/* What the readings would be if the cables had not been changed; false: one of the two was not read. */
static bool swap_back(const cm_view *view, const cm_mistake *m, double complex *r)
{
    bool any = false;
    for (int i = 0; i < view->count; i++) {
        int sensor = view->job->given->row_sensor[view->row[i]];
        int other = sensor == m->sensor ? m->other_sensor : sensor == m->other_sensor ? m->sensor : -1;
        int at = other < 0 ? i : partner(view, i, other);
        if (at < 0)
            return false;
        any = any || at != i;
        r[i] = view->measured[at] + view->slow_roll[at] - view->slow_roll[i];
    }
    return any;
}

/* Readings as they should have been written, less what is expected. */
static bool difference(const cm_view *view, const cm_guess *guess, double complex *d)
{
    if (guess->twist == CM_TWIST_SWAP && !swap_back(view, &guess->mistake, d))
        return false;
    for (int i = 0; i < view->count; i++) {
        const double complex *extra = extra_of(view, guess, i);
        double complex roll = view->slow_roll[i];
        if (guess->twist == CM_TWIST_CONJUGATE)
            d[i] = conj((view->measured[i] + roll) * conj(view->turn)) * view->turn - roll;
        else if (guess->twist != CM_TWIST_SWAP)
            d[i] = view->measured[i];
        d[i] -= view->expected[i] + (extra ? cm_effect_of(view, i, extra) : 0);
    }
    return true;
}

static void weigh_plain(const cm_view *view, cm_guess *guess)
{
    double complex *d = CM_NEW(view->session, view->count, double complex);
    guess->log_likelihood = -INFINITY;
    if (!difference(view, guess, d))
        return;
    cm_whitener w = whitener_of(view, guess);
    whiten(&w, d);
    double t = squares(view->count, d);
    guess->log_likelihood = log_likelihood(view, &w, t);
    guess->left = sqrt(t / view->count);
}

/* ---- hypotheses with a number ---- */

/* log of the mean of exp(l) over equally spaced points with weights exp(p), times the step. */
static double log_integral(int n, const double *log_values, double step)
{
    double most = -INFINITY, sum = 0;
    for (int i = 0; i < n; i++)
        most = fmax(most, log_values[i]);
    for (int i = 0; i < n; i++)
        sum += exp(log_values[i] - most);
    return most + log(sum * step);
}

/* Shift: T(phi) = |w r|² + |w q|² - 2 |c| cos(phi - arg c), c = (w q)ᴴ (w r). */
static void weigh_shift(const cm_view *view, cm_guess *guess)
{
    int n = view->count;
    double complex *r = CM_NEW(view->session, n, double complex),
                   *q = CM_NEW(view->session, n, double complex);
    cm_whitener w = whitener_of(view, guess);
    double complex c = 0;
    for (int i = 0; i < n; i++) {
        r[i] = view->measured[i] + view->slow_roll[i];
        q[i] = view->expected[i] + view->slow_roll[i];
    }
    whiten(&w, r);
    whiten(&w, q);
    for (int i = 0; i < n; i++)
        c += conj(q[i]) * r[i];
    double whole = squares(n, r) + squares(n, q), values[POINTS];
    double least = whole - 2 * cabs(c);
    double spread = isinf(view->dof) ? 1 : 1 + least / view->dof;
    double reach = fmin(CM_PI, 8 * sqrt(spread / fmax(2 * cabs(c), 1e-300))), step = 2 * reach / POINTS;
    for (int k = 0; k < POINTS; k++)
        values[k] =
            log_likelihood(view, &w, whole - 2 * cabs(c) * cos(-reach + (k + 0.5) * step)) - log(2 * CM_PI);
    guess->log_likelihood = log_integral(POINTS, values, step);
    guess->value = carg(c);
    guess->left = sqrt(fmax(0, least) / n);
}

static double log_prior_ratio(double ratio, double deviation)
{
    double l = log(ratio) / deviation;
    return -0.5 * l * l - log(ratio * deviation * sqrt(2 * CM_PI));
}

/* T(t) = |d - t u|² for a real ratio 1 + t with a log-normal prior; the density gains `power` log ratio. */
static void weigh_ratio(const cm_view *view, cm_guess *guess, const cm_whitener *w, const double complex *d,
                        const double complex *u, double deviation, double power)
{
    double a = squares(view->count, u), b = 0, values[POINTS];
    for (int i = 0; i < view->count; i++)
        b += creal(conj(u[i]) * d[i]);
    double whole = squares(view->count, d), low = exp(-4 * deviation), high = exp(4 * deviation);
    double best = a > 0 ? fmin(high, fmax(low, 1 + b / a)) : 1;
    double least = whole - 2 * b * (best - 1) + a * (best - 1) * (best - 1);
    double spread = isinf(view->dof) ? 1 : 1 + least / view->dof;
    double reach = 7 * sqrt(spread / fmax(2 * a, 1e-300));
    double from = fmax(low, best - reach), to = fmin(high, best + reach), step = (to - from) / POINTS;
    for (int k = 0; k < POINTS; k++) {
        double ratio = from + (k + 0.5) * step, t = ratio - 1;
        values[k] = log_likelihood(view, w, whole - 2 * b * t + a * t * t) +
                    log_prior_ratio(ratio, deviation) + power * log(ratio);
    }
    guess->log_likelihood = log_integral(POINTS, values, step);
    guess->value = best;
    guess->left = sqrt(fmax(0, least) / view->count);
}

/* Readings of one sensor, or of all, by a factor s, noise and all: d(1/s) = raw/s - slow roll - expected, and the
 * density of what was read is that of raw/s divided by s² for each reading concerned. */
static void weigh_scale(const cm_view *view, cm_guess *guess)
{
    int n = view->count, own = 0;
    double complex *d = CM_NEW(view->session, n, double complex),
                   *u = CM_NEW(view->session, n, double complex);
    difference(view, guess, d);
    for (int i = 0; i < n; i++) {
        bool scaled =
            guess->mistake.sensor < 0 || view->job->given->row_sensor[view->row[i]] == guess->mistake.sensor;
        u[i] = scaled ? -(view->measured[i] + view->slow_roll[i]) : 0;
        own += scaled;
        if (guess->scale > 0)
            d[i] -= (1 / guess->scale - 1) * u[i];
    }
    cm_whitener w = whitener_of(view, guess);
    whiten(&w, d);
    whiten(&w, u);
    guess->left = sqrt(squares(n, d) / n);
    if (guess->scale > 0) {
        guess->value = guess->scale;
        guess->log_likelihood = log_likelihood(view, &w, squares(n, d)) - 2 * own * log(guess->scale);
    } else {
        weigh_ratio(view, guess, &w, d, u, 0.5, 2 * own);
        guess->value = 1 / guess->value;
    }
    if (own == 0)
        guess->log_likelihood = -INFINITY;
}

/* Masses at another radius: extra = (ratio - 1) lever. The spread is that at the best ratio. */
static void weigh_radius(const cm_view *view, cm_guess *guess)
{
    int n = view->count;
    double complex *d = CM_NEW(view->session, n, double complex),
                   *u = CM_NEW(view->session, n, double complex);
    double complex *extra = CM_NEW(view->session, view->planes, double complex);
    for (int pass = 0; pass < 2; pass++) {
        for (int j = 0; j < view->planes; j++)
            extra[j] = pass ? guess->lever[j] * (guess->value - 1) : 0;
        cm_guess at = *guess;
        at.extra = extra;
        cm_whitener w = whitener_of(view, &at);
        for (int i = 0; i < n; i++) {
            d[i] = view->measured[i] - view->expected[i];
            u[i] = cm_effect_of(view, i, guess->lever);
        }
        whiten(&w, d);
        whiten(&w, u);
        weigh_ratio(view, guess, &w, d, u, 0.3, 0);
    }
}

void cm_weigh_guess(const cm_view *view, cm_guess *guess)
{
    typedef void weigher(const cm_view *, cm_guess *);
    static weigher *const METHODS[] = {
        [CM_TWIST_NONE] = weigh_plain,    [CM_TWIST_CONJUGATE] = weigh_plain,
        [CM_TWIST_SWAP] = weigh_plain,    [CM_TWIST_SHIFT] = weigh_shift,
        [CM_TWIST_SCALE] = weigh_scale,   [CM_TWIST_RADIUS] = weigh_radius,
        [CM_TWIST_CHANGED] = weigh_plain,
    };
    cm_mark mark = cm_mark_of(view->session);
    METHODS[guess->twist](view, guess);
    cm_release_to(view->session, mark);
}

double cm_weigh_stated(cm_view *view, double *std, double *log_of)
{
    cm_guess stated = {.twist = CM_TWIST_NONE};
    double complex *d = CM_NEW(view->session, view->count, double complex);
    difference(view, &stated, d);
    cm_whitener w = whitener_of(view, &stated);
    view->plain = CM_NEW(view->session, 1, cm_whitener);
    *view->plain = w;
    for (int i = 0; i < view->count; i++)
        std[i] = w.deviation[i];
    whiten(&w, d);
    *log_of = log_likelihood(view, &w, squares(view->count, d));
    return squares(view->count, d);
}
