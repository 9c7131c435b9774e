/* SPDX-License-Identifier: MIT */
/*
 * Questions about trial runs: was the answer to the trial mass large enough to be told from scatter, and was it too
 * much for the machine?
 *
 *     q_v = max over counted readings i at speed v of |r_i(run) - r_i(reference)| / s_i
 *
 * s_i = sqrt(E|e|²) of one reading. The change is a difference of two readings, so noise alone gives |change|² = 2 s² on
 * average; q = 4 means that it exceeds its own spread 2.8 times. A trial is the first run into a new direction d of masses:
 * the part of what it changed that no combination of the runs before changes. Later runs may tell that direction better
 * than the trial itself, so q is also taken from the combination h of least norm with sum h_k (1, m_k) = (0, d), of all
 * states of masses until the trial and of the later ones that bring nothing new beside d (others need trials of their own):
 *
 *     q_v = max sqrt(2) |sum h_k r_i(k)| / (s_i sqrt(sum |h_k|²))
 *
 * A state counts once, however often it was run. When part of what the trial changed was not new, the answer to that part
 * says nothing of d: the combination alone is then asked, at the speed that sees d best, since one that sees it tells the
 * masses. That 30 % or 30 degrees should change is common practice, no source; it is shown
 * beside.
 */
#include "evidence/level.h"
#include "evidence/steps.h"
#include "evidence/weights.h"
#include "linalg/dense.h"
#include "standards/bearings.h"

#include <math.h>

#undef I

static const double FAULT_BELOW = 4, WARN_BELOW = 7;
static const double ALL_NEW =
    0.99; /* share of a change, in squares, that makes it one into a new direction (our own) */
static const double NOTHING = 1e-8;  /* share of masses that no other runs make, as for trials */
static const double ENOUGH = 10;     /* what a larger trial mass is sized for (our own figure) */
static const double MOST_LOAD = 0.1; /* of the static load, as for sizing trial masses */
static const double TWICE = 2;       /* without an alarm: so many times the larger of limit and reference */

typedef struct cm_best {
    int row;
    double ratio;
    double complex change;
} cm_best;

/* What of the change of a run is new, and how the states of its group tell it. */
typedef struct cm_news {
    double share;           /* of the change, in squares */
    int count;              /* states */
    int *state;             /* count: a run of each */
    double complex *weight; /* count */
} cm_news;

/* Largest mass of all, for all planes alike: what is orthogonal must not depend on how large a plane's masses were. */
static double scale_of(const cm_runs *runs)
{
    double scale = 0;
    for (int i = 0; i < runs->planes * runs->runs; i++)
        scale = fmax(scale, cabs(runs->masses[i]));
    return scale > 0 ? scale : 1;
}

/* Masses of a run beyond those of a reference, in units of `scale`. */
static void put_change(const cm_runs *runs, int run, int reference, double scale, double complex *change)
{
    for (int j = 0; j < runs->planes; j++)
        change[j] = (runs->masses[run + j * runs->runs] - runs->masses[reference + j * runs->runs]) / scale;
}

/* Takes off `left` (planes × wanted) what `count` columns make of it. */
static void take_off(const cm_notes *notes, int count, const double complex *columns, int wanted,
                     double complex *left)
{
    int planes = notes->job->runs->planes;
    double complex *x = CM_NEW(notes->session, (size_t)count * (size_t)wanted, double complex);
    if (count == 0 || wanted == 0)
        return;
    cm_least_squares(notes->session, planes, count, wanted, columns, planes, left, planes, x, count);
    cm_multiply(false, false, planes, wanted, count, -1, columns, planes, x, count, 1, left, planes);
}

/* d: the change of run k from its reference without what the runs before it change; its share. `columns` receives what they
 * change, each state (`first`) once, and d behind it; returns their number. */
static int new_direction(const cm_notes *notes, const cm_step *steps, int k, const int *first, double scale,
                         double *share, double complex *columns)
{
    const cm_runs *runs = notes->job->runs;
    int planes = runs->planes, count = 0, reference = steps[k].reference;
    for (int q = 0; q < k; q++)
        if (first[q] == q && q != first[reference] && cm_same_group(notes, q, k))
            put_change(runs, q, reference, scale, columns + (size_t)planes * (size_t)count++);
    double complex *d = columns + (size_t)planes * (size_t)count;
    put_change(runs, k, reference, scale, d);
    double whole = cm_norm2(planes, d);
    take_off(notes, count, columns, 1, d);
    *share = pow(cm_norm2(planes, d) / whole, 2);
    return count + 1;
}

/* Marks the later runs of the group whose masses bring nothing new beside the columns, and all until run k. */
static unsigned char *within_reach(const cm_notes *notes, const cm_step *steps, int k, double scale,
                                   int count, const double complex *columns)
{
    const cm_runs *runs = notes->job->runs;
    size_t planes = (size_t)runs->planes;
    int later = 0;
    unsigned char *reach = CM_NEW(notes->session, runs->runs, unsigned char);
    double complex *left = CM_NEW(notes->session, planes * (size_t)runs->runs, double complex);
    double *size = CM_NEW(notes->session, runs->runs, double);
    for (int q = k + 1; q < runs->runs; q++, later++) {
        put_change(runs, q, steps[k].reference, scale, left + planes * (size_t)later);
        size[later] = cm_norm2(runs->planes, left + planes * (size_t)later);
    }
    take_off(notes, count, columns, later, left);
    for (int q = 0; q < runs->runs; q++)
        reach[q] = cm_same_group(notes, q, k) &&
                   (q <= k || cm_norm2(runs->planes, left + planes * (size_t)(q - k - 1)) <=
                                  NOTHING * fmax(1, size[q - k - 1]));
    return reach;
}

/* First run in the state of each run. */
static int *states_of(const cm_notes *notes)
{
    int *first = CM_NEW(notes->session, notes->job->runs->runs, int);
    for (int k = 0; k < notes->job->runs->runs; k++)
        while (first[k] < k && !cm_same_state(notes, first[k], k))
            first[k]++;
    return first;
}

static cm_news news_of(const cm_notes *notes, const cm_step *steps, int k, const int *first, double scale)
{
    const cm_runs *runs = notes->job->runs;
    int n = runs->runs, planes = runs->planes, lines = planes + 1;
    double complex *a = CM_NEW(notes->session, (size_t)lines * (size_t)n, double complex);
    double complex *d = CM_NEW(notes->session, lines, double complex);
    double complex *columns = CM_NEW(notes->session, (size_t)planes * (size_t)n, double complex);
    cm_news news = {.state = CM_NEW(notes->session, n, int),
                    .weight = CM_NEW(notes->session, n, double complex)};
    int count = new_direction(notes, steps, k, first, scale, &news.share, columns);
    const unsigned char *reach = within_reach(notes, steps, k, scale, count, columns);
    for (int j = 0; j < planes; j++)
        d[j + 1] = columns[j + (count - 1) * planes];
    for (int q = 0; q < n; q++)
        if (first[q] == q && reach[q]) {
            a[news.count * lines] = 1;
            for (int j = 0; j < planes; j++)
                a[j + 1 + news.count * lines] = runs->masses[q + j * n] / scale;
            news.state[news.count++] = q;
        }
    cm_least_squares(notes->session, lines, news.count, 1, a, lines, d, lines, news.weight, n);
    return news;
}

/* The run of a state that read a row with the most weight; -1: none did. */
static int reader_of(const cm_runs *runs, const int *first, int state, int row)
{
    int best = -1;
    for (int k = state; k < runs->runs; k++)
        if (first[k] == state && cm_run_read(runs, row, k) &&
            (best < 0 || cm_weight_of(runs, row, k) > cm_weight_of(runs, row, best)))
            best = k;
    return best;
}

/* Answer of a row to the new direction by all states; -1: one of those it takes did not read the row. */
static double answer_of(const cm_notes *notes, const cm_news *news, const int *first, int row,
                        double complex *change)
{
    const cm_runs *runs = notes->job->runs;
    double variance = 0, scatter = notes->job->influence->scatter[row];
    double complex sum = 0;
    for (int c = 0; c < news->count; c++) {
        if (cm_abs(news->weight[c]) < 1e-9)
            continue;
        int run = reader_of(runs, first, news->state[c], row);
        if (run < 0)
            return -1;
        sum += news->weight[c] * runs->readings[row + run * runs->rows];
        variance += cm_abs2(news->weight[c]) / cm_weight_of(runs, row, run);
    }
    *change = sum;
    return variance > 0 && scatter > 0 ? cm_abs(sum) / (scatter * sqrt(variance / 2)) : -1;
}

static bool counts(const cm_notes *notes, int row)
{
    return !notes->job->problem || notes->job->problem->weight[row] > 0;
}

static void take(cm_best *best, int row, double ratio, double complex change)
{
    if (ratio > best->ratio)
        *best = (cm_best){row, ratio, change};
}

/* The best answer to a trial at a speed. */
static cm_best best_at(const cm_notes *notes, const cm_step *step, const cm_news *news, const int *first,
                       int k, int speed)
{
    const cm_runs *runs = notes->job->runs;
    cm_best best = {-1, -1, 0};
    for (int i = 0; i < runs->rows; i++) {
        double complex change = 0;
        if (notes->job->given->row_speed[i] != speed || !counts(notes, i))
            continue;
        double ratio = answer_of(notes, news, first, i, &change);
        take(&best, i, ratio, change);
        ratio = cm_response(notes, step, k, i);
        if (ratio >= 0)
            take(&best, i, ratio,
                 runs->readings[i + k * runs->rows] - runs->readings[i + step->reference * runs->rows]);
    }
    return best;
}

/* The best answer to its new direction at any speed. */
static cm_best best_of_new(const cm_notes *notes, const cm_news *news, const int *first)
{
    cm_best best = {-1, -1, 0};
    for (int i = 0; i < notes->job->runs->rows; i++) {
        double complex change = 0;
        double ratio = counts(notes, i) ? answer_of(notes, news, first, i, &change) : -1;
        take(&best, i, ratio, change);
    }
    return best;
}

static void say_too_small(cm_notes *notes, const cm_step *step, int run, bool whole, const cm_best *best)
{
    const cm_runs *runs = notes->job->runs;
    cm_complex with = runs->readings[best->row + run * runs->rows], without = with - best->change;
    bool fault = best->ratio < FAULT_BELOW;
    cm_where where = cm_at_row(notes, best->row);
    where.run = run;
    for (int j = 0; j < runs->planes && step->changes == 1; j++)
        where.plane = step->changed[j] && whole ? j : where.plane;
    const char *what = whole ? cm_format(notes->session, "The masses changed on %s in run %s show best",
                                         cm_step_planes(notes, step), notes->job->given->runs[run].id)
                             : cm_format(notes->session,
                                         "What the masses of run %s tell beyond the runs before it shows "
                                         "best",
                                         notes->job->given->runs[run].id);
    cm_note(notes, "trial-too-small", fault ? CM_ERROR : CM_WARNING, where,
            "%s on %s: a change of %s, %s standard deviations of one "
            "reading (below 4 it cannot be told from scatter, below 7 hardly). It is %s %% in size and %s "
            "degrees; "
            "30 %% or 30 degrees is common practice, no source. Use about %s times the mass, as far as it is "
            "safe, or "
            "repeat both runs.",
            what, cm_row_name(notes, best->row), cm_row_size(notes, best->row, cabs(best->change)),
            cm_three_digits(notes->session, best->ratio),
            cm_three_digits(notes->session, cm_percent_off(cabs(with), cabs(without))),
            cm_three_digits(notes->session, cm_degrees_between(with, without)),
            best->ratio > 0.1 ? cm_three_digits(notes->session, ENOUGH / best->ratio) : "100");
}

static void ask_trial(cm_notes *notes, const cm_step *step, int k, const cm_news *news, const int *first)
{
    if (news->share < ALL_NEW) {
        cm_best best = best_of_new(notes, news, first);
        if (best.row >= 0 && best.ratio < WARN_BELOW) {
            say_too_small(notes, step, k, false, &best);
            return;
        }
    }
    for (int v = 0; v < notes->job->given->speed_count; v++) {
        cm_best best = best_at(notes, step, news, first, k, v);
        if (best.row >= 0 && best.ratio < WARN_BELOW)
            say_too_small(notes, step, k, true, &best);
    }
}

void cm_ask_trial_response(cm_notes *notes)
{
    const cm_step *steps = notes->steps;
    if (!steps)
        return;
    const int *first = states_of(notes);
    double scale = scale_of(notes->job->runs);
    for (int k = 0; k < notes->job->runs->runs; k++)
        if (steps[k].trial) {
            cm_news news = news_of(notes, steps, k, first, scale);
            ask_trial(notes, &steps[k], k, &news, first);
        }
}

/* ---- too large ---- */

/* Amplitude a trial must not pass, and what it comes from. */
static double ceiling_of(const cm_notes *notes, int row, double reference, const char **from)
{
    const cm_sensor *sensor = &notes->job->given->sensors[notes->job->given->row_sensor[row]];
    int speed = notes->job->given->row_speed[row];
    if (isfinite(sensor->alarm[speed])) {
        *from = "its alarm";
        return sensor->alarm[speed];
    }
    if (sensor->trip && isfinite(sensor->trip[speed])) {
        *from = "its trip";
        return sensor->trip[speed];
    }
    *from = "twice the larger of its limit and the reading before (no alarm is given; our own figure)";
    return TWICE * fmax(sensor->limit[speed], reference);
}

/* What alarms are held against, of a row in a run that read it. */
static double level_in(const cm_notes *notes, int row, int run)
{
    const cm_case *c = notes->job->given;
    return cm_level_at(notes->job, run, row, cm_reading_of(c, run, c->row_sensor[row], c->row_speed[row]));
}

/* The reading that a trial drove farthest over its ceiling. */
static void ask_ceiling(cm_notes *notes, const cm_step *step, int run)
{
    const cm_runs *runs = notes->job->runs;
    int worst = -1;
    double most = 1 + 1e-9;
    const char *from = "", *reason = "";
    for (int i = 0; i < runs->rows; i++) {
        if (!cm_run_read(runs, i, run) || !cm_run_read(runs, i, step->reference))
            continue;
        double with = level_in(notes, i, run), without = level_in(notes, i, step->reference);
        double ceiling = ceiling_of(notes, i, without, &reason);
        if (with > without && with / ceiling > most) {
            most = with / ceiling;
            worst = i;
            from = reason;
        }
    }
    if (worst < 0)
        return;
    cm_where where = cm_at_row(notes, worst);
    where.run = run;
    double with = level_in(notes, worst, run), without = level_in(notes, worst, step->reference);
    cm_note(notes, "trial-too-large", CM_WARNING, where,
            "The trial on %s drove %s in run %s from %s to %s, over %s (%s). Do not repeat it; use a smaller "
            "mass, or "
            "put it where the readings say it helps.",
            cm_step_planes(notes, step), cm_row_name(notes, worst), notes->job->given->runs[run].id,
            cm_row_size(notes, worst, without), cm_row_size(notes, worst, with), from,
            cm_row_size(notes, worst, with / most));
}

/* Force of the changed mass at the highest speed that the run read, against the static load of the nearest bearing. */
static void ask_load(cm_notes *notes, const cm_step *step, int run, int plane)
{
    const cm_case *given = notes->job->given;
    const cm_runs *runs = notes->job->runs;
    double omega = 0;
    for (int i = 0; i < runs->rows; i++)
        if (cm_run_read(runs, i, run))
            omega = fmax(omega, given->speeds[given->row_speed[i]].omega);
    int bearing;
    bool overhung;
    double share = cm_nearest_bearing(given, given->planes[plane].position, &bearing, &overhung);
    double load = bearing >= 0 ? cm_bearing_load(given, bearing) : NAN;
    double mass =
        cabs(runs->masses[run + plane * runs->runs] - runs->masses[step->reference + plane * runs->runs]);
    double force = share * mass * given->planes[plane].radius * omega * omega;
    if (!(load > 0) || !(force > MOST_LOAD * load))
        return;
    cm_note(notes, "trial-too-large", CM_WARNING, (cm_where){run, -1, -1, plane},
            "The trial on %s in run %s pulled with %s N, %s %% of the static load of bearing %s (more than "
            "10 %% is too "
            "much for a trial; common practice, no source). Use %s or less.",
            given->planes[plane].id, given->runs[run].id, cm_three_digits(notes->session, force),
            cm_three_digits(notes->session, 100 * force / load), given->rotor.bearings[bearing].id,
            cm_mass_size(notes, mass * MOST_LOAD * load / force));
}

void cm_ask_trial_danger(cm_notes *notes)
{
    const cm_step *steps = notes->steps;
    if (!steps)
        return;
    for (int k = 0; k < notes->job->runs->runs; k++) {
        if (!steps[k].trial)
            continue;
        ask_ceiling(notes, &steps[k], k);
        for (int j = 0; j < notes->job->given->plane_count; j++)
            if (steps[k].changed[j])
                ask_load(notes, &steps[k], k, j);
    }
}
