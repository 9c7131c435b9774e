/* SPDX-License-Identifier: MIT */
/* Problem: how far may the true reading after correction lie from the predicted one?
 *
 *     r_i = (1, zᵀ) (y_i, a_i),   covariance of (y_i, a_i) = F Fᴴ,   sd(r_i) = norm((1, zᵀ) F)
 *
 * It is the true reading: the scatter of the next reading itself is not in it. The radius that holds 90 % is the standard
 * deviation times sqrt(ln 10) = 1.517, or more where the scatter is estimated with few degrees of freedom. Where priors
 * carry part of the spread, the factor for the scatter's degrees of freedom is kept: it errs to the safe side.
 */
#include "fit/spread.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/counts.h"
#include "model/judged.h"
#include "model/job_call.h"

#include <math.h>

#undef I

static const double OUTSIDE = 0.1; /* the radius holds 1 - this */

void cm_shared_error(const cm_spread_task *task, const double complex *factor, int count, int row,
                     double complex *out)
{
    size_t lines = (size_t)task->lines;
    size_t block = (size_t)row * lines * (size_t)count;
    for (int l = 0; l < count; l++) {
        out[l] = 0;
        for (size_t k = 0; k < lines; k++)
            out[l] += task->line[k] * factor[block + k + (size_t)l * lines];
    }
}

static bool has_masses(const cm_answer *answer)
{
    return answer && answer->x;
}

static void put_line(cm_session *session, cm_spread_task *task)
{
    if (!has_masses(task->answer))
        return;
    double complex *line = CM_NEW(session, task->lines, double complex);
    line[0] = 1;
    for (int j = 0; j < task->planes; j++)
        line[j + 1] = task->answer->x[j] - task->problem->base[j];
    task->line = line;
    task->error = CM_NEW(session, (size_t)task->lines * (size_t)task->rows, double complex);
    for (int i = 0; i < task->rows; i++)
        for (int q = 0; q < task->lines; q++) {
            const double complex *column = cm_factor_of(task, i) + (size_t)q * (size_t)task->lines;
            double complex sum = 0;
            for (int k = 0; k < task->lines; k++)
                sum += line[k] * column[k];
            task->error[q + i * task->lines] = sum;
        }
}

static cm_spread_task task_of(cm_session *session, const cm_job *job)
{
    cm_spread_task task = {.influence = job->influence,
                           .problem = job->problem,
                           .answer = job->answer,
                           .rows = job->influence->rows,
                           .planes = job->influence->planes,
                           .lines = job->influence->planes + 1,
                           .pools = 1};
    task.pool = job->runs ? job->runs->pool : CM_NEW(session, task.rows, int);
    for (int i = 0; i < task.rows; i++)
        if (task.pool[i] >= task.pools)
            task.pools = task.pool[i] + 1;
    put_line(session, &task);
    return task;
}

static bool told(const cm_spread_task *task, int row)
{
    return !task->problem->determined || task->problem->determined[row];
}

/* Is the fitted reading in the base state told? Only asked where no run read it there. */
static bool base_told(const cm_spread_task *task, int row)
{
    const cm_influence *influence = task->influence;
    if (influence->base_runs[row] > 0)
        return true;
    for (int d = 0; d < influence->null_count[row]; d++) {
        const double complex *null =
            influence->null_space + ((size_t)row * (size_t)task->lines + (size_t)d) * (size_t)task->lines;
        double complex sum = null[0];
        double size = 1;
        for (int j = 0; j < task->planes; j++) {
            sum += task->problem->base[j] / influence->column_scale[j + 1] * null[j + 1];
            size += cabs(task->problem->base[j]) / influence->column_scale[j + 1];
        }
        if (cabs(sum) > 1e-8 * size)
            return false;
    }
    return true;
}

static double before(const cm_spread_task *task, int row)
{
    const double complex *factor = cm_factor_of(task, row);
    double sum = 0;
    for (int q = 0; q < task->lines; q++)
        sum += cm_abs2(factor[(size_t)q * (size_t)task->lines]);
    return base_told(task, row) ? sqrt(sum) : NAN;
}

static double after(const cm_spread_task *task, int row)
{
    if (!task->line || !told(task, row))
        return NAN;
    return cm_norm2(task->lines, task->error + (size_t)row * (size_t)task->lines);
}

static double within_limit(const cm_spread_task *task, int row, double std)
{
    double limit = task->problem->limit[row];
    if (isnan(std) || !isfinite(limit))
        return NAN;
    if (cm_has_no_room(task->problem, row))
        return 0;
    return cm_within(cabs(task->answer->r[row]), std, limit, cm_spread_dof(task, row));
}

static int rests_on_assumption(const cm_influence *influence)
{
    for (int i = 0; i < influence->rows; i++)
        if (influence->scatter_source[i] == CM_SCATTER_ASSUMED)
            return 1;
    return 0;
}

/* A part is linear in the errors as a row is: (1, zᵀ) F. */
static double pair_std(const cm_spread_task *task, const cm_pair *pair)
{
    bool both = told(task, pair->forward) && (pair->backward < 0 || told(task, pair->backward));
    if (!task->line || !pair->spread || !both)
        return NAN;
    double sum = 0;
    for (int part = 0; part < cm_pair_part_count(pair); part++) {
        double square = 0;
        for (int q = 0; q < task->lines; q++) {
            const double complex *column =
                pair->spread + (size_t)(part * task->lines + q) * (size_t)task->lines;
            double complex entry = 0;
            for (int l = 0; l < task->lines; l++)
                entry += task->line[l] * column[l];
            square += cm_abs2(entry);
        }
        sum += sqrt(square);
    }
    return sum;
}

static const double *pair_stds(cm_session *session, const cm_spread_task *task)
{
    double *std = CM_NEW(session, task->problem->pair_count, double);
    for (int k = 0; k < task->problem->pair_count; k++)
        std[k] = pair_std(task, &task->problem->pairs[k]);
    return std;
}

const cm_spread *cm_find_spread(cm_session *session, const cm_job *job)
{
    cm_spread_task task = task_of(session, job);
    cm_spread *spread = CM_NEW(session, 1, cm_spread);
    double *before_std = CM_NEW(session, task.rows, double);
    double *after_std = CM_NEW(session, task.rows, double);
    double *factor = CM_NEW(session, task.rows, double);
    double *within = CM_NEW(session, task.rows, double);
    for (int i = 0; i < task.rows; i++) {
        before_std[i] = before(&task, i);
        after_std[i] = after(&task, i);
        factor[i] = cm_radius_factor(OUTSIDE, cm_spread_dof(&task, i));
        within[i] = within_limit(&task, i, after_std[i]);
    }
    cm_mass_spread masses = cm_spread_masses(session, &task);
    *spread = (cm_spread){.size = sizeof *spread,
                          .mass_std = masses.std,
                          .size_std = masses.size,
                          .angle_std = masses.angle,
                          .mass_factor = masses.factor,
                          .before_std = before_std,
                          .after_std = after_std,
                          .radius_factor = factor,
                          .within = within,
                          .assumed = rests_on_assumption(job->influence)};
    double *pair_within = CM_NEW(session, task.problem->pair_count, double);
    for (int k = 0; k < task.problem->pair_count; k++)
        pair_within[k] = NAN;
    spread->within_all =
        cm_joint_probability(session, &task, after_std, within, pair_within, &spread->samples);
    spread->pair_std = pair_stds(session, &task);
    spread->pair_within = pair_within;
    return spread;
}

cm_status cm_spread_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_spread_of", CM_HAS_INFLUENCE | CM_HAS_PROBLEM, CM_HAS_SPREAD};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    job->spread = cm_find_spread(session, job);
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
