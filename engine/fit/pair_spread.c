/* SPDX-License-Identifier: MIT */
/*
 * Problem: part = m_0 r_x + m_1 r_y of two rows; a square factor of the covariance of (y, a_1 … a_M) of the part.
 *
 *     C = |m_0|² F_x F_xᴴ + |m_1|² F_y F_yᴴ + m_0 m̄_1 X + (m_0 m̄_1 X)ᴴ,    X = G_x G_yᴴ - H_x H_yᴴ
 *
 * X, what the rows have in common through priors, is mostly absent: then the factor is Rᴴ of the QR factors of the
 * adjoint of [m_0 F_x, m_1 F_y], and nothing is squared. Else the eigenvectors of C scaled to a unit diagonal.
 */
#include "fit/pair_spread.h"

#include "linalg/dense.h"

#include <math.h>

#undef I

typedef struct cm_mixture {
    const cm_influence *influence;
    int lines; /* planes + 1 */
    int rows;  /* 1 or 2 */
    int row[2];
    double complex mix[2];
} cm_mixture;

static const double complex *block(const cm_mixture *m, const double complex *blocks, int which, int columns)
{
    return blocks + (size_t)m->row[which] * (size_t)m->lines * (size_t)columns;
}

/* The adjoint of [m_0 F_x, m_1 F_y], (rows·lines) × lines. */
static double complex *side_by_side(cm_session *session, const cm_mixture *m)
{
    int lines = m->lines, height = m->rows * lines;
    double complex *adjoint = CM_NEW(session, (size_t)height * (size_t)lines, double complex);
    for (int w = 0; w < m->rows; w++) {
        const double complex *f = block(m, m->influence->factor, w, lines);
        for (int l = 0; l < lines; l++)
            for (int q = 0; q < lines; q++)
                adjoint[w * lines + q + l * height] = conj(m->mix[w] * f[l + q * lines]);
    }
    return adjoint;
}

static void independent(cm_session *session, const cm_mixture *m, double complex *factor)
{
    int lines = m->lines, height = m->rows * lines;
    double complex *adjoint = side_by_side(session, m);
    double complex *tau = CM_NEW(session, lines, double complex);
    cm_qr(session, height, lines, adjoint, height, tau);
    for (int l = 0; l < lines; l++)
        for (int q = 0; q <= l; q++)
            factor[l + q * lines] = conj(adjoint[q + l * height]);
}

/* c += m_0 m̄_1 X and its adjoint. */
static void add_common(const cm_mixture *m, double complex *c)
{
    int lines = m->lines, count = m->influence->common_count;
    const double complex *gx = block(m, m->influence->common_factor, 0, count);
    const double complex *gy = block(m, m->influence->common_factor, 1, count);
    const double complex *hx = block(m, m->influence->base_factor, 0, count);
    const double complex *hy = block(m, m->influence->base_factor, 1, count);
    double complex times = m->mix[0] * conj(m->mix[1]);
    for (int a = 0; a < lines; a++)
        for (int b = 0; b < lines; b++) {
            double complex x = 0;
            for (int k = 0; k < count; k++)
                x +=
                    gx[a + k * lines] * conj(gy[b + k * lines]) - hx[a + k * lines] * conj(hy[b + k * lines]);
            c[a + b * lines] += times * x;
            c[b + a * lines] += conj(times * x);
        }
}

static void correlated(cm_session *session, const cm_mixture *m, double complex *factor)
{
    int lines = m->lines, height = m->rows * lines;
    double complex *adjoint = side_by_side(session, m);
    double *scale = CM_NEW(session, lines, double), *values = CM_NEW(session, lines, double);
    cm_multiply(true, false, lines, lines, height, 1, adjoint, height, adjoint, height, 0, factor, lines);
    add_common(m, factor);
    for (int l = 0; l < lines; l++) {
        double square = creal(factor[l + l * lines]);
        scale[l] = square > 0 ? sqrt(square) : 0;
    }
    for (int a = 0; a < lines; a++)
        for (int b = 0; b < lines; b++)
            factor[a + b * lines] =
                scale[a] > 0 && scale[b] > 0 ? factor[a + b * lines] / (scale[a] * scale[b]) : 0;
    cm_eigen(session, lines, factor, lines, values);
    for (int q = 0; q < lines; q++)
        for (int l = 0; l < lines; l++)
            factor[l + q * lines] *= scale[l] * sqrt(fmax(0, values[q]));
}

static cm_mixture mixture_of(const cm_influence *influence, const cm_pair *pair, int part)
{
    cm_mixture m = {.influence = influence, .lines = influence->planes + 1, .rows = 1, .mix = {1}};
    m.row[0] = !pair->parts && part == 1 ? pair->backward : pair->forward;
    if (pair->parts) {
        m.rows = 2;
        m.row[1] = pair->backward;
        m.mix[0] = pair->mix[2 * part];
        m.mix[1] = pair->mix[2 * part + 1];
    }
    return m;
}

static const double complex *spread_of(cm_session *session, const cm_influence *influence,
                                       const cm_pair *pair)
{
    int parts = pair->parts ? pair->parts : pair->backward < 0 ? 1 : 2;
    size_t size = (size_t)(influence->planes + 1) * (size_t)(influence->planes + 1);
    double complex *factors = CM_NEW(session, (size_t)parts * size, double complex);
    for (int k = 0; k < parts; k++) {
        cm_mixture m = mixture_of(influence, pair, k);
        bool together = influence->common_count > 0 && m.rows == 2;
        (together ? correlated : independent)(session, &m, factors + (size_t)k * size);
    }
    return factors;
}

void cm_put_pair_spreads(cm_session *session, const cm_influence *influence, cm_problem *problem)
{
    cm_pair *pairs = CM_NEW(session, problem->pair_count, cm_pair);
    for (int k = 0; k < problem->pair_count; k++) {
        pairs[k] = problem->pairs[k];
        pairs[k].spread = spread_of(session, influence, &pairs[k]);
    }
    problem->pairs = pairs;
}
