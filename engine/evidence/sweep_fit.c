/* SPDX-License-Identifier: MIT */
/*
 * Problem: r_s(W) = c_s + sum_m R_ms f_ms(W),  f_ms = (i W/w_m)^d_s W² / (w_m² - W² + 2 i z_m w_m W), with poles (w_m, z_m)
 * common to all channels s, by least squares over all points. d_s is 0 for a displacement, 1 for a velocity, 2 for an
 * acceleration: its readings are derivatives of the unbalance response.
 *
 * Method: variable projection (Golub and Pereyra, SIAM J. Numer. Anal. 10, 1973; value from memory). For given poles the
 * constants c, R are linear: with Q an orthonormal basis of the channel's columns [1 f_1 … f_M], what is left is
 * (1 - Q Qᴴ) r. Its Jacobian over p = (ln w_m, ln z_m) is taken as -(1 - Q Qᴴ) (df_m/dp) R_ms (Kaufman, BIT 15, 1975; from
 * memory): the term left out lies in the span of Q, so that the gradient is exact; so does what w_m in (i W/w_m)^d adds. Levenberg's damping does the rest.
 *
 * Poles start from a scan: the best of a grid of (w, z) beside those found already, on thinned data. A mode is added while
 * it lowers BIC = N ln(RSS/N) + p ln N. Why not rational fitting: the constant and the W² of unbalance are built in, and
 * two numbers a mode are all that is nonlinear.
 */
#include "evidence/sweep_fit.h"
#include "linalg/dense.h"
#include "linalg/real.h"

#include <math.h>

#undef I

enum { STEPS = 60, SCAN_SPEEDS = 48, SCAN_POINTS = 48 };
static const double SCAN_DAMPING[] = {0.01, 0.03, 0.1, 0.25};
static const double LEAST_DAMPING = 1e-4, MOST_DAMPING = 0.99;
static const double EXACT =
    1e-10; /* share of the data below which the fit is exact and no further mode is sought */

typedef struct cm_poles {
    int modes;
    double omega[CM_MOST_MODES], damping[CM_MOST_MODES];
} cm_poles;

static double complex mode_of(double w, double z, double omega)
{
    return omega * omega / cm_pack(w * w - omega * omega, 2 * z * w * omega);
}

/* (i ratio)^n, n = 0, 1, 2 */
static double complex derivative_of(int n, double ratio)
{
    return n == 0 ? 1 : n == 1 ? cm_pack(0, ratio) : -ratio * ratio;
}

/* df/d ln w and df/d ln z. */
static double complex mode_slope(double w, double z, double omega, int which)
{
    double complex d = cm_pack(w * w - omega * omega, 2 * z * w * omega);
    double complex change = which ? cm_pack(0, 2 * z * w * omega) : cm_pack(2 * w * w, 2 * z * w * omega);
    return -omega * omega / d * change / d;
}

/* ---- one channel ---- */

typedef struct cm_channel {
    int points, columns, derivative;
    const double *omega;
    double complex *basis;    /* points × columns, orthonormal */
    double complex *triangle; /* columns × columns: design = basis · triangle */
    double complex *left;     /* points: weighted data less their projection */
    double complex *amount;   /* columns: constant, residues (weighted) */
} cm_channel;

static void fill_column(const cm_channel *c, const cm_poles *p, int column, double complex *v)
{
    for (int k = 0; k < c->points; k++)
        v[k] = column == 0 ? 1
                           : mode_of(p->omega[column - 1], p->damping[column - 1], c->omega[k]) *
                                 derivative_of(c->derivative, c->omega[k] / p->omega[column - 1]);
}

/* x := (1 - Q Qᴴ) x over the first `columns`; `along` (may be NULL) receives Qᴴ x. */
static void project_out(const cm_channel *c, int columns, double complex *x, double complex *along)
{
    for (int q = 0; q < columns; q++) {
        const double complex *b = c->basis + (size_t)q * (size_t)c->points;
        double complex sum = 0;
        for (int k = 0; k < c->points; k++)
            sum += conj(b[k]) * x[k];
        for (int k = 0; k < c->points; k++)
            x[k] -= sum * b[k];
        if (along)
            along[q] += sum;
    }
}

/* Gram-Schmidt, twice: a handful of columns that may be nearly alike. */
static void orthogonalise(cm_channel *c, const cm_poles *p)
{
    for (int j = 0; j < c->columns; j++) {
        double complex *v = c->basis + (size_t)j * (size_t)c->points;
        double complex *t = c->triangle + (size_t)j * (size_t)c->columns;
        fill_column(c, p, j, v);
        double before = cm_norm2(c->points, v);
        for (int i = 0; i < c->columns; i++)
            t[i] = 0;
        project_out(c, j, v, t);
        project_out(c, j, v, t);
        double norm = cm_norm2(c->points, v);
        t[j] = norm;
        for (int k = 0; k < c->points; k++)
            v[k] = norm > 1e-13 * before ? v[k] / norm : 0;
    }
}

static void solve_channel(cm_channel *c, const cm_poles *p, const double complex *value, double weight)
{
    orthogonalise(c, p);
    for (int k = 0; k < c->points; k++)
        c->left[k] = weight * value[k];
    for (int j = 0; j < c->columns; j++)
        c->amount[j] = 0;
    project_out(c, c->columns, c->left, c->amount);
    for (int j = c->columns - 1; j >= 0; j--) {
        for (int i = j + 1; i < c->columns; i++)
            c->amount[j] -= c->triangle[j + i * c->columns] * c->amount[i];
        double complex pivot = c->triangle[j + j * c->columns];
        c->amount[j] = pivot != 0 ? c->amount[j] / pivot : 0;
    }
}

/* ---- all channels ---- */

typedef struct cm_state {
    const cm_sweep_data *data;
    cm_poles poles;
    cm_channel *channel;
    double squares;
} cm_state;

static void set_poles(cm_state *s, const cm_poles *poles)
{
    s->poles = *poles;
    s->squares = 0;
    for (int c = 0; c < s->data->channels; c++) {
        cm_channel *channel = &s->channel[c];
        channel->columns = 1 + poles->modes;
        solve_channel(channel, poles, s->data->value + s->data->first[c], s->data->weight[c]);
        double norm = cm_norm2(channel->points, channel->left);
        s->squares += norm * norm;
    }
}

static cm_state new_state(cm_session *session, const cm_sweep_data *data)
{
    cm_state s = {.data = data, .channel = CM_NEW(session, data->channels, cm_channel)};
    const size_t columns = 1 + CM_MOST_MODES;
    for (int c = 0; c < data->channels; c++) {
        size_t points = (size_t)(data->first[c + 1] - data->first[c]);
        s.channel[c] = (cm_channel){.points = (int)points,
                                    .derivative = data->derivative[c],
                                    .omega = data->omega + data->first[c],
                                    .basis = CM_NEW(session, points * columns, double complex),
                                    .triangle = CM_NEW(session, columns * columns, double complex),
                                    .left = CM_NEW(session, points, double complex),
                                    .amount = CM_NEW(session, columns, double complex)};
    }
    return s;
}

/* Column i of the projected Jacobian of a channel. */
static void jacobian_column(const cm_state *s, const cm_channel *channel, int i, double complex *column)
{
    for (int k = 0; k < channel->points; k++)
        column[k] = -channel->amount[1 + i / 2] *
                    mode_slope(s->poles.omega[i / 2], s->poles.damping[i / 2], channel->omega[k], i % 2) *
                    derivative_of(channel->derivative, channel->omega[k] / s->poles.omega[i / 2]);
    project_out(channel, channel->columns, column, NULL);
}

static double real_dot(int n, const double complex *a, const double complex *b)
{
    double sum = 0;
    for (int k = 0; k < n; k++)
        sum += creal(conj(a[k]) * b[k]);
    return sum;
}

/* Normal matrix (n × n, upper triangle) and gradient of the projected residual over (ln w, ln z) of every mode. */
static void normal_equations(cm_session *session, const cm_state *s, double *h, double *g)
{
    int n = 2 * s->poles.modes;
    double complex *j[2 * CM_MOST_MODES];
    for (int i = 0; i < n * n; i++)
        h[i] = 0;
    for (int i = 0; i < n; i++)
        g[i] = 0;
    for (int c = 0; c < s->data->channels; c++) {
        const cm_channel *channel = &s->channel[c];
        cm_mark mark = cm_mark_of(session);
        for (int i = 0; i < n; i++) {
            j[i] = CM_NEW(session, channel->points, double complex);
            jacobian_column(s, channel, i, j[i]);
            for (int q = 0; q <= i; q++)
                h[q + i * n] += real_dot(channel->points, j[q], j[i]);
            g[i] += real_dot(channel->points, j[i], channel->left);
        }
        cm_release_to(session, mark);
    }
}

/* Levenberg's step: (H + lambda diag H) d = -g; false when it cannot be solved. */
static bool step_of(cm_session *session, int n, const double *h, const double *g, double lambda, double *d)
{
    double a[4 * CM_MOST_MODES * CM_MOST_MODES] = {0};
    for (int i = 0; i < n * n; i++)
        a[i] = h[i];
    for (int i = 0; i < n; i++) {
        a[i + i * n] += lambda * h[i + i * n] + 1e-300;
        d[i] = -g[i];
    }
    if (!cm_real_cholesky(session, n, a))
        return false;
    cm_real_solve(n, a, d);
    return true;
}

static cm_poles moved(const cm_poles *from, const double *d)
{
    cm_poles to = *from;
    for (int m = 0; m < from->modes; m++) {
        to.omega[m] *= exp(fmax(-0.3, fmin(0.3, d[2 * m])));
        to.damping[m] *= exp(fmax(-1, fmin(1, d[2 * m + 1])));
        to.damping[m] = fmin(MOST_DAMPING, fmax(LEAST_DAMPING, to.damping[m]));
    }
    return to;
}

/* From the poles at hand to the nearest minimum. */
static void descend(cm_session *session, cm_state *s)
{
    double h[4 * CM_MOST_MODES * CM_MOST_MODES] = {0}, g[2 * CM_MOST_MODES] = {0};
    double d[2 * CM_MOST_MODES] = {0}, lambda = 1e-3;
    int n = 2 * s->poles.modes;
    for (int step = 0; step < STEPS && lambda < 1e12; step++) {
        cm_ask_stop(session);
        normal_equations(session, s, h, g);
        cm_poles before = s->poles;
        double squares = s->squares, gain = -1;
        while (gain < 0 && lambda < 1e12) {
            if (step_of(session, n, h, g, lambda, d)) {
                cm_poles next = moved(&before, d);
                set_poles(s, &next);
                gain = squares - s->squares;
            }
            lambda = gain >= 0 ? fmax(1e-12, lambda / 10) : fmax(1e-12, lambda) * 10;
        }
        if (gain < 0)
            set_poles(s, &before);
        double size = 0;
        for (int i = 0; i < n; i++)
            size = fmax(size, fabs(d[i]));
        if (size < 1e-13 || (gain >= 0 && gain <= 1e-15 * squares && size < 1e-9))
            break;
    }
}

/* ---- the scan ---- */

/* At most SCAN_POINTS points of every channel. */
static cm_sweep_data thinned(cm_session *session, const cm_sweep_data *all)
{
    int total = all->first[all->channels], at = 0;
    int *first = CM_NEW(session, all->channels + 1, int);
    double *omega = CM_NEW(session, total, double);
    double complex *value = CM_NEW(session, total, double complex);
    for (int c = 0; c < all->channels; c++) {
        int points = all->first[c + 1] - all->first[c], step = points / SCAN_POINTS + 1;
        for (int k = all->first[c]; k < all->first[c + 1]; k += step, at++) {
            omega[at] = all->omega[k];
            value[at] = all->value[k];
        }
        first[c + 1] = at;
    }
    return (cm_sweep_data){all->channels, first, omega, value, all->weight, all->derivative};
}

static void speed_range(const cm_sweep_data *data, double *low, double *high)
{
    *low = INFINITY;
    *high = 0;
    for (int k = 0; k < data->first[data->channels]; k++) {
        *low = fmin(*low, data->omega[k]);
        *high = fmax(*high, data->omega[k]);
    }
}

/* The grid point that, beside the poles found already, leaves least. */
static cm_poles with_best_of_grid(cm_state *thin, const cm_poles *found)
{
    double low, high, least = INFINITY;
    cm_poles best = *found, trial = *found;
    speed_range(thin->data, &low, &high);
    trial.modes = found->modes + 1;
    for (int i = 0; i < SCAN_SPEEDS; i++)
        for (size_t z = 0; z < sizeof SCAN_DAMPING / sizeof *SCAN_DAMPING; z++) {
            trial.omega[found->modes] = 0.7 * low + (1.3 * high - 0.7 * low) * (i + 0.5) / SCAN_SPEEDS;
            trial.damping[found->modes] = SCAN_DAMPING[z];
            set_poles(thin, &trial);
            if (thin->squares < least) {
                least = thin->squares;
                best = trial;
            }
        }
    return best;
}

static double parameters_of(const cm_sweep_data *data, int modes)
{
    return 2.0 * modes + 2.0 * data->channels * (modes + 1);
}

static double criterion(const cm_state *s, int modes)
{
    double n = 2.0 * s->data->first[s->data->channels];
    return n * log(s->squares / n + 1e-300) + parameters_of(s->data, modes) * log(n);
}

static void sort_modes(cm_poles *p)
{
    for (int i = 1; i < p->modes; i++)
        for (int k = i; k > 0 && p->omega[k - 1] > p->omega[k]; k--) {
            double w = p->omega[k], z = p->damping[k];
            p->omega[k] = p->omega[k - 1];
            p->damping[k] = p->damping[k - 1];
            p->omega[k - 1] = w;
            p->damping[k - 1] = z;
        }
}

/* ---- result ---- */

/* Standard deviations from s² H⁻¹, s² = RSS over the degrees of freedom. */
static void fill_std(cm_session *session, const cm_state *s, cm_sweep_model *model)
{
    int n = 2 * model->modes;
    double h[4 * CM_MOST_MODES * CM_MOST_MODES], g[2 * CM_MOST_MODES], d[2 * CM_MOST_MODES];
    double dof = 2.0 * model->points - parameters_of(s->data, model->modes);
    normal_equations(session, s, h, g);
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < n; k++)
            g[k] = k == i ? -1 : 0;
        bool told = dof > 0 && step_of(session, n, h, g, 0, d) && d[i] > 0;
        double std = told ? sqrt(s->squares / dof * d[i]) : NAN;
        (i % 2 ? model->damping_std : model->omega_std)[i / 2] =
            std * (i % 2 ? model->damping : model->omega)[i / 2];
    }
}

static cm_sweep_model result_of(cm_session *session, const cm_state *s, double whole)
{
    const cm_sweep_data *data = s->data;
    cm_sweep_model model = {
        .modes = s->poles.modes, .squares = s->squares, .share = sqrt(s->squares / whole)};
    model.points = data->first[data->channels];
    model.derivative = data->derivative;
    model.run_out = CM_NEW(session, data->channels, double complex);
    model.residue = CM_NEW(session, (size_t)data->channels * CM_MOST_MODES, double complex);
    for (int m = 0; m < model.modes; m++) {
        model.omega[m] = s->poles.omega[m];
        model.damping[m] = s->poles.damping[m];
    }
    for (int c = 0; c < data->channels; c++) {
        model.run_out[c] = s->channel[c].amount[0] / data->weight[c];
        for (int m = 0; m < model.modes; m++)
            model.residue[m + c * CM_MOST_MODES] = s->channel[c].amount[1 + m] / data->weight[c];
    }
    fill_std(session, s, &model);
    return model;
}

static double whole_of(const cm_sweep_data *data)
{
    double sum = 0;
    for (int c = 0; c < data->channels; c++)
        for (int k = data->first[c]; k < data->first[c + 1]; k++)
            sum += cm_abs2(data->weight[c] * data->value[k]);
    return sum;
}

cm_sweep_model cm_fit_sweep(cm_session *session, const cm_sweep_data *data, int most)
{
    cm_sweep_model none = {.points = data->first[data->channels]};
    double whole = whole_of(data);
    if (none.points < 8 || !(whole > 0))
        return none;
    cm_state full = new_state(session, data);
    cm_sweep_data *few = CM_NEW(session, 1, cm_sweep_data);
    *few = thinned(session, data);
    cm_state thin = new_state(session, few);
    cm_poles found = {0}, best = {0};
    set_poles(&full, &found);
    double least = criterion(&full, 0);
    for (int modes = 1; modes <= most && full.squares > EXACT * EXACT * whole &&
                        parameters_of(data, modes) < 2.0 * none.points;
         modes++) {
        found = with_best_of_grid(&thin, &found);
        set_poles(&full, &found);
        descend(session, &full);
        found = full.poles;
        double own = criterion(&full, modes);
        if (own >= least)
            break;
        least = own;
        best = found;
    }
    sort_modes(&best);
    set_poles(&full, &best);
    return best.modes ? result_of(session, &full, whole) : none;
}

double complex cm_sweep_curve(const cm_sweep_model *model, int channel, double omega, double complex *slope)
{
    double complex sum = 0, rise = 0;
    for (int m = 0; m < model->modes; m++) {
        double w = model->omega[m], z = model->damping[m];
        double complex r = model->residue[m + channel * CM_MOST_MODES];
        double complex d = cm_pack(w * w - omega * omega, 2 * z * w * omega);
        int n = model->derivative[channel];
        double complex f = r * derivative_of(n, omega / w) * omega * omega / d;
        sum += f;
        rise += f * ((2 + n) / omega - cm_pack(-2 * omega, 2 * z * w) / d);
    }
    *slope = rise;
    return sum;
}

void cm_half_power(double omega, double damping, double *low, double *high)
{
    *low = omega * (sqrt(1 + damping * damping) - damping);
    *high = omega * (sqrt(1 + damping * damping) + damping);
}

double cm_peak_speed(double omega, double damping)
{
    return 2 * damping * damping < 1 ? omega / sqrt(1 - 2 * damping * damping) : INFINITY;
}
