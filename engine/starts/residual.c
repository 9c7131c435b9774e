/* SPDX-License-Identifier: MIT */
/*
 * Residual unbalance from readings, for a rotor that keeps its shape.
 *
 *     r = reading now,  A = influence of the two planes farthest apart
 *     x = -A⁺ r                         the masses that would cancel the readings (rows over their scatter)
 *     U_j = -r_j x_j                    unbalance at the planes, where the heavy spot is
 *     U_k = sum_j c_kj U_j              at the bearings, c_kj signed reactions of statics
 *     dx  = -A⁺ (dy + dA z)             z = masses counted from the base state, x included
 *
 * Its variance: each row's own, and what rows have in common through priors with
 * `common`, Var sum_i g_i e_i = sum |g_i|² V_i + sum_{i≠k} g_i conj(g_k) C_ik, where
 * C_ik = G_i G_k^H - H_i H_k^H along (1, z).
 *
 * A rigid rotor has no more than two unbalances that a bearing can feel, so two
 * planes tell everything. For a rotor that bends, the same arithmetic would
 * mix modes into the answer: it is done only at speeds below 0.7 of the lowest
 * resonance (common practice, no source).
 */
#include "starts/tolerance.h"

#include "linalg/dense.h"
#include "standards/permissible.h"
#include "starts/trial.h"

#include <math.h>

typedef struct {
    cm_session *session;
    const cm_job *job;
    const cm_case *c;
    cm_trial_case now;
    int speed, count;
    int *row; /* count rows used */
    int planes[2];
    double complex x[2];
    double complex *inverse; /* 2 × count: A⁺ */
} cm_resolve;

static bool usable_plane(const cm_case *c, int j)
{
    return !isnan(c->planes[j].position) && !isnan(c->planes[j].radius);
}

/* The two usable planes farthest apart; false when there are no two. */
static bool choose_planes(cm_resolve *s)
{
    const cm_case *c = s->c;
    double farthest = 0;
    for (int i = 0; i < c->plane_count; i++)
        for (int j = i + 1; j < c->plane_count; j++) {
            double distance = fabs(c->planes[i].position - c->planes[j].position);
            if (usable_plane(c, i) && usable_plane(c, j) && distance > farthest) {
                farthest = distance;
                s->planes[0] = i;
                s->planes[1] = j;
            }
        }
    return farthest > 0;
}

static void choose_rows(cm_resolve *s)
{
    const cm_influence *f = s->job->influence;
    s->count = 0;
    for (int i = 0; i < f->rows; i++)
        if (s->c->row_speed[i] == s->speed && s->now.row[i].counted && s->now.row[i].now_told &&
            f->determined[i + s->planes[0] * f->rows] && f->determined[i + s->planes[1] * f->rows])
            s->row[s->count++] = i;
}

/* x and A⁺ at the chosen rows; false when the two planes cannot be told apart there. */
static bool resolve(cm_resolve *s)
{
    const cm_influence *f = s->job->influence;
    int n = s->count, k = n + 1;
    double complex *a = CM_NEW(s->session, 2 * n + 1, double complex);
    double complex *b = CM_NEW(s->session, n * k + 1, double complex);
    double complex *x = CM_NEW(s->session, 2 * k, double complex);
    for (int i = 0; i < n; i++) {
        double weight = 1 / s->now.row[s->row[i]].scatter;
        for (int j = 0; j < 2; j++)
            a[i + j * n] = weight * f->a[s->row[i] + s->planes[j] * f->rows];
        b[i] = -weight * s->now.row[s->row[i]].y;
        b[i + (i + 1) * n] = weight;
    }
    if (n < 2 || cm_least_squares(s->session, n, 2, k, a, n, b, n, x, 2) < 2)
        return false;
    s->x[0] = x[0];
    s->x[1] = x[1];
    s->inverse = x + 2;
    return true;
}

/* The highest speed below `most` at which the readings tell both planes. */
static bool choose_speed(cm_resolve *s, double most)
{
    double best = 0;
    int found = -1;
    for (int k = 0; k < s->c->speed_count; k++) {
        s->speed = k;
        choose_rows(s);
        if (s->c->speeds[k].omega > best && s->c->speeds[k].omega <= most && resolve(s)) {
            best = s->c->speeds[k].omega;
            found = k;
        }
    }
    s->speed = found;
    if (found >= 0) {
        choose_rows(s);
        resolve(s);
    }
    return found >= 0;
}

/* (1, z): how an error of (y, A) enters a reading with the masses that cancel it. */
static const double complex *line_of(const cm_resolve *s)
{
    int planes = s->job->influence->planes;
    double complex *line = CM_NEW(s->session, planes + 1, double complex);
    line[0] = 1;
    for (int j = 0; j < planes; j++)
        line[j + 1] = s->now.now[j] - s->job->runs->base[j] +
                      (j == s->planes[0]   ? s->x[0]
                       : j == s->planes[1] ? s->x[1]
                                           : 0);
    return line;
}

/* Column k of a row's block (`columns` of planes + 1 lines each) times (1, z). */
static double complex along(const cm_resolve *s, const double complex *line, const double complex *factor,
                            int columns, int row, int k)
{
    size_t lines = (size_t)s->job->influence->planes + 1;
    const double complex *column = factor + ((size_t)row * (size_t)columns + (size_t)k) * lines;
    double complex sum = 0;
    for (size_t l = 0; l < lines; l++)
        sum += column[l] * line[l];
    return sum;
}

/* What the errors that rows (of one family; -1: all) share add to sum |gain|² V: |sum gain e|² without its own squares. */
static double shared_variance(const cm_resolve *s, const double complex *line, const double complex *factor,
                              int latents, int family, const double complex *gain)
{
    const int *of = s->job->influence->family;
    double variance = 0;
    for (int k = 0; k < latents && factor; k++) {
        double complex sum = 0;
        for (int i = 0; i < s->count; i++) {
            if (family >= 0 && of[s->row[i]] != family)
                continue;
            double complex part = gain[i] * along(s, line, factor, latents, s->row[i], k);
            sum += part;
            variance -= cm_abs2(part);
        }
        variance += cm_abs2(sum);
    }
    return variance;
}

/* Variance of sum gain (e_y + e_A z). */
static double variance_of(const cm_resolve *s, const double complex *gain)
{
    const cm_influence *f = s->job->influence;
    const double complex *line = line_of(s);
    double variance = 0;
    for (int i = 0; i < s->count; i++)
        for (int k = 0; k <= f->planes; k++)
            variance += cm_abs2(gain[i] * along(s, line, f->factor, f->planes + 1, s->row[i], k));
    variance += shared_variance(s, line, f->common_factor, f->common_count, -1, gain);
    variance -= shared_variance(s, line, f->base_factor, f->common_count, -1, gain);
    for (int family = 0; f->own_width > 0 && family < f->rows; family++)
        variance += shared_variance(s, line, f->own_factor, f->own_width, family, gain);
    return fmax(0, variance);
}

/* Unbalance felt by one bearing, and the circle that holds 90 % of its error. */
static double complex at_bearing(const cm_resolve *s, const double felt[2], double *radius)
{
    double complex gain[2], *row_gain = CM_NEW(s->session, s->count, double complex);
    for (int j = 0; j < 2; j++)
        gain[j] = felt[j] * s->c->planes[s->planes[j]].radius;
    for (int i = 0; i < s->count; i++)
        row_gain[i] = gain[0] * s->inverse[2 * i] + gain[1] * s->inverse[2 * i + 1];
    *radius = CM_TRIAL_USUAL * sqrt(variance_of(s, row_gain));
    return -gain[0] * s->x[0] - gain[1] * s->x[1];
}

static void fill_bearings(const cm_resolve *s, cm_tolerance *t)
{
    const cm_bearing *b = s->c->rotor.bearings;
    double complex *unbalance = CM_NEW(s->session, 2, double complex);
    double *radius = CM_NEW(s->session, 2, double), reaction[2][2];
    for (int j = 0; j < 2; j++)
        cm_reactions(b[0].position, b[1].position, s->c->planes[s->planes[j]].position, reaction[j]);
    for (int k = 0; k < 2; k++)
        unbalance[k] = at_bearing(s, (double[]){reaction[0][k], reaction[1][k]}, &radius[k]);
    t->reached.unbalance = unbalance;
    t->reached.radius = radius;
    for (int i = 0; i < s->count; i++)
        t->reached.assumed |= s->job->influence->scatter_source[s->row[i]] == CM_SCATTER_ASSUMED;
}

/* Grade and verdict: the worse bearing decides; the error counts against the rotor, and for it only in the
 * doubt. */
static void judge(cm_tolerance *t)
{
    double ratio = 0, most = 0, least = 0;
    for (int k = 0; k < 2; k++) {
        double size = cabs(t->reached.unbalance[k]);
        ratio = fmax(ratio, size / t->bearing[k]);
        most = fmax(most, (size + t->reached.radius[k]) / t->bearing[k]);
        least = fmax(least, (size - t->reached.radius[k]) / t->bearing[k]);
    }
    t->reached.grade = ratio * t->grade;
    t->reached.grade_most = most * t->grade;
    t->reached.verdict = most <= 1 ? CM_KEPT : least > 1 ? CM_EXCEEDED : CM_UNDECIDED;
}

/* What stands in the way before readings are looked at. */
static cm_unjudged obstacle(const cm_job *job, const cm_tolerance *t)
{
    return !job->influence                        ? CM_UNJUDGED_READINGS
           : t->bearings != 2                     ? CM_UNJUDGED_BEARINGS
           : t->behaviour == CM_BEHAVIOUR_UNKNOWN ? CM_UNJUDGED_BEHAVIOUR
                                                  : CM_UNJUDGED_NOTHING;
}

void cm_residual_of(cm_session *session, const cm_job *job, cm_tolerance *t)
{
    t->reached = (cm_residual){.speed = -1, .planes = {-1, -1}, .grade = NAN, .grade_most = NAN};
    t->reached.why = obstacle(job, t);
    if (t->reached.why != CM_UNJUDGED_NOTHING)
        return;
    cm_resolve s = {.session = session, .job = job, .c = job->given, .now = cm_trial_open(session, job)};
    s.row = CM_NEW(session, job->influence->rows + 1, int);
    if (!choose_planes(&s))
        t->reached.why = CM_UNJUDGED_PLANES;
    else if (!choose_speed(&s, CM_RIGID_SHARE * t->resonance))
        t->reached.why = CM_UNJUDGED_SPEED;
    if (t->reached.why != CM_UNJUDGED_NOTHING)
        return;
    t->reached.speed = s.speed;
    t->reached.planes[0] = s.planes[0];
    t->reached.planes[1] = s.planes[1];
    fill_bearings(&s, t);
    judge(t);
}
