/* SPDX-License-Identifier: MIT */
/* Which run compares with which, and which runs are trials: their masses lie outside the span of (1, masses) of the runs
 * before them. The span is kept as an orthonormal basis (Gram-Schmidt, twice, on planes scaled by their largest mass). */
#include "evidence/steps.h"
#include "base/constants.h"
#include "evidence/weights.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

static const double NEW_DIRECTION =
    1e-8; /* share of a run's masses that no combination of earlier runs makes */

bool cm_run_read(const cm_runs *runs, int row, int run)
{
    return runs->repeats[row + run * runs->rows] > 0;
}

/* Group columns stand before the one of drift. */
static int group_levels(const cm_notes *notes)
{
    bool drifts = notes->job->given->goal.drift == CM_DRIFT_LINEAR && notes->job->runs->runs > 1;
    return notes->job->runs->levels > 0 ? notes->job->runs->levels - drifts : 0;
}

bool cm_same_group(const cm_notes *notes, int run, int other)
{
    const cm_runs *runs = notes->job->runs;
    for (int l = 0; l < group_levels(notes); l++)
        if (runs->level[run + l * runs->runs] != runs->level[other + l * runs->runs])
            return false;
    return true;
}

static bool differs(const cm_runs *runs, int run, int other, int plane)
{
    return cm_abs(runs->masses[run + plane * runs->runs] - runs->masses[other + plane * runs->runs]) >
           fmax(runs->mass_zero, 1e-300);
}

static int count_changes(const cm_runs *runs, int run, int other)
{
    int changes = 0;
    for (int j = 0; j < runs->planes; j++)
        changes += differs(runs, run, other, j);
    return changes;
}

bool cm_same_state(const cm_notes *notes, int run, int other)
{
    const cm_runs *runs = notes->job->runs;
    for (int j = 0; j < runs->planes; j++)
        if (differs(runs, run, other, j))
            return false;
    return cm_same_group(notes, run, other);
}

static void find_reference(const cm_notes *notes, cm_step *steps, int run)
{
    const cm_runs *runs = notes->job->runs;
    cm_step *step = &steps[run];
    step->reference = -1;
    step->changes = runs->planes + 1;
    for (int other = 0; other < run; other++)
        if (cm_same_group(notes, run, other) && count_changes(runs, run, other) <= step->changes) {
            step->reference = other;
            step->changes = count_changes(runs, run, other);
        }
    if (step->reference < 0)
        return;
    step->changed = CM_NEW(notes->session, runs->planes, unsigned char);
    for (int j = 0; j < runs->planes; j++)
        step->changed[j] = differs(runs, run, step->reference, j);
}

/* Takes a run's (1, masses) into the basis; true when it was not in its span. */
static bool widen_span(const cm_runs *runs, int run, const double *scale, double complex *basis, int *rank)
{
    int lines = runs->planes + 1;
    double complex *v = basis + (size_t)*rank * (size_t)lines;
    v[0] = 1;
    for (int j = 0; j < runs->planes; j++)
        v[j + 1] = runs->masses[run + j * runs->runs] / scale[j];
    double before = cm_norm2(lines, v);
    for (int pass = 0; pass < 2; pass++)
        for (int b = 0; b < *rank; b++) {
            const double complex *q = basis + (size_t)b * (size_t)lines;
            double complex along = 0;
            for (int l = 0; l < lines; l++)
                along += conj(q[l]) * v[l];
            for (int l = 0; l < lines; l++)
                v[l] -= along * q[l];
        }
    double left = cm_norm2(lines, v);
    if (*rank == lines || left <= NEW_DIRECTION * before)
        return false;
    for (int l = 0; l < lines; l++)
        v[l] /= left;
    (*rank)++;
    return true;
}

static void find_trials(const cm_notes *notes, cm_step *steps)
{
    const cm_runs *runs = notes->job->runs;
    double *scale = CM_NEW(notes->session, runs->planes, double);
    size_t lines = (size_t)runs->planes + 1;
    double complex *basis = CM_NEW(notes->session, lines * (lines + 1), double complex);
    int rank = 0;
    for (int j = 0; j < runs->planes; j++) {
        for (int k = 0; k < runs->runs; k++)
            scale[j] = fmax(scale[j], cabs(runs->masses[k + j * runs->runs]));
        scale[j] = scale[j] > 0 ? scale[j] : 1;
    }
    for (int k = 0; k < runs->runs; k++)
        steps[k].trial = widen_span(runs, k, scale, basis, &rank) && steps[k].reference >= 0;
}

const cm_step *cm_steps_of(const cm_notes *notes)
{
    const cm_runs *runs = notes->job->runs;
    if (!runs || !runs->repeats || !notes->job->influence || !notes->job->influence->scatter)
        return NULL;
    cm_step *steps = CM_NEW(notes->session, runs->runs, cm_step);
    for (int k = 0; k < runs->runs; k++)
        find_reference(notes, steps, k);
    find_trials(notes, steps);
    return steps;
}

double cm_response(const cm_notes *notes, const cm_step *step, int run, int row)
{
    const cm_runs *runs = notes->job->runs;
    double scatter = notes->job->influence->scatter[row];
    if (step->reference < 0 || !cm_run_read(runs, row, run) || !cm_run_read(runs, row, step->reference) ||
        !(scatter > 0))
        return -1;
    double variances = 1 / cm_weight_of(runs, row, run) + 1 / cm_weight_of(runs, row, step->reference);
    return cabs(runs->readings[row + run * runs->rows] - runs->readings[row + step->reference * runs->rows]) /
           (scatter * sqrt(variances / 2));
}

const char *cm_step_planes(const cm_notes *notes, const cm_step *step)
{
    return cm_plane_names(notes, step->changed);
}

double cm_degrees_between(cm_complex a, cm_complex b)
{
    return a == 0 || b == 0 ? 0 : fabs(carg(a * conj(b))) * 180 / CM_PI;
}

double cm_percent_off(double size, double of)
{
    return of > 0 ? 100 * fabs(size - of) / of : 0;
}
