/* SPDX-License-Identifier: MIT */
/* Problem: solve the cones of a problem and bring masses and dual point home.
 *
 * Method: all forms together, F u + c, get new unknowns v in which F has orthonormal columns: F = Q T⁻¹, u = guess + T v.
 * What the condition of A or of the units was is then gone from the cones; directions that no form sees are left at
 * zero. The dual phasors y must satisfy Fᴴ y = 0; with orthonormal columns y -= Q Qᴴ y makes it so to rounding, at
 * a cost in the bound as small as the residual of the interior-point method. */
#include "optimise/conic.h"

#include "linalg/dense.h"
#include "optimise/build.h"

#include <math.h>
#include <string.h>

typedef struct cm_frame {
    int n, rank, m;
    double complex *q; /* m × rank, orthonormal columns */
    double complex *t; /* n × rank: u = guess + t v */
    double complex *c; /* m: forms at the guess */
} cm_frame;

static double *column_norms(cm_session *session, const cm_build *b)
{
    double *norm = CM_NEW(session, b->pre->n, double);
    for (int k = 0; k < b->pre->n; k++) {
        norm[k] = cm_norm2(b->forms, b->f + (size_t)k * (size_t)b->form_room);
        if (!(norm[k] > 0))
            norm[k] = 1;
    }
    return norm;
}

/* r (n × n) := triangle, q (m × n) := orthonormal columns of F D⁻¹; m ≥ n by zero rows. */
static void orthogonalise(cm_session *session, const cm_build *b, const double *norm, int m,
                          double complex *q, double complex *r)
{
    int n = b->pre->n;
    double complex *a = CM_NEW(session, m * n, double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    for (int k = 0; k < n; k++)
        for (int i = 0; i < b->forms; i++)
            a[i + k * m] = b->f[i + k * b->form_room] / norm[k];
    cm_qr(session, m, n, a, m, tau);
    for (int k = 0; k < n; k++) {
        q[k + k * m] = 1;
        for (int i = 0; i <= k; i++)
            r[i + k * n] = a[i + k * m];
    }
    cm_qr_times_q(session, m, n, n, a, m, tau, q, m);
}

/* R = U S Vᴴ; directions below the rank tolerance are dropped: q := q U, t := D⁻¹ V S⁻¹. */
static void drop_unseen(cm_session *session, cm_frame *frame, double complex *q, double complex *r,
                        const double *norm)
{
    int n = frame->n;
    double *s = CM_NEW(session, n, double);
    double complex *u = CM_NEW(session, n * n, double complex);
    double complex *v = CM_NEW(session, n * n, double complex);
    cm_svd(session, n, n, r, n, s, u, v);
    while (frame->rank < n && s[frame->rank] > CM_RANK_TOLERANCE * s[0])
        frame->rank++;
    cm_multiply(false, false, frame->m, frame->rank, n, 1, q, frame->m, u, n, 0, frame->q, frame->m);
    for (int k = 0; k < frame->rank; k++)
        for (int i = 0; i < n; i++)
            frame->t[i + k * n] = v[i + k * n] / (s[k] * norm[i]);
}

static cm_frame make_frame(cm_session *session, const cm_build *b, const double complex *guess)
{
    int n = b->pre->n;
    int m = b->forms > n ? b->forms : n;
    cm_frame frame = {.n = n,
                      .m = m,
                      .q = CM_NEW(session, m * n, double complex),
                      .t = CM_NEW(session, n * n, double complex),
                      .c = CM_NEW(session, m, double complex)};
    double *norm = column_norms(session, b);
    double complex *q = CM_NEW(session, m * n, double complex);
    double complex *r = CM_NEW(session, n * n, double complex);
    orthogonalise(session, b, norm, m, q, r);
    drop_unseen(session, &frame, q, r, norm);
    memcpy(frame.c, b->c, (size_t)b->forms * sizeof *b->c);
    cm_matvec(false, b->forms, n, 1, b->f, b->form_room, guess, 1, frame.c);
    return frame;
}

/* ---- real cones ---- */

static int count_rows(const cm_build *b, int *size)
{
    int rows = 0;
    for (int k = 0; k < b->balls; k++)
        rows += size[k] = 1 + 2 * b->ball[k].forms;
    return rows;
}

static void fill_form(const cm_frame *frame, int form, int row, int rows, double *g, double *h)
{
    h[row] = creal(frame->c[form]);
    h[row + 1] = cimag(frame->c[form]);
    for (int k = 0; k < frame->rank; k++) {
        double complex q = frame->q[form + k * frame->m];
        g[row + 2 * k * rows] = -creal(q);
        g[row + (2 * k + 1) * rows] = cimag(q);
        g[row + 1 + 2 * k * rows] = -cimag(q);
        g[row + 1 + (2 * k + 1) * rows] = -creal(q);
    }
}

static cm_cone_problem make_cones(cm_session *session, const cm_build *b, const cm_frame *frame)
{
    int variables = 2 * frame->rank + b->scalars;
    int *size = CM_NEW(session, b->balls, int);
    int rows = count_rows(b, size);
    double *g = CM_NEW(session, rows * variables, double);
    double *h = CM_NEW(session, rows, double);
    double *c = CM_NEW(session, variables, double);
    memcpy(c + 2 * frame->rank, b->cost, (size_t)b->scalars * sizeof *c);
    int row = 0;
    for (int k = 0; k < b->balls; k++) {
        const cm_ball *ball = &b->ball[k];
        h[row] = ball->t0;
        for (int t = 0; t < ball->terms; t++)
            g[row + (2 * frame->rank + ball->scalar[t]) * rows] = -ball->factor[t];
        for (int i = 0; i < ball->forms; i++)
            fill_form(frame, ball->first + i, row + 1 + 2 * i, rows, g, h);
        row += size[k];
    }
    return (cm_cone_problem){variables, rows, b->balls, size, g, h, c};
}

/* ---- the way back ---- */

static double complex *dual_phasors(cm_session *session, const cm_build *b, const cm_frame *frame,
                                    const double *z)
{
    double complex *y = CM_NEW(session, frame->m, double complex);
    int row = 0;
    for (int k = 0; k < b->balls; k++) {
        for (int i = 0; i < b->ball[k].forms; i++)
            y[b->ball[k].first + i] = cm_pack(z[row + 1 + 2 * i], z[row + 2 + 2 * i]);
        row += 1 + 2 * b->ball[k].forms;
    }
    double complex *along = CM_NEW(session, frame->rank, double complex);
    for (int pass = 0; pass < 2; pass++) {
        cm_matvec(true, frame->m, frame->rank, 1, frame->q, frame->m, y, 0, along);
        cm_matvec(false, frame->m, frame->rank, -1, frame->q, frame->m, along, 1, y);
    }
    return y;
}

static void fill_certificate(cm_session *session, cm_build *b, const cm_frame *frame, const double *z)
{
    const double complex *y = dual_phasors(session, b, frame, z);
    for (int i = 0; i < b->forms; i++)
        *b->slot[i] -= b->scale[i] * y[i];
    cm_presolved_ties(session, b->pre, &b->certificate);
}

static void fill_masses(cm_session *session, const cm_presolved *pre, const cm_frame *frame,
                        const double complex *guess, const double *v, cm_conic_answer *answer)
{
    double complex *complex_v = CM_NEW(session, frame->rank, double complex);
    answer->u = CM_NEW(session, pre->n, double complex);
    answer->x = CM_NEW(session, pre->given->planes, double complex);
    for (int k = 0; k < frame->rank; k++)
        complex_v[k] = cm_pack(v[2 * k], v[2 * k + 1]);
    memcpy(answer->u, guess, (size_t)pre->n * sizeof *guess);
    cm_matvec(false, pre->n, frame->rank, 1, frame->t, pre->n, complex_v, 1, answer->u);
    cm_presolved_masses(pre, answer->u, answer->x);
}

cm_conic_answer cm_conic_solve(cm_session *session, const cm_presolved *pre, const double complex *guess,
                               double kappa, bool orthogonal)
{
    cm_build build = cm_build_cones(session, pre, guess, kappa);
    cm_frame frame = make_frame(session, &build, guess);
    cm_cone_problem cones = make_cones(session, &build, &frame);
    cm_cone_answer found = cm_cone_solve(session, &cones, orthogonal);
    cm_conic_answer answer = {.infeasible = found.outcome == CM_CONE_INFEASIBLE,
                              .merit = found.merit,
                              .iterations = found.iterations};
    build.certificate.infeasibility = answer.infeasible;
    fill_certificate(session, &build, &frame, found.z);
    answer.certificate = build.certificate;
    fill_masses(session, pre, &frame, guess, found.x, &answer);
    return answer;
}

/* ---- a series of ratios ---- */

struct cm_conic_series {
    cm_session *session;
    const cm_presolved *pre;
    const double complex *guess;
    cm_build build;
    cm_frame frame;
    cm_cone_problem cones;
    double *h;
    cm_cone_answer last;
    bool begun;
};

cm_conic_series *cm_conic_open(cm_session *session, const cm_presolved *pre, const double complex *guess)
{
    cm_conic_series *s = CM_NEW(session, 1, cm_conic_series);
    s->session = session;
    s->pre = pre;
    s->guess = guess;
    s->build = cm_build_cones(session, pre, guess, 0);
    s->build.to = &s->build.certificate;
    s->frame = make_frame(session, &s->build, guess);
    s->cones = make_cones(session, &s->build, &s->frame);
    s->h = CM_NEW(session, s->cones.rows, double);
    memcpy(s->h, s->cones.h, (size_t)s->cones.rows * sizeof *s->h);
    s->cones.h = s->h;
    return s;
}

static void bound_limits(cm_conic_series *s, double ratio)
{
    int row = 0;
    for (int k = 0; k < s->build.balls; k++) {
        if (s->build.ball[k].limit)
            s->h[row] = ratio;
        row += s->cones.size[k];
    }
}

cm_conic_answer cm_conic_next(cm_conic_series *s, double ratio)
{
    bound_limits(s, ratio);
    cm_cone_answer found = s->begun ? cm_cone_solve_near(s->session, &s->cones, &s->last)
                                    : cm_cone_solve(s->session, &s->cones, false);
    cm_conic_answer answer = {.infeasible = found.outcome == CM_CONE_INFEASIBLE,
                              .merit = found.merit,
                              .iterations = found.iterations};
    s->begun = !answer.infeasible;
    s->last = found;
    for (int i = 0; i < s->build.forms; i++)
        *s->build.slot[i] = 0;
    fill_certificate(s->session, &s->build, &s->frame, found.z);
    answer.certificate = s->build.certificate;
    answer.certificate.infeasibility = answer.infeasible;
    fill_masses(s->session, s->pre, &s->frame, s->guess, found.x, &answer);
    return answer;
}
