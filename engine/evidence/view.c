/* SPDX-License-Identifier: MIT */
/*
 * A run as the runs before it see it: expected readings from their fit alone, and what the crew said it changed. Pieces
 * are compared one by one: what stands in the list of this run and not in that of the run before was added, what stands in
 * the run before only was removed. A mistake is made with what was handled.
 */
#include "evidence/level.h"
#include "evidence/mounting.h"
#include "fit/fit.h"
#include "fit/foretell.h"
#include "linalg/dense.h"

#include <math.h>

#undef I

static const cm_mass_list *masses_before(const cm_job *job, int k)
{
    static const cm_mass_list nothing = {0};
    return k > 0 ? &job->given->runs[k - 1].masses : &nothing;
}

static void keep_piece(cm_view *view, const cm_mass *mass)
{
    view->pieces =
        cm_grow(view->session, view->pieces, view->piece_count, &view->piece_room, sizeof *view->pieces);
    view->pieces[view->piece_count++] = (cm_piece_added){mass->plane, mass->mass};
}

/* Adds to `sum` what `list` has and `other` has not; `keep`: and to the pieces. */
static void subtract_lists(cm_view *view, const cm_mass_list *list, const cm_mass_list *other, bool keep,
                           double complex *sum)
{
    unsigned char *used = CM_NEW(view->session, other->count, unsigned char);
    double zero = fmax(view->job->runs->mass_zero, 1e-300);
    for (int i = 0; i < list->count; i++) {
        bool found = false;
        for (int q = 0; q < other->count && !found; q++)
            if (!used[q] && other->items[q].plane == list->items[i].plane &&
                cabs(other->items[q].mass - list->items[i].mass) <= zero) {
                used[q] = 1;
                found = true;
            }
        if (found)
            continue;
        sum[list->items[i].plane] += list->items[i].mass;
        if (keep)
            keep_piece(view, &list->items[i]);
    }
}

static void find_changes(cm_view *view)
{
    const cm_job *job = view->job;
    const cm_mass_list *now = &job->given->runs[view->run].masses, *before = masses_before(job, view->run);
    view->stated = CM_NEW(view->session, view->planes, double complex);
    view->added = CM_NEW(view->session, view->planes, double complex);
    view->removed = CM_NEW(view->session, view->planes, double complex);
    for (int j = 0; j < view->planes; j++)
        view->stated[j] = job->runs->masses[view->run + j * job->runs->runs];
    subtract_lists(view, now, before, true, view->added);
    subtract_lists(view, before, now, false, view->removed);
}

/* Root mean square of all readings before at the row's speed in its unit. */
static double usual_size(const cm_view *view, int row)
{
    const cm_runs *runs = view->job->runs;
    double squares = 0;
    int count = 0;
    for (int i = 0; i < runs->rows; i++)
        for (int k = 0;
             k < view->run && runs->block[i] == runs->block[row] && runs->pool[i] == runs->pool[row]; k++)
            if (runs->repeats[i + k * runs->rows] > 0) {
                squares += cm_abs2(runs->readings[i + k * runs->rows]);
                count++;
            }
    return count ? sqrt(squares / count) : 0;
}

/* Degrees of freedom that one F distribution would need for pools of their own: n² = sum of n_p²/dof_p. */
static double effective_dof(const cm_view *view)
{
    const cm_runs *runs = view->job->runs;
    double sum = 0;
    for (int i = 0; i < view->count; i++) {
        double dof = view->fit->dof[view->row[i]];
        int mates = 0;
        for (int q = 0; q < view->count; q++)
            mates += runs->pool[view->row[q]] == runs->pool[view->row[i]];
        sum += dof > 0 && isfinite(dof) ? mates / dof : 0;
    }
    return sum > 0 ? (double)view->count * view->count / sum : INFINITY;
}

static void add_row(cm_view *view, int row)
{
    const cm_job *job = view->job;
    int at = view->count++;
    view->row[at] = row;
    view->expected[at] = view->fit->y[row];
    view->measured[at] = job->runs->readings[row + view->run * job->runs->rows];
    view->slow_roll[at] = cm_run_out(job->given, view->run, job->given->row_sensor[row], view->turn);
    view->usual[at] = usual_size(view, row);
}

cm_view cm_view_run(cm_session *session, const cm_job *job, int k)
{
    const cm_runs *all = job->runs;
    cm_view view = {
        .session = session, .job = job, .run = k, .planes = all->planes, .lines = all->planes + 1};
    cm_runs *part = CM_NEW(session, 1, cm_runs);
    *part = cm_runs_before(session, all, k);
    view.fit = cm_fit_runs(session, part);
    view.turn = cm_turn_of(job, k);
    view.row = CM_NEW(session, all->rows, int);
    view.expected = CM_NEW(session, all->rows, double complex);
    view.measured = CM_NEW(session, all->rows, double complex);
    view.slow_roll = CM_NEW(session, all->rows, double complex);
    view.usual = CM_NEW(session, all->rows, double);
    find_changes(&view);
    for (int i = 0; i < all->rows; i++)
        if (all->repeats[i + k * all->rows] > 0 && cm_row_is_told(session, view.fit, i, view.stated))
            add_row(&view, i);
    view.dof = effective_dof(&view);
    return view;
}

double complex cm_effect_of(const cm_view *view, int i, const double complex *extra)
{
    double complex sum = 0;
    for (int j = 0; j < view->planes; j++)
        if (extra[j] != 0)
            sum += view->fit->a[view->row[i] + j * view->fit->rows] * extra[j];
    return sum;
}
