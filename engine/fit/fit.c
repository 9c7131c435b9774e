/* SPDX-License-Identifier: MIT */
/* From factored systems to the influence matrix and its spread.
 *
 * Row i, line l of its block (0: reading in the base state, 1 + j: coefficient of plane j). The error of line l is
 *
 *     A ε + B (g - ĝ)
 *
 * ε: whitened noise of the row's own equations, turned by Qᴴ so that its first n entries belong to the row's unknowns;
 * g: latent errors shared with other rows. Coefficients depend on the first n entries only, A = map·R⁻¹,
 * B = -map·R⁻¹T + the prior's own share of g. The mean reading of the base runs depends on all entries: with b the turned
 * weights, on n of them by b1ᴴ and on the rest by b2ᴴ; the rest is what told g, hence the covariance x of that mean
 * with the standardised error q of g. The columns of the covariance factor are then
 *
 *     [ A1 | e_0 sqrt(|b2|² - |x|²) | A x + B S ]          (g - ĝ = S q)
 *
 * and their last part, shared by the block, is common_factor; base_factor is A x. Everything is compressed to a square
 * factor by QR; no covariance matrix is ever formed.
 */
#include "fit/basis.h"
#include "fit/fit.h"
#include "fit/latent.h"
#include "fit/moved.h"
#include "fit/scatter.h"
#include "fit/shares.h"
#include "fit/wide.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/given.h"

#include <math.h>
#include <string.h>

#undef I

static const double OUTSIDE = 0.1;  /* what a radius leaves out */
static const double TOUCHED = 1e-8; /* entries of an orthonormal null space below this are rounding */

/* How much of a fit is asked for. */
typedef enum cm_asked {
    CM_VALUES, /* coefficients, readings, and what is left open */
    CM_SPREAD, /* and their spread */
    CM_OWN     /* and the noise of each row by itself */
} cm_asked;

/* The result while it is being filled. */
typedef struct cm_result {
    int rows, planes, lines; /* lines = planes + 1 */
    double complex *a, *y, *factor, *null, *common, *base, *residual;
    unsigned char *determined, *std_known;
    double *std;
    int *base_runs, *null_count;
    double complex *own; /* rows blocks of lines × lines: what the row's own noise does, but for `rest` */
    double
        *rest; /* rows: the part of the base mean's noise that no coefficient has; together NULL: not asked */
} cm_result;

/* What the spread of all rows rests on. */
typedef struct cm_spread_of_fit {
    const cm_scatter *scatter;
    const cm_moved *moved;
    int total; /* latent errors: of priors, then of angles */
} cm_spread_of_fit;

/* The factor's parts of one row before it is compressed. */
typedef struct cm_parts {
    int own, columns, shared; /* columns of A1, of all, of the latent part */
    double complex *block;    /* lines × columns */
} cm_parts;

static void put_own(cm_session *session, cm_result *result)
{
    size_t lines = (size_t)result->lines;
    result->own = CM_NEW(session, (size_t)result->rows * lines * lines, double complex);
    result->rest = CM_NEW(session, result->rows, double);
}

static cm_result new_result(cm_session *session, const cm_evidence *evidence, int nulls)
{
    size_t rows = (size_t)evidence->rows, planes = (size_t)evidence->planes, lines = planes + 1;
    cm_result result = {.rows = evidence->rows, .planes = evidence->planes, .lines = evidence->planes + 1};
    result.a = CM_NEW(session, rows * planes, double complex);
    result.y = CM_NEW(session, rows, double complex);
    result.null = nulls ? CM_NEW(session, rows * lines * lines, double complex) : NULL;
    result.base_runs = CM_NEW(session, rows, int);
    result.null_count = CM_NEW(session, rows, int);
    return result;
}

static void make_room_for_spread(cm_session *session, int runs, int latents, cm_result *result)
{
    size_t rows = (size_t)result->rows, planes = (size_t)result->planes, lines = planes + 1;
    result->factor = cm_take(session, rows * lines * lines, sizeof *result->factor);
    result->residual = CM_NEW(session, rows * (size_t)runs, double complex);
    result->common = latents ? CM_NEW(session, rows * lines * (size_t)latents, double complex) : NULL;
    result->base = latents ? CM_NEW(session, rows * lines * (size_t)latents, double complex) : NULL;
    result->determined = CM_NEW(session, rows * planes, unsigned char);
    result->std_known = CM_NEW(session, rows * planes, unsigned char);
    result->std = CM_NEW(session, rows * planes, double);
}

/* ---- values ---- */

/* Unknowns of all members, n × members: w = R⁻¹ (t - T ĝ). */
static const double complex *solve_members(cm_session *session, const cm_system *system,
                                           const cm_latents *latents)
{
    size_t m = (size_t)system->m, n = (size_t)system->n;
    double complex *w = cm_take(session, n * (size_t)system->members, sizeof *w);
    for (size_t i = 0; i < (size_t)system->members; i++) {
        memcpy(w + i * n, system->left + i * m, n * sizeof *w);
        if (system->latents > 0)
            cm_matvec(false, system->n, system->latents, -1, system->latent, system->m, latents->g, 1,
                      w + i * n);
    }
    cm_tri_solve(system->n, system->members, system->qr, system->m, false, w, system->n);
    return w;
}

/* Weight of run k of the group, in the base state, in the mean over the runs there. */
static double base_weight(const cm_evidence *evidence, const cm_group *group, int row, int k)
{
    double sum = 0, root = cm_root_of(evidence, row, group->run[k]);
    for (int r = 0; r < group->runs; r++) {
        double one = evidence->at_base[group->run[r]] ? cm_root_of(evidence, row, group->run[r]) : 0;
        sum += one * one;
    }
    return root * root / sum;
}

/* Factor that turns unknown c into a coefficient (or the as-found reading). */
static double unit_of(const cm_evidence *evidence, const cm_system *system, int row, int c)
{
    int plane = system->group->plane[c];
    if (system->group->prior[c])
        return cm_own_strength(cm_known_of(evidence, row, plane));
    return system->sigma / evidence->scale[plane + 1];
}

static double complex coefficient(const cm_evidence *evidence, const cm_system *system, int row, int c,
                                  const cm_latents *latents, const double complex *w)
{
    int plane = system->group->plane[c];
    double complex value = unit_of(evidence, system, row, c) * w[c];
    if (!system->group->prior[c])
        return value;
    const cm_known *known = cm_known_of(evidence, row, plane);
    value += known->value;
    int latent = system->latents > 0 ? latents->of_plane[cm_latent_key(evidence, known)] : -1;
    if (latent >= 0)
        value += cm_latent_strength(known) * latents->g[latent];
    return value;
}

static void put_exact(const cm_evidence *evidence, int row, cm_result *result)
{
    for (int j = 0; j < evidence->planes; j++) {
        const cm_known *known = cm_known_of(evidence, row, j);
        if (known && known->uncertainty <= 0)
            result->a[row + j * result->rows] = known->value;
    }
}

static double complex state_reading(const cm_evidence *evidence, const cm_result *result, int row,
                                    double complex as_found, const double complex *state, int stride)
{
    for (int j = 0; j < evidence->planes; j++)
        as_found += result->a[row + j * result->rows] * state[j * stride];
    return as_found;
}

static void put_residuals(const cm_evidence *evidence, int row, double complex as_found, cm_result *result)
{
    for (int k = 0; k < evidence->runs; k++)
        if (cm_was_read(evidence, row, k))
            result->residual[row + k * result->rows] =
                evidence->given->readings[row + k * evidence->rows] -
                state_reading(evidence, result, row, as_found, evidence->masses + k, evidence->runs);
}

static void put_reading(const cm_evidence *evidence, int row, int base_runs, double complex as_found,
                        cm_result *result)
{
    double complex sum = 0;
    double weights = 0;
    for (int k = 0; k < evidence->runs; k++) {
        if (!evidence->at_base[k] || !cm_was_read(evidence, row, k))
            continue;
        double root = cm_root_of(evidence, row, k);
        sum += root * root * evidence->given->readings[row + k * evidence->rows];
        weights += root * root;
    }
    result->base_runs[row] = base_runs;
    result->y[row] =
        base_runs > 0 ? sum / weights : state_reading(evidence, result, row, as_found, evidence->base, 1);
}

static void put_values(cm_session *session, const cm_evidence *evidence, const cm_system *system, int member,
                       const cm_latents *latents, const double complex *w, cm_result *result)
{
    cm_mark mark = cm_mark_of(session);
    const cm_group *group = system->group;
    int row = group->row[system->first + member];
    put_exact(evidence, row, result);
    for (int c = 1; c < system->n; c++)
        result->a[row + group->plane[c] * result->rows] = coefficient(evidence, system, row, c, latents, w);
    cm_turn_row(session, group->basis, result->planes, result->rows, result->a + row);
    put_reading(evidence, row, system->base_runs, system->sigma * w[0], result);
    if (result->residual)
        put_residuals(evidence, row, system->sigma * w[0], result);
    cm_release_to(session, mark);
}

/* ---- spread ---- */

/* Lines of the coefficients, and of the as-found reading in line 0: map·(n × k block), scaled by `times`. */
static void map_lines(const cm_evidence *evidence, const cm_system *system, double times, int k,
                      const double complex *from, double complex *to, int lines)
{
    const cm_group *group = system->group;
    int row = group->row[system->first];
    for (int c = 0; c < system->n; c++) {
        double unit = times * unit_of(evidence, system, row, c);
        for (int q = 0; q < k; q++)
            to[group->plane[c] + 1 + q * lines] = unit * from[c + q * system->n];
    }
}

/* Line 0 from "as found" to "fitted at the base state". */
static void move_to_base(const cm_evidence *evidence, int lines, int columns, double complex *block)
{
    for (int q = 0; q < columns; q++)
        for (int j = 0; j < evidence->planes; j++)
            block[q * lines] += evidence->base[j] * block[j + 1 + q * lines];
}

/* Latent part B·S, lines × count. */
static void latent_part(cm_session *session, const cm_evidence *evidence, const cm_system *system,
                        const cm_latents *latents, int lines, double complex *out)
{
    int n = system->n, count = system->latents, row = system->group->row[system->first];
    double complex *turned = CM_NEW(session, (size_t)n * (size_t)count, double complex);
    double complex *b = CM_NEW(session, (size_t)lines * (size_t)count, double complex);
    cm_multiply(false, false, n, count, n, -1, system->inverse, n, system->latent, system->m, 0, turned, n);
    map_lines(evidence, system, 1, count, turned, b, lines);
    for (int j = 0; j < evidence->planes; j++) {
        const cm_known *known = cm_known_of(evidence, row, j);
        int latent = known && known->uncertainty > 0 ? latents->of_plane[cm_latent_key(evidence, known)] : -1;
        if (latent >= 0)
            b[j + 1 + latent * lines] += cm_latent_strength(known);
    }
    cm_multiply(false, false, lines, count, count, 1, b, lines, latents->inverse, count, 0, out, lines);
}

/* Line 0 when the reading is the mean of base runs: its own weights take the place of the fitted value. */
static void put_base_mean(const cm_system *system, const cm_latents *latents, int lines, cm_parts *parts)
{
    int n = system->n, row = system->group->row[system->first];
    double rest = system->sigma * cm_norm2(system->m - n, system->base + n);
    double told = 0;
    for (int q = 0; q < n; q++)
        parts->block[q * lines] = system->sigma * conj(system->base[q]);
    for (int l = 0; l < parts->shared; l++) {
        double complex x = conj(latents->base[l + row * parts->shared]);
        parts->block[(n + 1 + l) * lines] = x;
        told += cm_abs2(x);
    }
    parts->block[n * lines] = sqrt(fmax(0, rest * rest - told));
}

static cm_parts factor_parts(cm_session *session, const cm_evidence *evidence, const cm_system *system,
                             const cm_latents *latents)
{
    int lines = evidence->planes + 1, n = system->n;
    cm_parts parts = {.own = n, .shared = system->latents, .columns = n + 1 + system->latents};
    parts.block = CM_NEW(session, (size_t)lines * (size_t)parts.columns, double complex);
    map_lines(evidence, system, 1, n, system->inverse, parts.block, lines);
    if (parts.shared > 0)
        latent_part(session, evidence, system, latents, lines, parts.block + (size_t)(n + 1) * (size_t)lines);
    cm_turn_lines(session, system->group->basis, lines, parts.columns, parts.block);
    if (system->base)
        put_base_mean(system, latents, lines, &parts);
    else
        move_to_base(evidence, lines, parts.columns, parts.block);
    return parts;
}

/* A square factor with the same product: F = Rᴴ of the QR of the adjoint; as it is where it fits. */
static void compress(cm_session *session, int lines, const cm_parts *parts, double complex *square)
{
    int k = parts->columns;
    if (k <= lines) {
        memcpy(square, parts->block, (size_t)lines * (size_t)k * sizeof *square);
        return;
    }
    double complex *adjoint = CM_NEW(session, (size_t)k * (size_t)lines, double complex);
    double complex *tau = CM_NEW(session, lines, double complex);
    for (int l = 0; l < lines; l++)
        for (int q = 0; q < k; q++)
            adjoint[q + l * k] = conj(parts->block[l + q * lines]);
    cm_qr(session, k, lines, adjoint, k, tau);
    for (int l = 0; l < lines; l++)
        for (int q = 0; q <= l; q++)
            square[l + q * lines] = conj(adjoint[q + l * k]);
}

/* The part shared with other rows, and what of it comes from the base mean. */
static void put_common(const cm_system *system, const cm_latents *latents, const cm_parts *parts, int total,
                       cm_result *result)
{
    size_t lines = (size_t)result->lines, row = (size_t)system->group->row[system->first];
    double complex *common = result->common + row * lines * (size_t)total + (size_t)latents->first * lines;
    double complex *base = result->base + row * lines * (size_t)total + (size_t)latents->first * lines;
    memcpy(common, parts->block + (size_t)(parts->own + 1) * lines,
           (size_t)parts->shared * lines * sizeof *common);
    for (int l = 0; system->base && l < parts->shared; l++)
        base[(size_t)l * lines] = common[(size_t)l * lines];
}

/* Where the runs leave something open, what they do: lines × null_count. Line j + 1 of a plane told by itself is 0. */
static bool told_by_itself(const double complex *open, int lines, int count, int plane)
{
    for (int d = 0; d < count; d++)
        if (cabs(open[plane + 1 + d * lines]) > TOUCHED)
            return false;
    return true;
}

/* Nothing of a coefficient rests on the scatter of the readings alone: all coordinates that make it are known beforehand. */
static bool is_known(const cm_group *group, int planes, int plane)
{
    for (int c = 1; c < group->columns; c++) {
        bool makes = group->basis ? cabs(group->basis[plane + group->plane[c] * planes]) > 0
                                  : group->plane[c] == plane;
        if (makes && !group->prior[c])
            return false;
    }
    return true;
}

/* Per plane: its coefficient is told by itself. */
static const bool *told_alone(cm_session *session, const cm_group *group, const double complex *open,
                              int planes)
{
    bool *told = CM_NEW(session, planes, bool);
    for (int j = 0; j < planes; j++)
        told[j] = told_by_itself(open, planes + 1, group->null_count, j);
    return told;
}

/* Standard deviation of each coefficient, and whether anything tells it. */
static void put_std(const cm_evidence *evidence, const cm_group *group, const bool *alone, int row,
                    const cm_scatter *scatter, cm_result *result)
{
    size_t lines = (size_t)result->lines;
    const double complex *factor = result->factor + (size_t)row * lines * lines;
    bool told = scatter->source[row] != CM_SCATTER_ASSUMED;
    for (int j = 0; j < evidence->planes; j++) {
        int at = row + j * result->rows;
        double sum = 0;
        for (size_t q = 0; q < lines; q++)
            sum += cm_abs2(factor[(size_t)j + 1 + q * lines]);
        result->determined[at] = alone[j];
        result->std[at] = alone[j] ? sqrt(sum) : NAN;
        result->std_known[at] = alone[j] && (told || is_known(group, evidence->planes, j));
    }
}

/* What runs and priors of a group leave open, in lines of the planes. */
static const double complex *open_lines(cm_session *session, const cm_evidence *evidence,
                                        const cm_group *group)
{
    int lines = evidence->planes + 1;
    double complex *open = CM_NEW(session, (size_t)lines * (size_t)group->null_count, double complex);
    for (int d = 0; d < group->null_count; d++)
        for (int c = 0; c < group->columns; c++)
            open[group->plane[c] + 1 + d * lines] = group->null[c + d * group->columns];
    cm_turn_open(session, group->basis, evidence->scale, lines, group->null_count, open);
    return open;
}

static void put_null_space(const cm_system *system, const double complex *open, cm_result *result)
{
    size_t lines = (size_t)result->lines, count = (size_t)system->group->null_count;
    for (int i = 0; i < system->members; i++) {
        int row = system->group->row[system->first + i];
        result->null_count[row] = (int)count;
        if (count > 0)
            memcpy(result->null + (size_t)row * lines * lines, open, lines * count * sizeof *open);
    }
}

/* How readings enter the lines of a system's rows: lines × runs. */
static double complex *pull_of(cm_session *session, const cm_evidence *evidence, const cm_system *system)
{
    const cm_group *group = system->group;
    int lines = evidence->planes + 1, m = system->m, n = system->n, row = group->row[system->first];
    double complex *out = CM_NEW(session, (size_t)lines * (size_t)evidence->runs, double complex);
    double complex *one = CM_NEW(session, m, double complex), *w = CM_NEW(session, n, double complex);
    for (int k = 0; k < group->runs; k++) {
        double complex *line = out + (size_t)group->run[k] * (size_t)lines;
        memset(one, 0, (size_t)m * sizeof *one);
        one[k] = cm_root_of(evidence, row, group->run[k]) / system->sigma;
        cm_qr_times_qh(session, m, 1, n, system->qr, m, system->tau, one, m);
        cm_matvec(false, n, n, 1, system->inverse, n, one, 0, w);
        map_lines(evidence, system, 1, 1, w, line, lines);
        cm_turn_lines(session, group->basis, lines, 1, line);
        move_to_base(evidence, lines, 1, line);
        if (system->base)
            line[0] = evidence->at_base[group->run[k]] ? base_weight(evidence, group, row, k) : 0;
    }
    return out;
}

/* What the error of angles that phases were turned back by adds to a row, as further latent errors at `first`. */
static void move_row(cm_session *session, const cm_evidence *evidence, const cm_spread_of_fit *of,
                     const double complex *pull, int row, cm_result *result)
{
    size_t lines = (size_t)result->lines, total = (size_t)of->total;
    size_t at = (size_t)row * lines * total + (size_t)(of->total - of->moved->count) * lines;
    cm_moved_parts(evidence, of->moved, row, of->scatter->value[row], pull, result->common + at,
                   result->base + at);
    cm_add_parts(session, result->lines, of->moved->count, result->common + at, result->base + at,
                 result->factor + (size_t)row * lines * lines);
}

/* The row's own noise before it is compressed. */
static void keep_own(const cm_system *system, const cm_parts *parts, int row, double times, cm_result *result)
{
    size_t lines = (size_t)result->lines;
    for (size_t k = 0; k < (size_t)parts->own * lines; k++)
        result->own[(size_t)row * lines * lines + k] = times * parts->block[k];
    if (system->base)
        result->rest[row] = times * system->sigma * cm_norm2(system->m - system->n, system->base + system->n);
}

/* Spread of all members: one square factor, times the scatter of each when the system is shared. */
static void put_spread(cm_session *session, const cm_evidence *evidence, const cm_system *system,
                       const cm_latents *latents, const cm_spread_of_fit *of, const double complex *open,
                       cm_result *result)
{
    const cm_group *group = system->group;
    size_t cells = (size_t)result->lines * (size_t)result->lines;
    cm_parts parts = factor_parts(session, evidence, system, latents);
    double complex *square = CM_NEW(session, cells, double complex);
    const double complex *pull = of->moved->count ? pull_of(session, evidence, system) : NULL;
    const bool *alone = told_alone(session, group, open, result->planes);
    compress(session, result->lines, &parts, square);
    for (int i = 0; i < system->members; i++) {
        int row = group->row[system->first + i];
        double times = of->scatter->value[row] / system->sigma;
        double complex *factor = result->factor + (size_t)row * cells;
        for (size_t k = 0; k < cells; k++)
            factor[k] = times * square[k];
        if (result->own)
            keep_own(system, &parts, row, times, result);
        if (pull)
            move_row(session, evidence, of, pull, row, result);
        put_std(evidence, group, alone, row, of->scatter, result);
    }
    if (parts.shared > 0)
        put_common(system, latents, &parts, of->total, result);
}

/* ---- all together ---- */

static int count_nulls(const cm_groups *groups)
{
    int nulls = 0;
    for (int g = 0; g < groups->count; g++)
        nulls += groups->items[g].null_count;
    return nulls;
}

static int build_systems(cm_session *session, const cm_evidence *evidence, const cm_groups *groups,
                         const cm_scatter *scatter, const cm_latent_list *list, cm_system *systems)
{
    int count = 0;
    for (int g = 0; g < groups->count; g++) {
        const cm_group *group = &groups->items[g];
        if (group->priors == 0) {
            systems[count++] = cm_build_system(session, evidence, group, 0, group->rows, 1, NULL, 0);
            continue;
        }
        for (int i = 0; i < group->rows; i++) {
            const cm_latents *latents = cm_latents_of(list, evidence, group->row[i]);
            systems[count++] =
                cm_build_system(session, evidence, group, i, 1, scatter->value[group->row[i]],
                                latents ? latents->of_plane : NULL, latents ? latents->count : 0);
        }
    }
    return count;
}

/* Per row; an assumed scatter claims no degrees of freedom and counts as known. */
static const double *radius_factors(cm_session *session, const cm_scatter *scatter, int rows)
{
    double *factor = CM_NEW(session, rows, double);
    for (int i = 0; i < rows; i++)
        factor[i] = cm_radius_factor(OUTSIDE, scatter->dof[i] > 0 ? scatter->dof[i] : INFINITY);
    return factor;
}

/* Per run; NULL when no phases were turned back. */
static const double *phase_spread(cm_session *session, const cm_evidence *evidence, const cm_moved *moved)
{
    if (moved->count == 0)
        return NULL;
    double *std = CM_NEW(session, evidence->runs, double);
    for (int k = 0; k < evidence->runs; k++)
        std[k] = evidence->given->moved_of[k] < 0 ? 0 : moved->std[evidence->given->moved_of[k]];
    return std;
}

static const cm_influence *finish(cm_session *session, const cm_evidence *evidence,
                                  const cm_spread_of_fit *of, const cm_result *result)
{
    const cm_scatter *scatter = of->scatter;
    cm_influence *influence = CM_NEW(session, 1, cm_influence);
    *influence = (cm_influence){.size = sizeof *influence,
                                .rows = result->rows,
                                .planes = result->planes,
                                .a = result->a,
                                .determined = result->determined,
                                .std = result->std,
                                .y = result->y,
                                .base_runs = result->base_runs,
                                .scatter = scatter->value,
                                .scatter_source = scatter->source,
                                .dof = scatter->dof,
                                .std_known = result->std_known,
                                .factor = result->factor,
                                .null_space = result->null,
                                .null_count = result->null_count,
                                .column_scale = evidence->scale,
                                .common_count = of->total,
                                .real_count = of->moved->count,
                                .common_factor = result->common,
                                .base_factor = result->base,
                                .residual = result->residual};
    if (!result->factor)
        return influence;
    influence->radius_factor = radius_factors(session, scatter, result->rows);
    influence->phase_shift_std = phase_spread(session, evidence, of->moved);
    influence->common = cm_common_shares(session, evidence->given->block, influence);
    return influence;
}

/* Values and, as far as it is asked for, spread of all members of a system. */
static void put_system(cm_session *session, const cm_evidence *evidence, const cm_system *system,
                       const cm_latents *latents, const cm_spread_of_fit *of, cm_result *result)
{
    cm_mark mark = cm_mark_of(session);
    const double complex *open = open_lines(session, evidence, system->group);
    const double complex *w = solve_members(session, system, latents);
    for (int i = 0; i < system->members; i++)
        put_values(session, evidence, system, i, latents, w + (size_t)i * (size_t)system->n, result);
    put_null_space(system, open, result);
    if (result->factor) {
        cm_system inverted = *system;
        inverted.inverse = cm_inverse_of(session, system);
        put_spread(session, evidence, &inverted, latents, of, open, result);
    }
    cm_release_to(session, mark);
}

static bool has_priors(const cm_groups *groups)
{
    for (int g = 0; g < groups->count; g++)
        if (groups->items[g].priors > 0)
            return true;
    return false;
}

/* Values depend on the scatter where it is weighed against priors only. */
static cm_fitted fit_plain(cm_session *session, const cm_runs *runs, cm_asked asked)
{
    cm_evidence evidence = cm_clean_runs(session, runs);
    cm_groups groups = cm_group_rows(session, &evidence);
    cm_scatter scatter = {0};
    cm_moved moved = {0};
    cm_latent_list list = cm_list_latents(session, &evidence);
    cm_result result = new_result(session, &evidence, count_nulls(&groups));
    if (asked != CM_VALUES || has_priors(&groups))
        scatter = cm_find_scatter(session, &evidence, &groups);
    if (asked != CM_VALUES) {
        moved = cm_find_moved(session, &evidence, &scatter);
        make_room_for_spread(session, evidence.runs, list.total + moved.count, &result);
    }
    if (asked == CM_OWN)
        put_own(session, &result);
    cm_spread_of_fit of = {&scatter, &moved, list.total + moved.count};
    cm_system *systems = CM_NEW(session, evidence.rows, cm_system);
    int count = build_systems(session, &evidence, &groups, &scatter, &list, systems);
    for (int b = 0; b < list.count; b++)
        cm_solve_latents(session, &evidence, systems, count, &list.items[b]);
    for (int s = 0; s < count; s++)
        put_system(session, &evidence, &systems[s],
                   cm_latents_of(&list, &evidence, systems[s].group->row[systems[s].first]), &of, &result);
    return (cm_fitted){finish(session, &evidence, &of, &result), result.own, result.rest};
}

/* One fit for each member of a family. */
static const cm_fitted *fit_wide(cm_session *session, cm_wide *wide)
{
    cm_fitted *fits = CM_NEW(session, wide->members, cm_fitted);
    for (int t = 0; t < wide->members; t++) {
        cm_wide_base(wide, t);
        fits[t] = fit_plain(session, &wide->runs, wide->members > 1 ? CM_OWN : CM_SPREAD);
    }
    return fits;
}

const cm_influence *cm_fit_runs(cm_session *session, const cm_runs *runs)
{
    if (!runs->shares && runs->levels == 0)
        return cm_with_sets(session, runs, fit_plain(session, runs, CM_SPREAD).influence);
    cm_wide wide = cm_widen(session, runs);
    return cm_with_sets(session, runs, cm_narrow(session, &wide, fit_wide(session, &wide)));
}

const cm_influence *cm_fit_values(cm_session *session, const cm_runs *runs)
{
    bool plain = !runs->shares && runs->levels == 0;
    return plain ? fit_plain(session, runs, CM_VALUES).influence : cm_fit_runs(session, runs);
}

const cm_influence *cm_fit_level(cm_session *session, const cm_runs *runs, int level, cm_complex *change,
                                 double *std, unsigned char *told)
{
    cm_wide wide = cm_widen(session, runs);
    const cm_fitted *fits = fit_wide(session, &wide);
    const cm_influence *fit = fits[0].influence;
    for (int i = 0; i < runs->rows; i++) {
        int at = wide.family[i] + (runs->planes + wide.members - 1 + level) * fit->rows;
        told[i] = fit->determined[at];
        change[i] = wide.unit * fit->a[at];
        std[i] = wide.unit * fit->std[at];
    }
    return cm_with_sets(session, runs, cm_narrow(session, &wide, fits));
}

cm_status cm_fit(cm_session *session, const cm_runs *runs, const cm_influence **influence)
{
    CM_ENTER(session);
    *influence = cm_fit_runs(session, cm_given_runs(session, runs));
    return cm_leave(session);
}
