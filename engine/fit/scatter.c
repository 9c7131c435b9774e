/* SPDX-License-Identifier: MIT */
/* Problem: how far does a reading of row i lie from its expectation?
 *
 * Best first:
 *   declared   the sensor's repeatability
 *   fit        sqrt( sum |residual|² / sum (runs - rank) ) over the rows of the pool (same unit and kind), fitted without
 *              Gaussian priors, when the sum of degrees of freedom is not 0
 *   repeats    sqrt( sum |reading - mean|² / sum (readings - 1) ) inside runs, pooled likewise: a lower bound, because
 *              what changes from start to start does not show in it
 *   assumed    3 % of the row's mean amplitude over its runs + a floor
 *
 * It is the scatter of what one run says about one row: repeated readings of a run count once, as their mean, because
 * what changes from start to start does not average out. Residuals of an exact fit are rounding errors and no
 * measure of an instrument: the scatter never falls below 1e-9 of the pool's rms amplitude.
 */
#include "fit/scatter.h"
#include "linalg/dense.h"
#include "model/units.h"

#include <math.h>

#undef I

static const double LEAST_SHARE = 1e-9; /* of the rms amplitude: below this a residual is rounding */

typedef struct cm_pool {
    double squares, dof;               /* of the fits */
    double repeat_squares, repeat_dof; /* inside runs */
    double amplitude_squares;
    int readings;
} cm_pool;

static int pool_count(const cm_evidence *evidence)
{
    int count = 0;
    for (int i = 0; i < evidence->rows; i++)
        if (evidence->given->pool[i] >= count)
            count = evidence->given->pool[i] + 1;
    return count;
}

/* Residuals of the group's rows fitted on its runs without priors: adds them to the rows' pools. */
static void add_residuals(cm_session *session, const cm_evidence *evidence, const cm_group *group,
                          cm_pool *pools)
{
    int m = group->runs, n = group->columns, k = group->rows;
    if (group->priors == 0 && n - group->null_count >= m)
        return; /* as many unknowns are told as runs: nothing is left over */
    cm_mark mark = cm_mark_of(session);
    double complex *design = CM_NEW(session, (size_t)m * (size_t)n, double complex);
    double complex *left = CM_NEW(session, (size_t)m * (size_t)k, double complex);
    double complex *fitted = CM_NEW(session, (size_t)n * (size_t)k, double complex);
    for (int c = 0; c < n; c++)
        for (int r = 0; r < m; r++)
            design[r + c * m] = cm_root_of(evidence, group->row[0], group->run[r]) *
                                cm_design(group, evidence->runs, group->run[r], group->plane[c]);
    for (int i = 0; i < k; i++)
        for (int r = 0; r < m; r++)
            left[r + i * m] = cm_root_of(evidence, group->row[i], group->run[r]) *
                              cm_reading_left(evidence, group->row[i], group->run[r]);
    int rank = cm_least_squares(session, m, n, k, design, m, left, m, fitted, n);
    cm_multiply(false, false, m, k, n, -1, design, m, fitted, n, 1, left, m);
    for (int i = 0; i < k && rank < m; i++) {
        cm_pool *pool = &pools[evidence->given->pool[group->row[i]]];
        double norm = cm_norm2(m, left + (size_t)i * (size_t)m);
        pool->squares += norm * norm;
        pool->dof += m - rank;
    }
    cm_release_to(session, mark);
}

static void add_repeats(const cm_evidence *evidence, int row, cm_pool *pool)
{
    const cm_runs *given = evidence->given;
    for (int k = 0; k < evidence->runs; k++) {
        int at = row + k * evidence->rows;
        if (given->repeats[at] <= 0)
            continue;
        pool->amplitude_squares += cm_abs2(given->readings[at]);
        pool->readings++;
        if (given->repeats[at] > 1 && given->repeat_spread) {
            pool->repeat_squares += given->repeat_spread[at];
            pool->repeat_dof += given->repeats[at] - 1;
        }
    }
}

static double assumed(const cm_evidence *evidence, int row)
{
    double sum = 0;
    int count = 0;
    for (int k = 0; k < evidence->runs; k++)
        if (cm_was_read(evidence, row, k)) {
            sum += cm_abs(evidence->given->readings[row + k * evidence->rows]);
            count++;
        }
    return cm_assumed_scatter(count ? sum / count : 0, evidence->given->assumed_floor[row]);
}

static double at_least(double scatter, const cm_pool *pool, double assumption)
{
    double rms = pool->readings ? sqrt(pool->amplitude_squares / pool->readings) : 0;
    return fmax(scatter, LEAST_SHARE * fmax(rms, assumption));
}

static void choose(const cm_evidence *evidence, int row, const cm_pool *pool, cm_scatter *scatter)
{
    double declared = evidence->given->repeatability[row];
    double assumption = assumed(evidence, row);
    if (declared > 0) {
        scatter->source[row] = CM_SCATTER_DECLARED;
        scatter->value[row] = declared;
        scatter->dof[row] = INFINITY;
    } else if (pool->dof > 0) {
        scatter->source[row] = CM_SCATTER_FIT;
        scatter->value[row] = at_least(sqrt(pool->squares / pool->dof), pool, assumption);
        scatter->dof[row] = pool->dof;
    } else if (pool->repeat_dof > 0) {
        scatter->source[row] = CM_SCATTER_REPEATS;
        scatter->value[row] = at_least(sqrt(pool->repeat_squares / pool->repeat_dof), pool, assumption);
        scatter->dof[row] = pool->repeat_dof;
    } else {
        scatter->source[row] = CM_SCATTER_ASSUMED;
        scatter->value[row] = assumption;
    }
}

cm_scatter cm_find_scatter(cm_session *session, const cm_evidence *evidence, const cm_groups *groups)
{
    cm_scatter scatter = {CM_NEW(session, evidence->rows, double),
                          CM_NEW(session, evidence->rows, cm_scatter_source),
                          CM_NEW(session, evidence->rows, double)};
    cm_mark mark = cm_mark_of(session);
    cm_pool *pools = CM_NEW(session, pool_count(evidence), cm_pool);
    for (int g = 0; g < groups->count; g++)
        if (groups->items[g].runs > 0)
            add_residuals(session, evidence, &groups->items[g], pools);
    for (int i = 0; i < evidence->rows; i++)
        add_repeats(evidence, i, &pools[evidence->given->pool[i]]);
    for (int i = 0; i < evidence->rows; i++) {
        choose(evidence, i, &pools[evidence->given->pool[i]], &scatter);
        if (!(scatter.value[i] > 0 && isfinite(scatter.value[i])))
            cm_fail(session, CM_BAD_INPUT,
                    "row %d: its readings are all zero and the assumed floor of scatter too", i);
    }
    cm_release_to(session, mark);
    return scatter;
}
