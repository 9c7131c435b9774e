/* SPDX-License-Identifier: MIT */
/*
 * Go or no-go card.
 *
 *     expected p_i, E|r_i - p_i|² = s_i² + (spread of the prediction)², standard deviation d_i
 *     abort amplitude = min( alarm, trip, |p_i| + k d_i ),   P(|e| > k d) = 0.01/N
 *
 * so that a right run passes none of the N amplitudes in 99 of 100 cases. At a third of service speed a mass pulls with a
 * ninth of its force: a mistake shows there before it can do harm, provided the influence is known at that speed. The run
 * going on is tested like any other (weigh.c), with what it has read so far.
 */
#include "evidence/mounting.h"
#include "fit/foretell.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/judged.h"

#include <math.h>

#undef I

static const double TAIL = 0.01;
static const double SPLIT_90 = 0.1;

static void set_bounds(const cm_job *job, cm_card *card, cm_card_row *rows)
{
    for (int i = 0; i < card->count; i++) {
        cm_card_row *r = &rows[i];
        const cm_sensor *sensor = &job->given->sensors[job->given->row_sensor[r->row]];
        int speed = job->given->row_speed[r->row];
        double dof = job->influence->dof[r->row] > 0 ? job->influence->dof[r->row] : INFINITY;
        double alarm = sensor->alarm[speed], trip = sensor->trip[speed];
        r->radius90 = r->std * cm_radius_factor(SPLIT_90, dof);
        r->abort = cabs(r->expected) + r->std * cm_radius_factor(card->tail / card->count, dof);
        r->source = CM_ABORT_SPREAD;
        if (trip < r->abort && trip <= alarm) {
            r->abort = trip;
            r->source = CM_ABORT_TRIP;
        } else if (alarm < r->abort) {
            r->abort = alarm;
            r->source = CM_ABORT_ALARM;
        }
    }
}

/* Slowest first; within a speed in the order of the sensors. */
static void sort_rows(const cm_job *job, cm_card_row *rows, int count)
{
    for (int i = 1; i < count; i++) {
        cm_card_row own = rows[i];
        double omega = job->given->speeds[job->given->row_speed[own.row]].omega;
        int at = i;
        for (; at > 0 && job->given->speeds[job->given->row_speed[rows[at - 1].row]].omega > omega; at--)
            rows[at] = rows[at - 1];
        rows[at] = own;
    }
}

/* ---- the next run-up ---- */

static int rows_of_answer(const cm_job *job, cm_card_row *rows)
{
    int count = 0;
    for (int i = 0; i < job->given->row_count; i++) {
        bool told = !job->determination || job->determination->determined[i];
        double spread = job->spread ? job->spread->after_std[i] : NAN;
        if (told && !isnan(spread))
            rows[count++] = (cm_card_row){.row = i,
                                          .expected = cm_compensated(job->problem, i, job->answer->r[i]),
                                          .std = hypot(spread, job->influence->scatter[i]),
                                          .if_so = NAN};
    }
    return count;
}

/* ---- the run going on ---- */

/* Amplitude of a row if the likeliest explanation holds; NAN when it says nothing of masses. */
static double if_so(const cm_view *view, const cm_run_test *test, int row)
{
    if (!test || !test->explanation_count || !test->explanations[0].extra)
        return NAN;
    double complex sum = view->fit->y[row];
    for (int j = 0; j < view->planes; j++)
        sum += view->fit->a[row + j * view->fit->rows] * test->explanations[0].extra[j];
    return cabs(sum);
}

static int rows_of_run(const cm_view *view, const cm_run_test *test, cm_card_row *rows)
{
    const cm_runs *runs = view->job->runs;
    int count = 0;
    for (int i = 0; i < runs->rows; i++) {
        if (view->fit->base_runs[i] == 0 && !cm_state_is_told(view->session, view->fit, i, view->stated))
            continue;
        const double complex *f = view->fit->factor + (size_t)i * (size_t)view->lines * (size_t)view->lines;
        double variance = view->fit->scatter[i] * view->fit->scatter[i];
        for (int c = 0; c < view->lines; c++)
            variance += cm_abs2(f[c * view->lines]);
        rows[count++] = (cm_card_row){.row = i,
                                      .expected = view->fit->y[i],
                                      .std = sqrt(variance),
                                      .is_read = runs->repeats[i + view->run * runs->rows] > 0,
                                      .measured = runs->readings[i + view->run * runs->rows],
                                      .if_so = if_so(view, test, i)};
    }
    return count;
}

/* Readings over their abort amplitude stop a run, whatever the reason. */
static bool over_abort(const cm_card *card)
{
    for (int i = 0; i < card->count; i++)
        if (card->rows[i].is_read && cabs(card->rows[i].measured) > card->rows[i].abort)
            return true;
    return false;
}

static void fill_so_far(cm_session *session, const cm_job *job, cm_card *card, cm_card_row *rows)
{
    card->run = job->runs->runs - 1;
    if (card->run < 1)
        return;
    cm_view view = cm_view_run(session, job, card->run);
    for (int t = 0; t < job->examined->count; t++)
        if (job->examined->items[t].run == card->run)
            card->test = &job->examined->items[t];
    card->count = rows_of_run(&view, card->test, rows);
}

cm_status cm_card_of(cm_session *session, cm_job *job)
{
    CM_ENTER(session);
    if (!job->given || !job->runs || !job->influence)
        cm_fail(session, CM_BAD_INPUT, "the card needs the case, its runs and their influence");
    cm_card *card = CM_NEW(session, 1, cm_card);
    cm_card_row *rows = CM_NEW(session, job->given->row_count, cm_card_row);
    *card = (cm_card){.size = sizeof *card, .run = -1, .rows = rows, .tail = TAIL};
    bool so_far = job->examined && job->examined->so_far;
    if (so_far)
        fill_so_far(session, job, card, rows);
    else if (job->answer && job->answer->outcome == CM_OPTIMAL)
        card->count = rows_of_answer(job, rows);
    sort_rows(job, rows, card->count);
    set_bounds(job, card, rows);
    if (so_far && card->test)
        card->go = card->test->missed || over_abort(card) ? CM_GO_STOP : CM_GO_ON;
    job->card = card->count > 0 || so_far ? card : NULL;
    return cm_leave(session);
}
