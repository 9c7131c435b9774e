/* SPDX-License-Identifier: MIT */
/* Runs and priors made ready for the fit.
 *
 * Rows read by the same runs, with planes known in the same way (not at all,
 * as a prior, exactly), have one design matrix [1 | masses] without the exact
 * planes. Its rank decides what can be told. A prior tells its coefficient
 * whatever its weight; so the null space of runs and priors together is that
 * of the columns without prior, and the size of an uncertainty cannot sway the
 * decision. Rank: columns scaled to unit norm, singular values below 1e-10 of
 * the largest are zero.
 */
#include "fit/evidence.h"
#include "fit/pool.h"
#include "linalg/dense.h"

#include <math.h>
#include <string.h>

#undef I

static bool finite(double complex z)
{
    return isfinite(creal(z)) && isfinite(cimag(z));
}

/* ---- checks ---- */

static void check_known(cm_session *session, const cm_runs *runs)
{
    for (int k = 0; k < runs->known_count; k++) {
        const cm_known *known = &runs->known[k];
        if (known->row < 0 || known->row >= runs->rows || known->plane < 0 || known->plane >= runs->planes)
            cm_fail(session, CM_BAD_INPUT, "known coefficient %d: row or plane out of range", k);
        if (!finite(known->value) || !isfinite(known->uncertainty) || known->uncertainty < 0)
            cm_fail(session, CM_BAD_INPUT,
                    "known coefficient %d: value and uncertainty must be finite, the latter not negative", k);
        if (!(known->common >= 0 && known->common <= 1))
            cm_fail(session, CM_BAD_INPUT, "known coefficient %d: common must lie between 0 and 1", k);
    }
}

static void check_numbers(cm_session *session, const cm_runs *runs)
{
    for (int j = 0; j < runs->planes * runs->runs; j++)
        if (!finite(runs->masses[j]))
            cm_fail(session, CM_BAD_INPUT, "a mass of a run is not a finite number");
    for (int j = 0; j < runs->planes; j++)
        if (!finite(runs->base[j]))
            cm_fail(session, CM_BAD_INPUT, "a mass of the base state is not a finite number");
    for (int i = 0; i < runs->rows * runs->runs; i++)
        if (runs->repeats[i] > 0 && !finite(runs->readings[i]))
            cm_fail(session, CM_BAD_INPUT, "a reading is not a finite number");
}

static void check_weights(cm_session *session, const cm_runs *runs)
{
    for (int i = 0; runs->reading_weight && i < runs->rows * runs->runs; i++)
        if (runs->repeats[i] > 0 && !(runs->reading_weight[i] > 0 && isfinite(runs->reading_weight[i])))
            cm_fail(session, CM_BAD_INPUT, "the weight of a reading must be above 0");
}

static void check_runs(cm_session *session, const cm_runs *runs)
{
    if (runs->rows <= 0 || runs->runs <= 0 || runs->planes < 0 || runs->known_count < 0)
        cm_fail(session, CM_BAD_INPUT, "an influence fit needs at least one row and one run");
    for (int i = 0; i < runs->rows; i++)
        if (runs->pool[i] < 0)
            cm_fail(session, CM_BAD_INPUT, "row %d: its pool must not be negative", i);
    check_numbers(session, runs);
    check_weights(session, runs);
    check_known(session, runs);
}

/* ---- cleaning ---- */

static bool same_state(const cm_evidence *evidence, int run, const double complex *other, int stride)
{
    for (int j = 0; j < evidence->planes; j++)
        if (cm_abs(evidence->masses[run + j * evidence->runs] - other[j * stride]) >
            evidence->given->mass_zero)
            return false;
    return true;
}

static void snap_to_earlier(cm_evidence *evidence, int run)
{
    for (int earlier = 0; earlier < run; earlier++)
        if (same_state(evidence, run, evidence->masses + earlier, evidence->runs)) {
            for (int j = 0; j < evidence->planes; j++)
                evidence->masses[run + j * evidence->runs] = evidence->masses[earlier + j * evidence->runs];
            return;
        }
}

static double complex zero_if_small(double complex mass, double zero)
{
    return cm_abs(mass) < zero ? 0 : mass;
}

static void clean_masses(cm_session *session, cm_evidence *evidence)
{
    const cm_runs *given = evidence->given;
    int runs = evidence->runs;
    evidence->masses = CM_NEW(session, (size_t)runs * (size_t)evidence->planes, double complex);
    evidence->base = CM_NEW(session, evidence->planes, double complex);
    evidence->at_base = CM_NEW(session, runs, unsigned char);
    for (int k = 0; k < runs * evidence->planes; k++)
        evidence->masses[k] = zero_if_small(given->masses[k], given->mass_zero);
    for (int j = 0; j < evidence->planes; j++)
        evidence->base[j] = zero_if_small(given->base[j], given->mass_zero);
    for (int k = 0; k < runs; k++) {
        snap_to_earlier(evidence, k);
        evidence->at_base[k] = same_state(evidence, k, evidence->base, 1);
    }
    for (int k = 0; k < runs; k++)
        for (int j = 0; evidence->at_base[k] && j < evidence->planes; j++)
            evidence->base[j] = evidence->masses[k + j * runs];
}

/* Masses in the coordinates of each basis: m·a = (m T)·a'. */
static void turn_masses(cm_session *session, cm_evidence *evidence)
{
    const cm_runs *given = evidence->given;
    int bases = 0, n = evidence->planes, runs = evidence->runs;
    for (int i = 0; given->basis_of && i < given->rows; i++)
        bases = given->basis_of[i] >= bases ? given->basis_of[i] + 1 : bases;
    evidence->turned = CM_NEW(session, bases, double complex *);
    for (int b = 0; b < bases; b++) {
        evidence->turned[b] = CM_NEW(session, (size_t)runs * (size_t)n, double complex);
        cm_multiply(false, false, runs, n, n, 1, evidence->masses, runs, given->bases + b * n * n, n, 0,
                    evidence->turned[b], runs);
    }
}

static void find_roots(cm_session *session, cm_evidence *evidence)
{
    const cm_runs *given = evidence->given;
    if (!given->reading_weight)
        return;
    evidence->root = CM_NEW(session, (size_t)evidence->rows * (size_t)evidence->runs, double);
    for (int i = 0; i < evidence->rows * evidence->runs; i++)
        evidence->root[i] = given->repeats[i] > 0 ? sqrt(given->reading_weight[i]) : 1;
}

static void find_scale(cm_session *session, cm_evidence *evidence)
{
    double largest = 0;
    evidence->scale = CM_NEW(session, evidence->planes + 1, double);
    evidence->scale[0] = 1;
    for (int j = 0; j < evidence->planes; j++) {
        for (int k = 0; k < evidence->runs; k++)
            evidence->scale[j + 1] =
                fmax(evidence->scale[j + 1], cm_abs(evidence->masses[k + j * evidence->runs]));
        largest = fmax(largest, evidence->scale[j + 1]);
    }
    for (int j = 1; j <= evidence->planes; j++)
        if (evidence->scale[j] <= 0)
            evidence->scale[j] = largest > 0 ? largest : 1;
}

static void index_known(cm_session *session, cm_evidence *evidence)
{
    const cm_runs *given = evidence->given;
    int cells = evidence->rows * evidence->planes;
    evidence->known = CM_NEW(session, cells, int);
    for (int k = 0; k < cells; k++)
        evidence->known[k] = -1;
    for (int k = 0; k < given->known_count; k++)
        evidence->known[given->known[k].row + given->known[k].plane * evidence->rows] = k;
}

cm_evidence cm_clean_runs(cm_session *session, const cm_runs *runs)
{
    check_runs(session, runs);
    runs = cm_pool_known(session, runs);
    cm_evidence evidence = {.given = runs, .rows = runs->rows, .planes = runs->planes, .runs = runs->runs};
    find_roots(session, &evidence);
    clean_masses(session, &evidence);
    turn_masses(session, &evidence);
    find_scale(session, &evidence);
    index_known(session, &evidence);
    return evidence;
}

double complex cm_reading_left(const cm_evidence *evidence, int row, int run)
{
    double complex left = evidence->given->readings[row + run * evidence->rows];
    const double complex *masses = cm_masses_of(evidence, row);
    for (int j = 0; evidence->given->known_count > 0 && j < evidence->planes; j++) {
        const cm_known *known = cm_known_of(evidence, row, j);
        if (known && known->uncertainty <= 0)
            left -= known->value * masses[run + j * evidence->runs];
    }
    return left;
}

/* ---- groups ---- */

enum { UNKNOWN, PRIOR, EXACT };

static int kind_of(const cm_evidence *evidence, int row, int plane)
{
    const cm_known *known = cm_known_of(evidence, row, plane);
    if (!known)
        return UNKNOWN;
    return known->uncertainty > 0 ? PRIOR : EXACT;
}

static bool alike(const cm_evidence *evidence, int a, int b)
{
    if (cm_basis_of(evidence, a) != cm_basis_of(evidence, b))
        return false;
    for (int k = 0; k < evidence->runs; k++)
        if (cm_was_read(evidence, a, k) != cm_was_read(evidence, b, k) ||
            fabs(cm_root_of(evidence, a, k) - cm_root_of(evidence, b, k)) > 0)
            return false;
    for (int j = 0; j < evidence->planes; j++)
        if (kind_of(evidence, a, j) != kind_of(evidence, b, j))
            return false;
    return true;
}

static cm_group new_group(cm_session *session, const cm_evidence *evidence, int row)
{
    cm_group group = {0};
    group.row = CM_NEW(session, evidence->rows, int);
    group.run = CM_NEW(session, evidence->runs, int);
    group.plane = CM_NEW(session, evidence->planes + 1, int);
    group.prior = CM_NEW(session, evidence->planes + 1, unsigned char);
    for (int k = 0; k < evidence->runs; k++)
        if (cm_was_read(evidence, row, k))
            group.run[group.runs++] = k;
    int basis = cm_basis_of(evidence, row);
    size_t square = (size_t)evidence->planes * (size_t)evidence->planes;
    group.masses = cm_masses_of(evidence, row);
    group.basis = basis < 0 ? NULL : evidence->given->bases + (size_t)basis * square;
    group.plane[group.columns++] = -1;
    for (int j = 0; j < evidence->planes; j++) {
        int kind = kind_of(evidence, row, j);
        if (kind == EXACT)
            continue;
        group.prior[group.columns] = kind == PRIOR;
        group.priors += kind == PRIOR;
        group.plane[group.columns++] = j;
    }
    return group;
}

/* Null space of the columns without prior, in coordinates of the common scale, orthonormal there. */
static void find_null_space(cm_session *session, const cm_evidence *evidence, cm_group *group)
{
    int n = group->columns - group->priors;
    group->null = CM_NEW(session, (size_t)group->columns * (size_t)n, double complex);
    cm_mark mark = cm_mark_of(session);
    int *column = CM_NEW(session, n, int);
    double *norm = CM_NEW(session, n, double);
    double complex *design = CM_NEW(session, (size_t)group->runs * (size_t)n, double complex);
    double complex *null = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    int at = 0;
    for (int c = 0; c < group->columns; c++)
        if (!group->prior[c])
            column[at++] = c;
    for (int c = 0; c < n; c++)
        for (int k = 0; k < group->runs; k++)
            design[k + c * group->runs] =
                cm_design(group, evidence->runs, group->run[k], group->plane[column[c]]);
    int rank = cm_scaled_rank(session, group->runs, n, design, group->runs > 0 ? group->runs : 1, norm, null);
    group->null_count = n - rank;
    for (int c = 0; c < n; c++) {
        /* a column of zeros has no norm: there the scales are those of the plane already */
        double scale = evidence->scale[group->plane[column[c]] + 1];
        bool empty = cm_norm2(group->runs, design + (size_t)c * (size_t)group->runs) <= 0;
        for (int d = 0; d < group->null_count && !empty; d++)
            null[c + d * n] *= scale / norm[c];
    }
    double complex *basis = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    for (int d = 0; d < group->null_count; d++)
        basis[d + d * n] = 1;
    cm_qr(session, n, group->null_count, null, n, tau);
    cm_qr_times_q(session, n, group->null_count, group->null_count, null, n, tau, basis, n);
    for (int d = 0; d < group->null_count; d++)
        for (int c = 0; c < n; c++)
            group->null[column[c] + d * group->columns] = basis[c + d * n];
    cm_release_to(session, mark);
}

cm_groups cm_group_rows(cm_session *session, const cm_evidence *evidence)
{
    cm_groups groups = {.items = CM_NEW(session, evidence->rows, cm_group)};
    for (int i = 0; i < evidence->rows; i++) {
        int g = 0;
        while (g < groups.count && !alike(evidence, groups.items[g].row[0], i))
            g++;
        if (g == groups.count)
            groups.items[groups.count++] = new_group(session, evidence, i);
        groups.items[g].row[groups.items[g].rows++] = i;
    }
    for (int g = 0; g < groups.count; g++)
        find_null_space(session, evidence, &groups.items[g]);
    return groups;
}
