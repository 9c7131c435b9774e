/* SPDX-License-Identifier: MIT */
/* Three optima at which something is exactly zero.
 *
 * Rest. Sum |x_j - o_j| with x_j = o_j on every plane that can move: nothing is less. Phasors along x_j - o_j on the planes
 * that stand still prove it.
 *
 * Nothing left. With as many unknowns as rows the cones end at readings of 1e-10 or so. The shortest step to B u = -c, in units
 * of caps, is a least-squares problem; a value up to 1e-12 of the scale counts as zero and needs no proof.
 *
 * Fewer planes. Least masses are sparse: planes at o_j exactly. The cones leave 1e-9 there, each time at a cost to the gap.
 * Held at o_j they leave a smaller problem; its dual point is one of the whole problem when the gradient g_j on every
 * held plane has |g_j| ≤ 1: its phasor is -g_j. */
#include "optimise/zero.h"

#include "linalg/dense.h"
#include "optimise/complete.h"
#include "optimise/inner.h"
#include "optimise/solve.h"

#include <math.h>
#include <string.h>

#define EXCESS_ALLOWED 1e-12
/* Values up to this share of the scale may be zero in truth. */
#define NEARLY_NOTHING 1e-5
/* A mass up to this share of the sum may be none in truth. */
#define NEARLY_AT_REST 1e-6
#define FLAW_WANTED 1e-9

static double complex rest_of(const cm_problem *p, int plane)
{
    return p->objective == CM_LEAST_CHANGE ? p->now[plane] : 0;
}

bool cm_try_rest(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    if (!cm_is_about_masses(p->objective))
        return false;
    double complex *none = CM_NEW(session, pre->n, double complex);
    double complex *x = CM_NEW(session, p->planes, double complex);
    cm_presolved_masses(pre, none, x);
    for (int j = 0; j < p->planes; j++)
        if (!pre->still[j])
            x[j] = rest_of(p, j);
    if (!(cm_recheck_violation(p, x) <= EXCESS_ALLOWED))
        return false;
    cm_certificate certificate = cm_certificate_new(session, p);
    for (int j = 0; j < p->planes; j++) {
        double complex away = x[j] - rest_of(p, j);
        certificate.mass[j] = away == 0 ? 0 : away / cabs(away);
    }
    cm_presolved_ties(session, pre, &certificate);
    cm_complete(session, pre, &certificate, x, answer);
    return answer->gap <= FLAW_WANTED;
}

/* ---- nothing left ---- */

/* Size of an unknown: the smallest disc of its plane, else what moves all readings by as much as they are. */
static double size_of(const cm_presolved *pre, int unknown, double column, double readings)
{
    const cm_problem *p = pre->given;
    double size = column > 0 ? readings / column : 1;
    for (int i = 0; i < pre->disc_count && pre->plane; i++)
        if (p->discs[pre->disc[i]].plane == pre->plane[unknown])
            size = fmin(size, p->discs[pre->disc[i]].radius);
    return size;
}

/* What the last digit of an unknown's masses does to the readings: the finest step it can take. */
static double coarseness(const cm_presolved *pre, int unknown, const double complex *x, double column)
{
    double most = 0;
    for (int j = 0; j < pre->given->planes; j++)
        if (!pre->plane || pre->plane[unknown] == j)
            most = fmax(most, cabs(x[j]));
    return most * column;
}

/* u := u - (shortest step to the readings at x), steps counted in sizes of the unknowns; the last step, `fine`, is left to
 * those whose last digits matter least. */
static void step_to_nothing(cm_session *session, const cm_presolved *pre, const double complex *x, bool fine,
                            double complex *u)
{
    const cm_problem *p = pre->given;
    int m = pre->row_count;
    double complex *b = CM_NEW(session, (size_t)m * (size_t)pre->n, double complex);
    double complex *left = CM_NEW(session, m, double complex);
    double complex *r = CM_NEW(session, p->rows, double complex);
    double complex *step = CM_NEW(session, pre->n, double complex);
    double *size = CM_NEW(session, pre->n, double);
    cm_recheck_readings(p, x, r);
    for (int i = 0; i < m; i++) {
        cm_presolved_row(pre, pre->row[i], p->weight[pre->row[i]], b + i, m);
        left[i] = p->weight[pre->row[i]] * r[pre->row[i]];
    }
    for (int k = 0; k < pre->n; k++) {
        double column = cm_norm2(m, b + k * m);
        double coarse = coarseness(pre, k, x, column);
        size[k] = size_of(pre, k, column, cm_value_scale(p));
        if (fine && coarse > 0)
            size[k] = 1 / (coarse * column);
        for (int i = 0; i < m; i++)
            b[i + k * m] *= size[k];
    }
    cm_least_squares(session, m, pre->n, 1, b, m, left, m, step, pre->n);
    for (int k = 0; k < pre->n; k++)
        u[k] -= size[k] * step[k];
}

static bool may_be_nothing(const cm_presolved *pre, const cm_answer *answer)
{
    const cm_problem *p = pre->given;
    bool is_row_sum =
        p->objective == CM_LEAST_SQUARES || p->objective == CM_MIN_MAX || p->objective == CM_WORST_CASE;
    return is_row_sum && answer->gap > FLAW_WANTED && answer->value <= NEARLY_NOTHING * cm_value_scale(p);
}

void cm_try_nothing_left(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    if (!may_be_nothing(pre, answer))
        return;
    double complex *u = CM_NEW(session, pre->n, double complex);
    double complex *x = CM_NEW(session, pre->given->planes, double complex);
    cm_certificate none = cm_certificate_new(session, pre->given);
    cm_unknowns_of(pre, answer->x, u);
    memcpy(x, answer->x, (size_t)pre->given->planes * sizeof *x);
    for (int pass = 0; pass < 3; pass++) {
        step_to_nothing(session, pre, x, pass == 2, u);
        cm_presolved_masses(pre, u, x);
    }
    if (cm_counts_as_zero(pre->given, cm_recheck_value(pre->given, x)) &&
        cm_recheck_violation(pre->given, x) <= EXCESS_ALLOWED)
        cm_complete(session, pre, &none, x, answer);
}

/* ---- fewer planes ---- */

/* The same problem with the planes held that are nearly at rest; NULL when there are none. */
static const cm_problem *with_fewer_planes(cm_session *session, const cm_presolved *pre,
                                           const cm_answer *answer)
{
    const cm_problem *p = pre->given;
    unsigned char *held = CM_NEW(session, p->planes, unsigned char);
    double complex *value = CM_NEW(session, p->planes, double complex);
    int found = 0;
    for (int j = 0; j < p->planes; j++) {
        bool is_held = p->held && p->held[j];
        bool rests = !pre->still[j] && cabs(answer->x[j] - rest_of(p, j)) <= NEARLY_AT_REST * answer->value;
        held[j] = is_held || rests;
        value[j] = is_held ? p->held_value[j] : rest_of(p, j);
        found += rests;
    }
    cm_problem *fewer = CM_NEW(session, 1, cm_problem);
    *fewer = *p;
    fewer->then = 0;
    fewer->held = held;
    fewer->held_value = value;
    return found ? fewer : NULL;
}

static bool ties_hold(cm_session *session, const cm_problem *fewer)
{
    return fewer->tie_count == 0 || cm_affine_set(session, fewer->planes, fewer->tie_count, fewer->ties,
                                                  fewer->tie_value, fewer->held, fewer->held_value, NULL)
                                            .contradiction < 0;
}

static void copy_phasors(int count, double norm, const double complex *from, double complex *to)
{
    for (int i = 0; i < count; i++)
        to[i] = from[i] / norm;
}

/* The dual point of the smaller problem, with the phasors of the held planes from their gradients. */
static cm_certificate certificate_of(cm_session *session, const cm_presolved *pre, const cm_problem *fewer,
                                     const cm_proof *proof)
{
    const cm_problem *p = pre->given;
    cm_certificate c = cm_certificate_new(session, p);
    copy_phasors(p->rows, proof->norm, proof->row_limit, c.row_limit);
    copy_phasors(2 * p->pair_count, proof->norm, proof->pair_limit, c.pair_limit);
    copy_phasors(p->planes, proof->norm, proof->mass, c.mass);
    copy_phasors(p->disc_count, proof->norm, proof->disc, c.disc);
    copy_phasors(p->tie_count, proof->norm, proof->tie, c.tie);
    double complex *gradient = CM_NEW(session, p->planes, double complex);
    cm_presolved_gradient(pre, &c, gradient);
    for (int j = 0; j < p->planes; j++) {
        bool was_free = fewer->held[j] && !(p->held && p->held[j]);
        if (was_free) {
            double complex whole = gradient[j] - c.mass[j];
            c.mass[j] = -whole / fmax(1, cabs(whole));
        }
    }
    return c;
}

void cm_try_fewer_planes(cm_session *session, const cm_presolved *pre, cm_answer *answer)
{
    const cm_problem *p = pre->given;
    if (!cm_is_about_masses(p->objective) || p->keeps || answer->gap <= FLAW_WANTED)
        return;
    const cm_problem *fewer = with_fewer_planes(session, pre, answer);
    if (!fewer || !ties_hold(session, fewer))
        return;
    const cm_answer *part = cm_solve_problem(session, fewer);
    if (part->outcome != CM_OPTIMAL || !part->proof || !(cm_recheck_violation(p, part->x) <= EXCESS_ALLOWED))
        return;
    cm_certificate certificate = certificate_of(session, pre, fewer, part->proof);
    cm_answer candidate = *answer;
    cm_complete(session, pre, &certificate, part->x, &candidate);
    candidate.iterations += part->iterations;
    if (candidate.gap < answer->gap)
        *answer = candidate;
}
