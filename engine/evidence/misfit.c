/* SPDX-License-Identifier: MIT */
/*
 * Question: do all runs fit one linear model, and if not, which one stands out?
 *
 * Per row, every run is multiplied by the root of its weight; Q is an orthonormal basis of the columns
 * [1 | masses | levels] over the runs that read it, e = r - Q Qᴴ r the residual, h_k = |Q_k|² the leverage of run k. Its residual, had the run not been used, is e_k/(1 - h_k) with variance
 * s²/(1 - h_k), so
 *
 *     chi²_k = sum over rows |e_ik|² / (s_i² (1 - h_ik))
 *
 * is Gamma(N). s_i is the declared repeatability; else the scatter of its pool without run k,
 * s² = (RSS - sum |e|²/(1-h)) / (dof - N); else the assumed rule (externally studentised residuals, Cook and Weisberg,
 * Residuals and influence in regression, 1982, value from memory). Earlier knowledge takes no part but for exact
 * coefficients. Only the run that stands out most is named: it spoils the fit of the others.
 */
#include "evidence/steps.h"
#include "evidence/weights.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"

#include <math.h>
#include <string.h>

#undef I

static const double CHANCE =
    1e-3;                        /* that the worst of runs which do fit stands out so far (our own figure) */
static const double TOLD = 1e-6; /* share 1 - h that is left to contradict a run */
static const double EXACT =
    0.1; /* of the assumed scatter: runs that agree better count as no better (our own figure) */
static const double SAME = 1e-3; /* runs as far out as the worst share the blame */

typedef struct cm_fits {
    cm_notes *notes;
    const cm_runs *runs;
    double complex *residual; /* rows × runs, times the root of the weight; of rows that the run read */
    double *free;             /* rows × runs: 1 - h */
    double *squares, *dof;    /* pools: RSS and degrees of freedom */
    const cm_known **exact;   /* rows × planes: exact coefficients; others NULL */
    int columns;
} cm_fits;

static double complex *design_of(const cm_fits *f)
{
    const cm_runs *runs = f->runs;
    double complex *design =
        CM_NEW(f->notes->session, (size_t)f->columns * (size_t)runs->runs, double complex);
    for (int k = 0; k < runs->runs; k++) {
        design[k] = 1;
        for (int j = 0; j < runs->planes; j++)
            design[k + (1 + j) * runs->runs] = runs->masses[k + j * runs->runs];
        for (int l = 0; l < runs->levels; l++)
            design[k + (1 + runs->planes + l) * runs->runs] = runs->level[k + l * runs->runs];
    }
    return design;
}

/* Planes whose coefficient of a row is exact have no column; what they do is taken off the reading. */
static const cm_known **exact_of(cm_session *session, const cm_runs *runs)
{
    const cm_known **exact = CM_NEW(session, (size_t)runs->rows * (size_t)runs->planes, const cm_known *);
    for (int i = runs->known_count - 1; i >= 0; i--)
        if (!runs->known[i].set && runs->known[i].uncertainty == 0)
            exact[runs->known[i].row + runs->known[i].plane * runs->rows] = &runs->known[i];
    return exact;
}

/* Runs: root of the weight with which the row was read, 0: not at all. Planes: 1 where the coefficient is exact. */
static double *pattern_of(const cm_fits *f, int row)
{
    const cm_runs *runs = f->runs;
    double *pattern = CM_NEW(f->notes->session, runs->runs + runs->planes, double);
    for (int k = 0; k < runs->runs; k++)
        pattern[k] = cm_run_read(runs, row, k) ? sqrt(cm_weight_of(runs, row, k)) : 0;
    for (int j = 0; j < runs->planes; j++)
        pattern[runs->runs + j] = f->exact[row + j * runs->rows] != NULL;
    return pattern;
}

/* Orthonormal basis of the columns over the runs that were read (Gram-Schmidt, twice); its rank. */
static int basis_of(const cm_fits *f, const double complex *design, const double *pattern,
                    double complex *basis)
{
    int n = f->runs->runs, rank = 0;
    for (int c = 0; c < f->columns; c++) {
        bool left_out = c > 0 && c <= f->runs->planes && pattern[n + c - 1] > 0;
        double complex *v = basis + (size_t)rank * (size_t)n;
        for (int k = 0; k < n; k++)
            v[k] = pattern[k] * design[k + c * n];
        double before = cm_norm2(n, v);
        for (int pass = 0; pass < 2 && before > 0 && !left_out; pass++)
            for (int b = 0; b < rank; b++) {
                double complex along = 0, *q = basis + (size_t)b * (size_t)n;
                for (int k = 0; k < n; k++)
                    along += conj(q[k]) * v[k];
                for (int k = 0; k < n; k++)
                    v[k] -= along * q[k];
            }
        double after = left_out ? 0 : cm_norm2(n, v);
        if (after <= 1e-10 * before || rank == n)
            continue;
        for (int k = 0; k < n; k++)
            v[k] /= after;
        rank++;
    }
    return rank;
}

/* Residuals and leverages of one row. */
static void fit_row(cm_fits *f, int row, const double *pattern, const double complex *basis, int rank)
{
    const cm_runs *runs = f->runs;
    int n = runs->runs, read = 0;
    double complex *e = CM_NEW(f->notes->session, n, double complex);
    double squares = 0;
    for (int k = 0; k < n; k++) {
        bool is_read = pattern[k] > 0;
        e[k] = is_read ? runs->readings[row + k * runs->rows] : 0;
        read += is_read;
        for (int j = 0; j < runs->planes; j++)
            if (is_read && pattern[n + j] > 0)
                e[k] -= f->exact[row + j * runs->rows]->value * runs->masses[k + j * n];
        e[k] *= pattern[k];
        f->free[row + k * runs->rows] = is_read;
    }
    for (int b = 0; b < rank; b++) {
        const double complex *q = basis + (size_t)b * (size_t)n;
        double complex along = 0;
        for (int k = 0; k < n; k++)
            along += conj(q[k]) * e[k];
        for (int k = 0; k < n; k++) {
            e[k] -= along * q[k];
            f->free[row + k * runs->rows] -= cm_abs2(q[k]);
        }
    }
    for (int k = 0; k < n; k++) {
        f->residual[row + k * runs->rows] = e[k];
        squares += cm_abs2(e[k]);
    }
    f->squares[runs->pool[row]] += squares;
    f->dof[runs->pool[row]] += read - rank;
}

static cm_fits fit_all(cm_notes *notes)
{
    const cm_runs *runs = notes->job->runs;
    size_t cells = (size_t)runs->rows * (size_t)runs->runs;
    int pools = 1;
    for (int i = 0; i < runs->rows; i++)
        pools = runs->pool[i] >= pools ? runs->pool[i] + 1 : pools;
    cm_fits f = {.notes = notes, .runs = runs, .columns = 1 + runs->planes + runs->levels};
    f.exact = exact_of(notes->session, runs);
    f.residual = CM_NEW(notes->session, cells, double complex);
    f.free = CM_NEW(notes->session, cells, double);
    f.squares = CM_NEW(notes->session, pools, double);
    f.dof = CM_NEW(notes->session, pools, double);
    double complex *design = design_of(&f);
    double complex *basis =
        CM_NEW(notes->session, (size_t)(f.columns + 1) * (size_t)runs->runs, double complex);
    double *last = NULL;
    int rank = 0;
    for (int i = 0; i < runs->rows; i++) {
        double *pattern = pattern_of(&f, i);
        if (!last || memcmp(last, pattern, (size_t)(runs->runs + runs->planes) * sizeof *pattern) != 0)
            rank = basis_of(&f, design, pattern, basis);
        last = pattern;
        fit_row(&f, i, pattern, basis, rank);
    }
    return f;
}

/* ---- one run against the others ---- */

typedef struct cm_outlier {
    int run, count, row; /* readings that can contradict it; the worst of them */
    double chi2, most, miss, chance, dof;
} cm_outlier;

/* Scatter of a row without run k, and its degrees of freedom (INFINITY: declared or assumed). */
static double scatter_without(const cm_fits *f, int row, int k, double *dof)
{
    const cm_runs *runs = f->runs;
    int pool = runs->pool[row];
    double squares = f->squares[pool], left = f->dof[pool];
    *dof = INFINITY;
    if (runs->repeatability[row] > 0)
        return runs->repeatability[row];
    for (int i = 0; i < runs->rows; i++) {
        double open = f->free[i + k * runs->rows];
        if (runs->pool[i] != pool || open <= TOLD)
            continue;
        squares -= cm_abs2(f->residual[i + k * runs->rows]) / open;
        left -= 1;
    }
    double least = EXACT * cm_independent_scatter(f->notes, row);
    if (left < 0.5)
        return cm_independent_scatter(f->notes, row);
    *dof = left;
    return fmax(sqrt(fmax(0, squares) / left), least);
}

static cm_outlier judge_run(const cm_fits *f, int k)
{
    cm_outlier o = {.run = k, .row = -1, .dof = INFINITY};
    double scatter = 0;
    int pool = -1; /* that `scatter` was estimated for */
    for (int i = 0; i < f->runs->rows; i++) {
        double open = f->free[i + k * f->runs->rows], dof;
        if (!cm_run_read(f->runs, i, k) || open <= TOLD)
            continue;
        if (pool != f->runs->pool[i] || f->runs->repeatability[i] > 0) {
            scatter = scatter_without(f, i, k, &dof);
            o.dof = fmin(o.dof, dof);
            pool = isfinite(dof) ? f->runs->pool[i] : -1;
        }
        double away = cabs(f->residual[i + k * f->runs->rows]) / sqrt(open) / scatter;
        o.count++;
        o.chi2 += away * away;
        if (away > o.most) {
            o.most = away;
            o.row = i;
            o.miss = cabs(f->residual[i + k * f->runs->rows]) / open / sqrt(cm_weight_of(f->runs, i, k));
        }
    }
    o.chance = o.count ? cm_sum_tail(o.count, o.chi2, o.dof) : 1;
    return o;
}

static void say_misfit(cm_notes *notes, const cm_outlier *o, int alike)
{
    cm_where where = cm_at_row(notes, o->row);
    where.run = o->run;
    const char *blame =
        alike > 1 ? cm_format(notes->session,
                              " The evidence cannot tell which of %d runs is the odd one; this is the "
                              "last of them.",
                              alike)
                  : "";
    cm_note(
        notes, "run-does-not-fit", CM_WARNING, where,
        "Run %s does not fit the linear model of the others: its readings lie %s standard deviations from it "
        "(root mean square of %d; %s is worst with %s, a miss of %s).%s Check its masses, angles and speed; "
        "then "
        "repeat it or leave it out with `leave_out`.",
        notes->job->given->runs[o->run].id, cm_three_digits(notes->session, sqrt(o->chi2 / o->count)),
        o->count, cm_row_name(notes, o->row), cm_three_digits(notes->session, o->most),
        cm_row_size(notes, o->row, o->miss), blame);
}

void cm_ask_misfit(cm_notes *notes)
{
    const cm_runs *runs = notes->job->runs;
    if (!cm_steps_of(notes) || !runs->repeatability || !runs->pool)
        return;
    cm_fits f = fit_all(notes);
    cm_outlier worst = {.run = -1};
    int alike = 0;
    for (int k = 0; k < runs->runs; k++) {
        cm_outlier o = judge_run(&f, k);
        if (o.count == 0)
            continue;
        bool same =
            worst.run >= 0 && o.count == worst.count && fabs(o.chi2 - worst.chi2) <= SAME * worst.chi2;
        if (worst.run < 0 || same || o.chi2 / o.count > worst.chi2 / worst.count) {
            alike = same ? alike + 1 : 1;
            worst = o;
        }
    }
    if (worst.run >= 0 && worst.chance < CHANCE / runs->runs)
        say_misfit(notes, &worst, alike);
}
