/* SPDX-License-Identifier: MIT */
/* Problem: for one row, from the runs k that read it,
 *
 *     v_k = y0 + sum_j m_kj a_j + e_k             E|e_k|² = sigma²
 *     a_j = value_j + u_j ( sqrt(1 - c) h_j + sqrt(c) p_j g_j )     where there is a prior; h_j, g_j ~ N(0, 1)
 *
 * A reading of weight w counts as w of its kind: E|e_k|² = sigma²/w, its equation is multiplied by sqrt(w).
 *
 * y0 as-found reading, c the share `common`, p_j the phase factor of value_j, g_j the latent error that all rows of one
 * block have together for plane j.
 *
 * Method: divided by sigma, with unknowns w = (y0/sigma, a_j s_j/sigma, h_j):
 *
 *     [ 1   m_kj/s_j   m_kj u_j sqrt(1-c)/sigma ]       [ latent part ]       [ (v_k - sum m_kj value_j)/sigma ]
 *     [ 0      0                  1             ] w  +  [      0      ] g  =  [               0                ]
 *     [        Nᴴ                 0             ]       [      0      ]       [               0                ]
 *
 * by Householder QR. Writing a prior by its standardised error h keeps every entry well scaled: tight, loose and
 * wholly common priors (c = 1) need no special case, and no weight grows without bound. The rows Nᴴ (N: orthonormal null
 * space) pick the shortest solution where runs and priors leave something open; they disturb nothing else. Rows without
 * priors do not depend on sigma: one factorisation serves all rows of the group.
 */
#include "fit/system.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

double complex cm_latent_strength(const cm_known *known)
{
    double size = cabs(known->value);
    return size > 0 ? known->uncertainty * sqrt(known->common) / size * known->value : 0;
}

double cm_own_strength(const cm_known *known)
{
    /* A coefficient of 0 has no relative error to share: all of its uncertainty is its own. */
    double share = cabs(known->value) > 0 ? known->common : 0;
    return known->uncertainty * sqrt(1 - share);
}

static double column_scale(const cm_evidence *evidence, const cm_system *system, int column)
{
    int plane = system->group->plane[column];
    if (!system->group->prior[column])
        return 1 / evidence->scale[plane + 1];
    return cm_own_strength(cm_known_of(evidence, system->group->row[system->first], plane)) / system->sigma;
}

static void fill_matrix(const cm_evidence *evidence, cm_system *system)
{
    const cm_group *group = system->group;
    int m = system->m, below = group->runs;
    for (int c = 0; c < system->n; c++) {
        double complex *column = system->qr + (size_t)c * (size_t)m;
        double scale = column_scale(evidence, system, c);
        for (int k = 0; k < group->runs; k++)
            column[k] = cm_root_of(evidence, group->row[system->first], group->run[k]) * scale *
                        cm_design(group, evidence->runs, group->run[k], group->plane[c]);
        if (group->prior[c])
            column[below++] = 1;
        for (int d = 0; d < group->null_count; d++)
            column[group->runs + group->priors + d] = conj(group->null[c + d * group->columns]);
    }
}

static void fill_left(const cm_evidence *evidence, cm_system *system)
{
    const cm_group *group = system->group;
    for (int i = 0; i < system->members; i++)
        for (int k = 0; k < group->runs; k++) {
            int row = group->row[system->first + i];
            double complex left = cm_reading_left(evidence, row, group->run[k]);
            for (int c = 0; c < system->n; c++)
                if (group->prior[c])
                    left -= cm_design(group, evidence->runs, group->run[k], group->plane[c]) *
                            cm_known_of(evidence, row, group->plane[c])->value;
            system->left[k + i * system->m] = cm_root_of(evidence, row, group->run[k]) * left / system->sigma;
        }
}

static void fill_latent(const cm_evidence *evidence, cm_system *system, const int *latent_of)
{
    const cm_group *group = system->group;
    for (int c = 0; c < system->n; c++) {
        int plane = group->plane[c];
        const cm_known *known =
            group->prior[c] ? cm_known_of(evidence, group->row[system->first], plane) : NULL;
        int latent = known ? latent_of[cm_latent_key(evidence, known)] : -1;
        if (latent < 0)
            continue;
        double complex strength = cm_latent_strength(known) / system->sigma;
        for (int k = 0; k < group->runs; k++)
            system->latent[k + latent * system->m] =
                cm_root_of(evidence, group->row[system->first], group->run[k]) *
                cm_design(group, evidence->runs, group->run[k], plane) * strength;
    }
}

static void fill_base(cm_session *session, const cm_evidence *evidence, cm_system *system)
{
    const cm_group *group = system->group;
    double weights = 0;
    int row = group->row[system->first];
    for (int k = 0; k < group->runs; k++) {
        double root = evidence->at_base[group->run[k]] ? cm_root_of(evidence, row, group->run[k]) : 0;
        system->base_runs += evidence->at_base[group->run[k]];
        weights += root * root;
    }
    if (system->base_runs == 0)
        return;
    system->base = CM_NEW(session, system->m, double complex);
    for (int k = 0; k < group->runs; k++)
        system->base[k] =
            evidence->at_base[group->run[k]] ? cm_root_of(evidence, row, group->run[k]) / weights : 0;
}

double complex *cm_inverse_of(cm_session *session, const cm_system *system)
{
    const cm_group *group = system->group;
    int n = system->n, d = group->null_count;
    double complex *inverse = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    for (int c = 0; c < n; c++)
        inverse[c + c * n] = 1;
    cm_tri_solve(n, n, system->qr, system->m, false, inverse, n);
    if (d == 0)
        return inverse;
    double complex *inside = CM_NEW(session, (size_t)d * (size_t)n, double complex);
    cm_multiply(true, false, d, n, n, 1, group->null, n, inverse, n, 0, inside, d);
    cm_multiply(false, false, n, n, d, -1, group->null, n, inside, d, 1, inverse, n);
    return inverse;
}

static void factor(cm_session *session, cm_system *system)
{
    int m = system->m, n = system->n;
    system->tau = CM_NEW(session, n, double complex);
    cm_qr(session, m, n, system->qr, m, system->tau);
    for (int c = 0; c < n; c++)
        if (cabs(system->qr[c + c * m]) <= 0)
            cm_fail(session, CM_NUMERICS, "the influence fit met a singular matrix");
    cm_qr_times_qh(session, m, system->members, n, system->qr, m, system->tau, system->left, m);
    cm_qr_times_qh(session, m, system->latents, n, system->qr, m, system->tau, system->latent, m);
    if (system->base)
        cm_qr_times_qh(session, m, 1, n, system->qr, m, system->tau, system->base, m);
}

cm_system cm_build_system(cm_session *session, const cm_evidence *evidence, const cm_group *group, int first,
                          int members, double sigma, const int *latent_of, int latents)
{
    cm_system system = {
        .group = group, .first = first, .members = members, .sigma = sigma, .latents = latents};
    system.m = group->runs + group->priors + group->null_count;
    system.n = group->columns;
    system.qr = CM_NEW(session, (size_t)system.m * (size_t)system.n, double complex);
    system.left = CM_NEW(session, (size_t)system.m * (size_t)members, double complex);
    system.latent = CM_NEW(session, (size_t)system.m * (size_t)latents, double complex);
    fill_matrix(evidence, &system);
    fill_left(evidence, &system);
    fill_base(session, evidence, &system);
    if (latents > 0)
        fill_latent(evidence, &system, latent_of);
    factor(session, &system);
    return system;
}
