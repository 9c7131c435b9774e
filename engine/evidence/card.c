/* SPDX-License-Identifier: MIT */
/*
 * Go or no-go card.
 *
 *     expected p_i, E|r_i - p_i|² = s_i² + (spread of the prediction)², standard deviation d_i
 *     abort amplitude = min( alarm, trip, |p_i + o_i| + k d_i ),   P(|e| > k d) = 0.01/N
 *
 * as the instrument shows it, with its slow roll o_i; a right run passes none of the N amplitudes in 99 of 100 cases.
 * Alarm and trip are held against what the sensor's limits are: where that is a reading without slow roll, the abort
 * amplitude is the one shown when that reaches them at the phase expected. At a third of service speed a mass pulls with a
 * ninth of its force: a mistake shows there before it can do harm, provided the influence is known at that speed. The run
 * going on is tested like any other (weigh.c), with what it has read so far.
 */
#include "evidence/mounting.h"
#include "evidence/weights.h"
#include "fit/foretell.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/judged.h"
#include "model/levels.h"

#include <math.h>

#undef I

static const double TAIL = 0.01;
static const double SPLIT_90 = 0.1;

static const cm_sensor *sensor_of(const cm_job *job, int row)
{
    return &job->given->sensors[job->given->row_sensor[row]];
}

/* Amplitude t shown with |t u - o| = bound, u the direction of the reading expected; without one the least there can be. */
static double shown_without_roll(const cm_card_row *r, double bound)
{
    double complex shown = r->expected + r->run_out;
    if (!(cabs(shown) > 0))
        return fmax(0, bound - cabs(r->run_out));
    double complex along = conj(shown) / cabs(shown) * r->run_out;
    double across = cimag(along);
    return fabs(across) < bound ? fmax(0, creal(along) + sqrt((bound - across) * (bound + across))) : 0;
}

/* What the instrument shows once per turn when the row reaches an alarm or a trip. */
static double shown_at(const cm_job *job, const cm_card_row *r, double bound)
{
    const cm_sensor *sensor = sensor_of(job, r->row);
    if (isinf(bound))
        return bound;
    if (sensor->limit_is == CM_LIMIT_OVERALL) {
        double rest = job->problem && job->problem->rest ? job->problem->rest[r->row] : NAN;
        return isnan(rest) ? bound : rest < bound ? sqrt((bound - rest) * (bound + rest)) : 0;
    }
    return sensor->judge == CM_JUDGE_AS_READ ? bound : shown_without_roll(r, bound);
}

static double spread_bound(const cm_card *card, const cm_card_row *r)
{
    return isnan(r->std)
               ? INFINITY
               : cabs(r->expected + r->run_out) + r->std * cm_radius_factor(card->tail / card->count, r->dof);
}

static void set_bounds(const cm_job *job, cm_card *card, cm_card_row *rows)
{
    for (int i = 0; i < card->count; i++) {
        cm_card_row *r = &rows[i];
        int speed = job->given->row_speed[r->row];
        double alarm = shown_at(job, r, sensor_of(job, r->row)->alarm[speed]);
        double trip = shown_at(job, r, sensor_of(job, r->row)->trip[speed]);
        r->radius90 = isnan(r->std) ? NAN : r->std * cm_radius_factor(SPLIT_90, r->dof);
        r->abort = spread_bound(card, r);
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

/* Degrees of freedom behind a row's scatter. */
static double dof_of(const cm_influence *fit, int row)
{
    return fit->dof[row] > 0 ? fit->dof[row] : INFINITY;
}

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
                                          .dof = dof_of(job->influence, i),
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
        double variance = view->fit->scatter[i] * view->fit->scatter[i] / cm_weight_of(runs, i, view->run);
        for (int c = 0; c < view->lines; c++)
            variance += cm_abs2(f[c * view->lines]);
        rows[count++] = (cm_card_row){.row = i,
                                      .expected = view->fit->y[i],
                                      .std = sqrt(variance),
                                      .dof = dof_of(view->fit, i),
                                      .if_so = if_so(view, test, i)};
    }
    return count;
}

/* What the run read, told by the runs before or not: alarm and trip come first. */
static void put_read(const cm_job *job, int run, cm_card_row *r)
{
    const cm_case *c = job->given;
    int speed = c->row_speed[r->row];
    const cm_sensor *sensor = sensor_of(job, r->row);
    const cm_reading *reading = cm_reading_of(c, run, c->row_sensor[r->row], speed);
    r->is_read = 1;
    r->measured = job->runs->readings[r->row + run * job->runs->rows];
    double judged = cm_level_judged(c, run, reading), most = fmax(judged, cm_level_shown(reading));
    bool trips = most > sensor->trip[speed], alarms = judged > sensor->alarm[speed];
    r->level = trips ? most : judged;
    r->over = trips ? CM_ABORT_TRIP : alarms ? CM_ABORT_ALARM : CM_ABORT_SPREAD;
    r->bound = trips ? sensor->trip[speed] : alarms ? sensor->alarm[speed] : NAN;
}

static bool is_on_card(const cm_card_row *rows, int count, int row)
{
    for (int i = 0; i < count; i++)
        if (rows[i].row == row)
            return true;
    return false;
}

/* Readings of the run that nothing tells, where an alarm or a trip bounds them. */
static int add_untold(const cm_job *job, int run, cm_card_row *rows, int count)
{
    const cm_runs *runs = job->runs;
    int told = count;
    for (int i = 0; i < runs->rows; i++) {
        int speed = job->given->row_speed[i];
        bool is_bounded =
            isfinite(sensor_of(job, i)->alarm[speed]) || isfinite(sensor_of(job, i)->trip[speed]);
        if (is_bounded && runs->repeats[i + run * runs->rows] > 0 && !is_on_card(rows, told, i))
            rows[count++] =
                (cm_card_row){.row = i, .expected = NAN, .std = NAN, .dof = INFINITY, .if_so = NAN};
    }
    return count;
}

/* Readings over their abort amplitude, alarm or trip stop a run, whatever the reason. */
static bool is_over(const cm_card_row *r)
{
    return r->is_read && (r->over != CM_ABORT_SPREAD || cabs(r->measured + r->run_out) > r->abort);
}

static bool any_over(const cm_card *card)
{
    for (int i = 0; i < card->count; i++)
        if (is_over(&card->rows[i]))
            return true;
    return false;
}

static void fill_so_far(cm_session *session, const cm_job *job, cm_card *card, cm_card_row *rows)
{
    card->run = job->runs->runs - 1;
    if (card->run < 0)
        return;
    if (card->run > 0) {
        cm_view view = cm_view_run(session, job, card->run);
        for (int t = 0; t < job->examined->count; t++)
            if (job->examined->items[t].run == card->run)
                card->test = &job->examined->items[t];
        card->count = rows_of_run(&view, card->test, rows);
    }
    card->count = add_untold(job, card->run, rows, card->count);
    for (int i = 0; i < card->count; i++)
        if (job->runs->repeats[rows[i].row + card->run * job->runs->rows] > 0)
            put_read(job, card->run, &rows[i]);
}

static void put_run_out(const cm_job *job, int run, cm_card *card, cm_card_row *rows)
{
    for (int i = 0; i < card->count; i++)
        rows[i].run_out = run < 0 ? 0 : cm_run_out(job->given, run, job->given->row_sensor[rows[i].row]);
}

static cm_go verdict(const cm_card *card)
{
    if (any_over(card) || (card->test && card->test->missed))
        return CM_GO_STOP;
    return card->test ? CM_GO_ON : CM_GO_UNTOLD;
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
    put_run_out(job, job->given->run_count - 1, card, rows);
    sort_rows(job, rows, card->count);
    set_bounds(job, card, rows);
    if (so_far)
        card->go = verdict(card);
    job->card = card->count > 0 || so_far ? card : NULL;
    return cm_leave(session);
}
