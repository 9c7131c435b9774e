/* SPDX-License-Identifier: MIT */
/* Problem: how likely do all counted rows end within their limits?
 *
 * Known scatter, nothing shared between rows: the product of the rows' own probabilities. Otherwise there is no closed
 * form, because rows share the estimate of their scatter and the latent errors of priors: seeded simulation. In it
 *
 *     e_i = t_pool(i) · (L n)_i,   L Lᴴ = covariance between rows,   1/t² ~ Gamma(dof)/dof
 *
 * Rows that are certain to within 1e-9 are taken as certain and left out. Pairs of rows that count (orbits) are judged
 * in the same samples, from the errors of their rows.
 */
#include "fit/spread.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/counts.h"

#include <math.h>

#undef I

enum { SAMPLES = 10000, SEED = 20260301 };

static const double CERTAIN = 1 - 1e-9;

typedef struct cm_joint {
    int rows;
    int *row;              /* uncertain rows, the least likely first */
    double complex *lower; /* rows × rows factor of the covariance; NULL: independent */
    bool estimated;        /* some scatter is estimated */
    bool pairs;            /* some pair counts */
} cm_joint;

/* A row takes part when it is judged and uncertain, or when a judged pair rests on it. */
static bool takes_part(const cm_problem *problem, const double *within, int row)
{
    for (int k = 0; k < problem->pair_count; k++)
        if (cm_pair_is_judged(&problem->pairs[k]) &&
            (problem->pairs[k].forward == row || problem->pairs[k].backward == row))
            return true;
    return problem->weight[row] > 0 && isfinite(problem->limit[row]) && !(within[row] > CERTAIN);
}

/* Least likely first: most samples that fail do so early. */
static double order_of(const double *within, int row)
{
    return isnan(within[row]) ? 1 : within[row];
}

/* Lists the uncertain rows; returns false when there is nothing to judge or a counted row is not told. */
static bool list_rows(const cm_spread_task *task, const double *within, cm_joint *joint)
{
    const cm_problem *problem = task->problem;
    int judged = 0;
    for (int k = 0; k < problem->pair_count; k++)
        joint->pairs |= cm_pair_is_judged(&problem->pairs[k]);
    for (int i = 0; i < task->rows; i++) {
        if (cm_row_is_needed(problem, i) && problem->determined && !problem->determined[i])
            return false;
        judged += problem->weight[i] > 0 && isfinite(problem->limit[i]);
        if (!takes_part(problem, within, i))
            continue;
        int at = joint->rows++;
        for (; at > 0 && order_of(within, joint->row[at - 1]) > order_of(within, i); at--)
            joint->row[at] = joint->row[at - 1];
        joint->row[at] = i;
        joint->estimated |= isfinite(cm_spread_dof(task, i));
    }
    return judged > 0 || joint->pairs;
}

static void fill_covariance(cm_session *session, const cm_spread_task *task, const double *std,
                            const cm_joint *joint, double complex *c)
{
    const cm_influence *f = task->influence;
    int n = joint->rows, k = f->common_count, w = f->own_width;
    double complex *g = CM_NEW(session, (size_t)k * (size_t)n, double complex);
    double complex *h = CM_NEW(session, (size_t)k * (size_t)n, double complex);
    double complex *e = CM_NEW(session, (size_t)w * (size_t)n, double complex);
    for (int i = 0; i < n; i++) {
        cm_shared_error(task, f->common_factor, k, joint->row[i], g + (size_t)i * (size_t)k);
        cm_shared_error(task, f->base_factor, k, joint->row[i], h + (size_t)i * (size_t)k);
        cm_shared_error(task, f->own_factor, w, joint->row[i], e + (size_t)i * (size_t)w);
    }
    for (int a = 0; a < n; a++)
        for (int b = 0; b <= a; b++) {
            double complex sum = a == b ? std[joint->row[a]] * std[joint->row[a]] : 0;
            for (int l = 0; l < k && a != b; l++)
                sum += g[l + a * k] * conj(g[l + b * k]) - h[l + a * k] * conj(h[l + b * k]);
            for (int l = 0; l < w && a != b && f->family[joint->row[a]] == f->family[joint->row[b]]; l++)
                sum += e[l + a * w] * conj(e[l + b * w]);
            c[a + b * n] = sum;
        }
}

/* Cholesky factor, or V·sqrt(values) where rows depend on each other exactly. */
static double complex *factor_covariance(cm_session *session, const cm_spread_task *task, const double *std,
                                         const cm_joint *joint)
{
    int n = joint->rows;
    size_t cells = (size_t)n * (size_t)n;
    double complex *c = CM_NEW(session, cells, double complex);
    fill_covariance(session, task, std, joint, c);
    if (cm_cholesky(session, n, c, n)) {
        for (int b = 0; b < n; b++)
            for (int a = 0; a < b; a++)
                c[a + b * n] = 0;
        return c;
    }
    double *values = CM_NEW(session, n, double);
    fill_covariance(session, task, std, joint, c);
    cm_eigen(session, n, c, n, values);
    for (int b = 0; b < n; b++)
        for (int a = 0; a < n; a++)
            c[a + b * n] *= sqrt(fmax(0, values[b]));
    return c;
}

static double product(const double *within, const cm_joint *joint)
{
    double all = 1;
    for (int i = 0; i < joint->rows; i++)
        all *= within[joint->row[i]];
    return all;
}

static double complex correlated(const cm_joint *joint, int at, const double complex *normal)
{
    double complex sum = 0;
    for (int k = 0; k < joint->rows; k++)
        sum += joint->lower[at + k * joint->rows] * normal[k];
    return sum;
}

static void draw_scatter(const cm_spread_task *task, const cm_joint *joint, cm_random *random, double *times)
{
    for (int p = 0; p < task->pools; p++)
        times[p] = 0;
    for (int i = 0; i < joint->rows; i++) {
        int row = joint->row[i];
        double dof = cm_spread_dof(task, row);
        if (isfinite(dof) && times[task->pool[row]] <= 0)
            times[task->pool[row]] = 1 / sqrt(cm_mean_square(random, dof));
    }
}

static bool all_within(const cm_spread_task *task, const double *std, const cm_joint *joint,
                       cm_random *random, const double *times, double complex *normal, double complex *r)
{
    bool good = true;
    for (int i = 0; joint->lower && i < joint->rows; i++)
        normal[i] = cm_normal(random);
    for (int i = 0; i < joint->rows; i++) {
        int row = joint->row[i];
        double complex e = joint->lower ? correlated(joint, i, normal) : std[row] * cm_normal(random);
        if (isfinite(cm_spread_dof(task, row)))
            e *= times[task->pool[row]];
        r[row] = task->answer->r[row] + e;
        if (task->problem->weight[row] > 0 && cabs(r[row]) > task->problem->limit[row])
            good = false;
        if (!good && !joint->pairs)
            return false;
    }
    return good;
}

/* Counts the pairs within their limits at the readings r; true when all are. */
static bool pairs_within(const cm_problem *problem, const double complex *r, double *count)
{
    bool good = true;
    for (int k = 0; k < problem->pair_count; k++) {
        const cm_pair *pair = &problem->pairs[k];
        if (!cm_pair_is_judged(pair))
            continue;
        bool within = cm_pair_size_at(pair, r) <= pair->limit;
        count[k] += within;
        good &= within;
    }
    return good;
}

static double share_of_samples(cm_session *session, const cm_spread_task *task, const double *std,
                               const cm_joint *joint, double *pair_within)
{
    const cm_problem *problem = task->problem;
    cm_random random = cm_seed(SEED);
    double *times = CM_NEW(session, task->pools, double);
    double *count = CM_NEW(session, problem->pair_count, double);
    double complex *normal = CM_NEW(session, joint->rows, double complex);
    double complex *r = CM_NEW(session, task->rows, double complex);
    int good = 0;
    for (int k = 0; k < SAMPLES; k++) {
        draw_scatter(task, joint, &random, times);
        bool rows = all_within(task, std, joint, &random, times, normal, r);
        bool pairs = !joint->pairs || pairs_within(problem, r, count);
        good += rows && pairs;
    }
    for (int k = 0; k < problem->pair_count; k++)
        if (cm_pair_is_judged(&problem->pairs[k]))
            pair_within[k] = count[k] / SAMPLES;
    return (double)good / SAMPLES;
}

double cm_joint_probability(cm_session *session, const cm_spread_task *task, const double *std,
                            const double *within, double *pair_within, int *samples)
{
    cm_joint joint = {.row = CM_NEW(session, task->rows, int)};
    *samples = 0;
    if (!task->line || !task->problem->limit || !list_rows(task, within, &joint))
        return NAN;
    if (task->influence->common_count + task->influence->own_width > 0 && joint.rows > 1)
        joint.lower = factor_covariance(session, task, std, &joint);
    if (joint.rows > 0 && within[joint.row[0]] <= 0)
        return 0; /* one of them never ends within its limit */
    if (!joint.pairs && (joint.rows <= 1 || (!joint.lower && !joint.estimated)))
        return product(within, &joint);
    *samples = SAMPLES;
    return share_of_samples(session, task, std, &joint, pair_within);
}
