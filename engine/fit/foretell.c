/* SPDX-License-Identifier: MIT */
/*
 * What would the runs before it have said about a run?
 *
 * For run k the influence matrix is fitted to runs 0 … k-1 with the masses of run k as the base state; the reading
 * expected there is the prediction. It is told when the mean of earlier runs in that state is, or when the functional
 * (1, masses) vanishes on all that those runs and the known coefficients leave open.
 */
#include "fit/fit.h"
#include "fit/foretell.h"
#include "linalg/dense.h"

#include "countermass/evidence.h"
#include "countermass/job.h"
#include "model/job_call.h"

#include <string.h>

#undef I

static const double OPEN = 1e-8; /* as for every question to an orthonormal null space */

/* Was the angle that the phases of a run were turned back by found from runs before k alone? */
static bool found_before(const cm_runs *all, int run, int k)
{
    size_t cells = (size_t)all->rows * (size_t)all->runs;
    const cm_complex *gain = all->moved_gain + cells * (size_t)all->moved_of[run];
    for (size_t at = (size_t)k * (size_t)all->rows; at < cells; at++)
        if (cabs(gain[at]) > 0)
            return false;
    return true;
}

/* Readings of the first k runs, without those whose phases only later runs tell. */
static const int *told_by_then(cm_session *session, const cm_runs *all, int k)
{
    if (all->moved == 0)
        return all->repeats;
    int *repeats = CM_NEW(session, (size_t)all->rows * (size_t)k, int);
    for (int r = 0; r < k; r++)
        for (int i = 0; i < all->rows; i++)
            if (all->moved_of[r] < 0 || found_before(all, r, k))
                repeats[i + r * all->rows] = all->repeats[i + r * all->rows];
    return repeats;
}

cm_runs cm_runs_before(cm_session *session, const cm_runs *all, int k)
{
    cm_runs part = *all;
    double complex *masses = CM_NEW(session, (size_t)k * (size_t)all->planes, double complex);
    double complex *base = CM_NEW(session, all->planes, double complex);
    double *level = CM_NEW(session, (size_t)k * (size_t)all->levels, double);
    double *base_level = CM_NEW(session, all->levels, double);
    for (int j = 0; j < all->planes; j++) {
        for (int r = 0; r < k; r++)
            masses[r + j * k] = all->masses[r + j * all->runs];
        base[j] = all->masses[k + j * all->runs];
    }
    for (int l = 0; l < all->levels; l++) {
        for (int r = 0; r < k; r++)
            level[r + l * k] = all->level[r + l * all->runs];
        base_level[l] = all->level[k + l * all->runs];
    }
    part.runs = k;
    part.masses = masses;
    part.base = base;
    part.level = level;
    part.base_level = base_level;
    part.moved = 0; /* no spread is asked for */
    part.repeats = told_by_then(session, all, k);
    return part;
}

/* The functional (1, masses) of length 1, in the scales of the null space. */
static const double complex *functional_of(cm_session *session, const cm_influence *fit,
                                           const cm_complex *masses)
{
    int lines = fit->planes + 1;
    double complex *f = CM_NEW(session, lines, double complex);
    f[0] = 1;
    for (int j = 0; j < fit->planes; j++)
        f[j + 1] = masses[j] / fit->column_scale[j + 1];
    double norm = cm_norm2(lines, f);
    for (int l = 0; l < lines; l++)
        f[l] /= norm;
    return f;
}

/* Does the functional vanish on all that is left open of a row? */
static bool is_closed(const cm_influence *fit, int row, const double complex *functional)
{
    int lines = fit->planes + 1;
    size_t block = (size_t)row * (size_t)lines * (size_t)lines;
    for (int d = 0; d < fit->null_count[row]; d++) {
        double complex open = 0;
        for (int l = 0; l < lines; l++)
            open += functional[l] * fit->null_space[block + (size_t)(l + d * lines)];
        if (!(cm_abs(open) <= OPEN))
            return false;
    }
    return true;
}

bool cm_state_is_told(cm_session *session, const cm_influence *fit, int row, const cm_complex *masses)
{
    cm_mark mark = cm_mark_of(session);
    bool told = fit->null_count[row] == 0 || is_closed(fit, row, functional_of(session, fit, masses));
    cm_release_to(session, mark);
    return told;
}

bool cm_row_is_told(cm_session *session, const cm_influence *fit, int row, const cm_complex *masses)
{
    return fit->base_runs[row] > 0 || cm_state_is_told(session, fit, row, masses);
}

void cm_tell_rows(cm_session *session, const cm_influence *fit, const cm_complex *masses,
                  cm_complex *expected, unsigned char *told)
{
    cm_mark mark = cm_mark_of(session);
    const double complex *functional = functional_of(session, fit, masses);
    for (int i = 0; i < fit->rows; i++) {
        told[i] = fit->base_runs[i] > 0 || is_closed(fit, i, functional);
        expected[i] = told[i] ? fit->y[i] : 0;
    }
    cm_release_to(session, mark);
}

static void foretell_run(cm_session *session, const cm_job *job, int k, double complex *expected,
                         unsigned char *told)
{
    const cm_runs *all = job->runs;
    size_t rows = (size_t)all->rows, at = (size_t)k * rows;
    if (job->examined && job->examined->runs == all &&
        k >= job->examined->first) { /* these were fitted for their test */
        memcpy(expected, job->examined->foretold->expected + at, rows * sizeof *expected);
        memcpy(told, job->examined->foretold->told + at, rows);
        return;
    }
    cm_mark mark = cm_mark_of(session);
    cm_runs part = cm_runs_before(session, all, k);
    const cm_influence *fit = cm_fit_values(session, &part);
    cm_tell_rows(session, fit, part.base, expected, told);
    cm_release_to(session, mark);
}

cm_status cm_foretell(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_foretell", CM_HAS_RUNS, CM_HAS_FORETOLD};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_runs *runs = job->runs;
    size_t cells = (size_t)runs->rows * (size_t)runs->runs;
    double complex *expected = CM_NEW(session, cells, double complex);
    unsigned char *told = CM_NEW(session, cells, unsigned char);
    for (int k = 1; k < runs->runs && runs->runs <= CM_MOST_REFITTED; k++)
        foretell_run(session, job, k, expected + (size_t)k * (size_t)runs->rows,
                     told + (size_t)k * (size_t)runs->rows);
    cm_foretold *out = CM_NEW(session, 1, cm_foretold);
    *out = (cm_foretold){sizeof *out, expected, told};
    job->foretold = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
