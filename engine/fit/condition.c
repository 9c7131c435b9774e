/* SPDX-License-Identifier: MIT */
/* Problem: how well do the counted rows tell the planes apart?
 *
 *     B = diag(W) A   counted rows (W_i > 0) × planes that are not held
 *     C = B D⁻¹       D: 2-norms of the columns, so that C has unit columns
 *     condition = s_max(C) / s_min(C), overall and for the rows of each block
 *
 * Scaling the columns takes units and radii out of the number. The right
 * singular vector of s_min is the combination of planes that the rows see
 * least. Where the number has no meaning it is INFINITY: no rows or columns, a
 * zero column, fewer rows than columns, a ratio above 1e15, or a coefficient
 * that the runs do not tell by itself.
 */
#include "fit/condition.h"
#include "linalg/dense.h"
#include "model/given.h"

#include <math.h>
#include <string.h>

#undef I

enum { ALL_BLOCKS = -1 };

static const double WORST_CONDITION = 1e15;

typedef struct cm_columns {
    int count;
    int *plane;
} cm_columns;

/* The same problem with the directions in use as its planes. */
static cm_problem by_columns(cm_session *session, const cm_problem *problem)
{
    cm_problem turned = *problem;
    double complex *a =
        CM_NEW(session, (size_t)problem->rows * (size_t)problem->column_count, double complex);
    cm_multiply(false, false, problem->rows, problem->column_count, problem->planes, 1, problem->a,
                problem->rows, problem->columns, problem->planes, 0, a, problem->rows);
    turned.a = a;
    turned.planes = problem->column_count;
    turned.held = NULL;
    turned.coefficient_determined = problem->column_determined;
    return turned;
}

static cm_columns free_columns(cm_session *session, const cm_problem *problem)
{
    cm_columns columns = {.plane = CM_NEW(session, problem->planes, int)};
    for (int j = 0; j < problem->planes; j++)
        if (!problem->held || !problem->held[j])
            columns.plane[columns.count++] = j;
    return columns;
}

static bool takes_part(const cm_problem *problem, int row, int block)
{
    return problem->weight[row] > 0 && (block == ALL_BLOCKS || problem->block[row] == block);
}

static bool told_alone(const cm_problem *problem, const cm_columns *columns, int block)
{
    for (int i = 0; i < problem->rows; i++)
        for (int k = 0; takes_part(problem, i, block) && k < columns->count; k++)
            if (problem->coefficient_determined &&
                !problem->coefficient_determined[i + columns->plane[k] * problem->rows])
                return false;
    return true;
}

/* C and the column norms (0 for a zero column, whose column stays zero); returns the number of rows. */
static int fill_scaled(const cm_problem *problem, const cm_columns *columns, int block, double complex *c,
                       double *norm)
{
    int m = 0;
    for (int i = 0; i < problem->rows; i++)
        m += takes_part(problem, i, block);
    for (int k = 0; k < columns->count; k++) {
        double complex *column = c + (size_t)k * (size_t)m;
        int at = 0;
        for (int i = 0; i < problem->rows; i++)
            if (takes_part(problem, i, block))
                column[at++] = problem->weight[i] * problem->a[i + columns->plane[k] * problem->rows];
        norm[k] = cm_norm2(m, column);
        for (int i = 0; i < m && norm[k] > 0; i++)
            column[i] /= norm[k];
    }
    return m;
}

static bool has_zero_column(int count, const double *norm)
{
    for (int k = 0; k < count; k++)
        if (norm[k] <= 0)
            return true;
    return false;
}

static double ratio(int m, int n, const double *s, bool zero_column)
{
    if (n == 0 || m < n || zero_column || s[n - 1] <= 0 || s[0] > WORST_CONDITION * s[n - 1])
        return INFINITY;
    return s[0] / s[n - 1];
}

/* Condition of one block (or all); `norm` and `weakest` (columns->count each) may be NULL. */
static double condition(cm_session *session, const cm_problem *problem, const cm_columns *columns, int block,
                        double *norm, double complex *weakest)
{
    cm_mark mark = cm_mark_of(session);
    int n = columns->count;
    double complex *c = CM_NEW(session, (size_t)problem->rows * (size_t)n, double complex);
    double *own_norm = CM_NEW(session, n, double);
    int m = fill_scaled(problem, columns, block, c, own_norm);
    double *s = CM_NEW(session, n, double);
    double complex *v = weakest ? CM_NEW(session, (size_t)n * (size_t)n, double complex) : NULL;
    cm_svd(session, m, n, c, m > 0 ? m : 1, s, NULL, v);
    double value = ratio(m, n, s, has_zero_column(n, own_norm));
    if (norm)
        memcpy(norm, own_norm, (size_t)n * sizeof *norm);
    if (weakest && n > 0)
        memcpy(weakest, v + (size_t)(n - 1) * (size_t)n, (size_t)n * sizeof *weakest);
    cm_release_to(session, mark);
    return told_alone(problem, columns, block) ? value : INFINITY;
}

/* Numbers by columns told in planes: the weakest combination is a sum of columns; a plane has the norm of its own. */
static void tell_in_planes(cm_session *session, const cm_problem *problem, cm_condition *found)
{
    double complex *weakest = CM_NEW(session, problem->planes, double complex);
    double *norm = CM_NEW(session, problem->planes, double);
    double complex *column = CM_NEW(session, problem->rows, double complex);
    for (int j = 0; j < problem->planes; j++) {
        for (int k = 0; k < problem->column_count; k++)
            weakest[j] += problem->columns[j + k * problem->planes] * found->weakest[k];
        for (int i = 0; i < problem->rows; i++)
            column[i] = problem->weight[i] * problem->a[i + j * problem->rows];
        norm[j] = problem->held && problem->held[j] ? 0 : cm_norm2(problem->rows, column);
    }
    found->weakest = weakest;
    found->column_norm = norm;
}

static cm_condition *find_by_planes(cm_session *session, const cm_problem *problem)
{
    int planes = problem->planes;
    cm_condition *result = CM_NEW(session, 1, cm_condition);
    double complex *weakest = CM_NEW(session, planes, double complex);
    double *column_norm = CM_NEW(session, planes, double);
    double *by_block = CM_NEW(session, problem->blocks, double);
    double *norm = CM_NEW(session, planes, double);
    double complex *combination = CM_NEW(session, planes, double complex);
    cm_columns columns = free_columns(session, problem);
    double overall = condition(session, problem, &columns, ALL_BLOCKS, norm, combination);
    for (int k = 0; k < columns.count; k++) {
        weakest[columns.plane[k]] = combination[k];
        column_norm[columns.plane[k]] = norm[k];
    }
    for (int b = 0; b < problem->blocks; b++)
        by_block[b] = condition(session, problem, &columns, b, NULL, NULL);
    *result = (cm_condition){sizeof *result, overall, problem->blocks, by_block, weakest, column_norm};
    return result;
}

const cm_condition *cm_find_condition(cm_session *session, const cm_problem *problem)
{
    if (!problem->columns)
        return find_by_planes(session, problem);
    cm_problem turned = by_columns(session, problem);
    cm_condition *found = find_by_planes(session, &turned);
    tell_in_planes(session, problem, found);
    return found;
}

cm_status cm_condition_of(cm_session *session, const cm_problem *problem, const cm_condition **condition_out)
{
    CM_ENTER(session);
    *condition_out = cm_find_condition(session, cm_given_problem(session, problem));
    return cm_leave(session);
}
