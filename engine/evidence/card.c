/* SPDX-License-Identifier: MIT */
/*
 * Go or no-go card.
 *
 *     expected p_i, E|r_i - p_i|² = s_i² + (spread of the prediction)², standard deviation d_i
 *     abort amplitude = min( alarm, trip, |p_i + o_i| + k d_i ),   P(|e| > k d) = 0.01/N
 *
 * as the instrument shows it, with its slow roll o_i; a right run passes none of the N amplitudes in 99 of 100 cases.
 * Alarm and trip are held against what the sensor's limits are: where that is a reading without slow roll,
 * alarm - |o| keeps them at every phase. A slow roll so large that this would stop the reading expected leaves the amplitude
 * shown when they are reached at the phase expected, and the row says so; a reading taken has its own phase. At a third of service speed a mass pulls with a
 * ninth of its force: a mistake shows there before it can do harm, provided the influence is known at that speed. The run
 * going on is tested like any other (weigh.c), with what it has read so far.
 */
#include "evidence/level.h"
#include "evidence/mounting.h"
#include "fit/foretell.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/judged.h"
#include "model/job_call.h"

#include <math.h>

#undef I

static const double TAIL = 0.01;
static const double SPLIT_90 = 0.1;

static const cm_sensor *sensor_of(const cm_job *job, int row)
{
    return &job->given->sensors[job->given->row_sensor[row]];
}

/* Amplitude t shown with |t u - o| = bound. */
static double shown_along(double complex u, double complex run_out, double bound)
{
    double complex along = conj(u) / cabs(u) * run_out;
    double across = cimag(along);
    return fabs(across) < bound ? fmax(0, creal(along) + sqrt((bound - across) * (bound + across))) : 0;
}

static double shown_without_roll(cm_card_row *r, double bound)
{
    double complex read = r->measured + r->run_out, shown = r->expected + r->run_out;
    double anywhere = fmax(0, bound - cabs(r->run_out));
    if (r->run_out == 0)
        return bound;
    if (r->is_read && cabs(read) > 0)
        return shown_along(read, r->run_out, bound);
    if (isnan(creal(shown)) || anywhere > cabs(shown) || !(cabs(shown) > 0))
        return anywhere;
    r->by_phase = 1;
    return shown_along(shown, r->run_out, bound);
}

/* What is not once per turn in the overall level of a row: that of the reading itself once it is taken. */
static double rest_of(const cm_job *job, const cm_card_row *r)
{
    double once = cabs(r->measured + r->run_out);
    return r->is_read && !isnan(r->level) ? sqrt(fmax(0, (r->level - once) * (r->level + once)))
                                          : cm_rest_at(job, r->row);
}

/* What the instrument shows once per turn when the row reaches an alarm or a trip. */
static double shown_at(const cm_job *job, cm_card_row *r, double bound)
{
    const cm_sensor *sensor = sensor_of(job, r->row);
    if (isinf(bound))
        return bound;
    if (sensor->limit_is == CM_LIMIT_OVERALL) {
        double rest = rest_of(job, r);
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

/* The likeliest explanation, as limits judge it. */
static double level_if_so(const cm_job *job, const cm_card_row *r)
{
    const cm_sensor *sensor = sensor_of(job, r->row);
    bool overall = sensor->limit_is == CM_LIMIT_OVERALL;
    double rest = overall ? cm_rest_at(job, r->row) : NAN;
    double once = cabs(r->if_so_reading + (overall || sensor->judge == CM_JUDGE_AS_READ ? r->run_out : 0));
    return isnan(rest) ? once : hypot(once, rest);
}

static void set_bounds(const cm_job *job, cm_card *card, cm_card_row *rows)
{
    for (int i = 0; i < card->count; i++) {
        cm_card_row *r = &rows[i];
        int speed = job->given->row_speed[r->row];
        double alarm = shown_at(job, r, sensor_of(job, r->row)->alarm[speed]);
        double trip = shown_at(job, r, sensor_of(job, r->row)->trip[speed]);
        r->if_so_level = level_if_so(job, r);
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
                                          .if_so = NAN,
                                          .if_so_reading = NAN};
    }
    return count;
}

/* ---- the run going on ---- */

/* Reading of a row if the likeliest explanation holds; NAN when it says nothing of masses. */
static double complex if_so(const cm_view *view, const cm_run_test *test, int row)
{
    if (!test || !test->explanation_count || !test->explanations[0].extra)
        return NAN;
    double complex sum = view->fit->y[row];
    for (int j = 0; j < view->planes; j++)
        sum += view->fit->a[row + j * view->fit->rows] * test->explanations[0].extra[j];
    return sum;
}

static int rows_of_run(const cm_view *view, const cm_run_test *test, cm_card_row *rows)
{
    const cm_runs *runs = view->job->runs;
    double weight = view->job->given->runs[view->run].weight;
    int count = 0;
    for (int i = 0; i < runs->rows; i++) {
        if (!cm_row_is_told(view->session, view->fit, i, view->stated))
            continue;
        const double complex *f = view->fit->factor + (size_t)i * (size_t)view->lines * (size_t)view->lines;
        double variance = view->fit->scatter[i] * view->fit->scatter[i] / (weight > 0 ? weight : 1);
        for (int c = 0; c < view->lines; c++)
            variance += cm_abs2(f[c * view->lines]);
        rows[count++] = (cm_card_row){.row = i,
                                      .expected = view->fit->y[i],
                                      .std = sqrt(variance),
                                      .dof = dof_of(view->fit, i),
                                      .if_so_reading = if_so(view, test, i)};
        rows[count - 1].if_so = cabs(rows[count - 1].if_so_reading);
    }
    return count;
}

static const cm_reading *reading_at(const cm_job *job, int run, int row)
{
    return cm_reading_of(job->given, run, job->given->row_sensor[row], job->given->row_speed[row]);
}

/* Rounding in a reading that sits on its bound is no excess. */
static bool exceeds(double size, double bound)
{
    return size > bound * (1 + 1e-9);
}

/* A reading that the fit has no use for (weight 0, phases unknown) is a reading of the machine all the same. */
static double complex measured_of(const cm_job *job, int run, const cm_card_row *r, const cm_reading *reading)
{
    int at = r->row + run * job->runs->rows;
    double complex mean = 0;
    if (job->runs->repeats[at] > 0)
        return job->runs->readings[at];
    for (int i = 0; i < reading->count; i++)
        mean += reading->values[i] / reading->count;
    return mean * cm_turn_of(job, run) - r->run_out;
}

/* What the run read, told by the runs before or not: alarm and trip come first. */
static void put_read(const cm_job *job, int run, cm_card_row *r)
{
    int speed = job->given->row_speed[r->row];
    const cm_sensor *sensor = sensor_of(job, r->row);
    const cm_reading *reading = reading_at(job, run, r->row);
    if (!reading)
        return;
    r->is_read = 1;
    r->measured = measured_of(job, run, r, reading);
    double judged = cm_level_at(job, run, r->row, reading), most = fmax(judged, cm_level_shown(reading));
    bool trips = exceeds(most, sensor->trip[speed]), alarms = exceeds(judged, sensor->alarm[speed]);
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
        if (is_bounded && reading_at(job, run, i) && !is_on_card(rows, told, i))
            rows[count++] = (cm_card_row){
                .row = i, .expected = NAN, .std = NAN, .dof = INFINITY, .if_so = NAN, .if_so_reading = NAN};
    }
    return count;
}

/* Readings over their abort amplitude, alarm or trip stop a run, whatever the reason. */
static bool find_stops(cm_card_row *rows, int count)
{
    bool any = false;
    for (int i = 0; i < count; i++) {
        cm_card_row *r = &rows[i];
        r->stops =
            r->is_read && (r->over != CM_ABORT_SPREAD || exceeds(cabs(r->measured + r->run_out), r->abort));
        any = any || r->stops;
    }
    return any;
}

static void put_run_out(const cm_job *job, int run, cm_card *card, cm_card_row *rows)
{
    double complex turn = run < 0 ? 1 : cm_turn_of(job, run);
    for (int i = 0; i < card->count; i++)
        rows[i].run_out =
            run < 0 ? 0 : cm_run_out(job->given, run, job->given->row_sensor[rows[i].row], turn);
    card->turn = card->run < 0 ? 1 : turn;
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
    put_run_out(job, card->run, card, rows);
    for (int i = 0; i < card->count; i++)
        put_read(job, card->run, &rows[i]);
}

static cm_go verdict(const cm_card *card, cm_card_row *rows)
{
    if (find_stops(rows, card->count) || (card->test && card->test->missed))
        return CM_GO_STOP;
    return card->test ? CM_GO_ON : CM_GO_UNTOLD;
}

cm_status cm_card_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_card_of", CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE,
                                     CM_HAS_CARD};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    cm_card *card = CM_NEW(session, 1, cm_card);
    cm_card_row *rows = CM_NEW(session, job->given->row_count, cm_card_row);
    *card = (cm_card){.size = sizeof *card, .run = -1, .rows = rows, .tail = TAIL};
    bool so_far = job->examined && job->examined->so_far;
    if (so_far)
        fill_so_far(session, job, card, rows);
    else if (job->answer && job->answer->outcome == CM_OPTIMAL)
        card->count = rows_of_answer(job, rows);
    if (card->run < 0)
        put_run_out(job, job->given->run_count - 1, card, rows);
    sort_rows(job, rows, card->count);
    set_bounds(job, card, rows);
    if (so_far)
        card->go = verdict(card, rows);
    job->card = card->count > 0 || so_far ? card : NULL;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
