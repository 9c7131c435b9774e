/* SPDX-License-Identifier: MIT */
/*
 * What a trial starts from: the masses on the rotor now (n), the readings
 * expected with them, y + A (n - b), and the ceiling of every reading: its
 * alarm, else its trip, else 1.25 times the larger of limit and as-found.
 *
 * A pattern p of planes moves a reading by a = sum p_j A_j. The runs tell it
 * when (0, p) vanishes on what they leave open, N; A itself may then be open,
 * as with planes that were only tried together.
 */
#include "starts/trial.h"

#include "fit/missing.h"
#include "standards/bearings.h"
#include "model/overspeed.h"
#include "standards/hazard.h"

#include <math.h>

static const double complex *masses_now(cm_session *session, const cm_case *c)
{
    double complex *now = CM_NEW(session, c->plane_count ? c->plane_count : 1, double complex);
    const cm_mass_list *list = c->has_now ? &c->now : c->run_count ? &c->runs[c->run_count - 1].masses : NULL;
    for (int i = 0; list && i < list->count; i++)
        now[list->items[i].plane] += list->items[i].mass;
    return now;
}

static bool bare(const cm_runs *runs, int run)
{
    for (int j = 0; j < runs->planes; j++)
        if (cabs(runs->masses[run + j * runs->runs]) > runs->mass_zero)
            return false;
    return true;
}

/* Amplitude as found: mean of the runs without masses, else the reading of the base state. */
static double as_found(const cm_job *job, int row)
{
    const cm_runs *runs = job->runs;
    double complex sum = 0;
    int count = 0;
    for (int k = 0; k < runs->runs; k++)
        if (bare(runs, k) && runs->repeats[row + k * runs->rows] > 0) {
            sum += runs->readings[row + k * runs->rows];
            count++;
        }
    return count ? cabs(sum / count) : cabs(job->influence->y[row]);
}

static void set_ceiling(const cm_job *job, const cm_case *c, int i, cm_trial_row *row)
{
    const cm_sensor *sensor = &c->sensors[c->row_sensor[i]];
    int speed = c->row_speed[i];
    double limit = sensor->limit[speed], seen = as_found(job, i);
    row->source = isfinite(sensor->alarm[speed])  ? CM_CEILING_ALARM
                  : isfinite(sensor->trip[speed]) ? CM_CEILING_TRIP
                                                  : CM_CEILING_ASSUMED;
    row->counted = sensor->weight[speed] * c->speeds[speed].weight > 0;
    if (row->source == CM_CEILING_ASSUMED)
        row->ceiling = row->counted ? CM_TRIAL_CEILING * fmax(isfinite(limit) ? limit : 0, seen) : INFINITY;
    else
        row->ceiling = row->source == CM_CEILING_ALARM ? sensor->alarm[speed] : sensor->trip[speed];
    row->weight = row->ceiling > 0 && isfinite(row->ceiling) ? 1 / row->ceiling : 0;
}

static double complex reading_now(const cm_job *job, const double complex *now, int i)
{
    const cm_influence *f = job->influence;
    double complex y = f->y[i];
    for (int j = 0; j < f->planes; j++)
        y += f->a[i + j * f->rows] * (now[j] - job->runs->base[j]);
    return y;
}

/* Do the runs tell (head, mass)·(as-found reading, A) of this row? */
static bool is_told(const cm_influence *f, int row, double complex head, const double complex *mass)
{
    int lines = f->planes + 1, open = f->null_space ? f->null_count[row] : 0;
    if (!open)
        return true;
    double norm = creal(head * conj(head));
    for (int j = 0; j < f->planes; j++)
        norm += pow(cabs(mass[j]) / f->column_scale[j + 1], 2);
    for (int d = 0; d < open; d++) {
        const double complex *n =
            f->null_space + (size_t)row * (size_t)lines * (size_t)lines + (size_t)d * (size_t)lines;
        double complex sum = head * n[0];
        for (int j = 0; j < f->planes; j++)
            sum += mass[j] / f->column_scale[j + 1] * n[j + 1];
        if (cabs(sum) > CM_OPEN * sqrt(norm))
            return false;
    }
    return true;
}

/* The reading now: y + A (n - b) with y read in the base state, else all of it fitted. */
static bool now_is_told(const cm_trial_case *t, int row)
{
    const cm_influence *f = t->job->influence;
    if (!f->null_space)
        return true;
    bool read = f->base_runs[row] > 0;
    double complex *mass = CM_NEW(t->session, f->planes + 1, double complex);
    for (int j = 0; j < f->planes; j++)
        mass[j] = read ? t->now[j] - t->job->runs->base[j] : t->now[j];
    return is_told(f, row, read ? 0 : 1, mass);
}

cm_trial_case cm_trial_open(cm_session *session, const cm_job *job)
{
    const cm_case *c = job->given;
    cm_trial_case t = {
        .session = session, .job = job, .c = c, .now = masses_now(session, c), .omega = cm_running_speed(c)};
    t.overspeed = cm_overspeed_of(c, &t.assumed);
    t.rows = job->influence ? job->influence->rows : 0;
    t.row = CM_NEW(session, t.rows ? t.rows : 1, cm_trial_row);
    for (int i = 0; i < t.rows; i++) {
        set_ceiling(job, c, i, &t.row[i]);
        t.row[i].y = reading_now(job, t.now, i);
        t.row[i].scatter = job->influence->scatter[i];
        t.row[i].now_told = now_is_told(&t, i);
    }
    return t;
}

void cm_trial_aim(cm_trial_case *t, const double complex *share)
{
    const cm_influence *f = t->job->influence;
    int size = t->c->plane_count + 1;
    for (int i = 0; i < t->rows; i++) {
        cm_trial_row *row = &t->row[i];
        const double complex *factor = f->factor + (size_t)i * (size_t)size * (size_t)size;
        double variance = 0;
        row->a = 0;
        row->told = row->now_told && is_told(f, i, 0, share);
        for (int j = 0; j < f->planes; j++)
            row->a += share[j] * f->a[i + j * f->rows];
        for (int k = 0; k < size; k++) {
            double complex sum = 0;
            for (int j = 0; j < f->planes; j++)
                sum += factor[j + 1 + k * size] * share[j];
            variance += creal(sum * conj(sum));
        }
        row->spread = sqrt(variance);
    }
}

double cm_trial_lower(const cm_trial_case *t, int *row)
{
    double least = INFINITY;
    *row = -1;
    for (int i = 0; i < t->rows; i++) {
        if (!t->row[i].told || !t->row[i].counted)
            continue;
        double visible = cm_trial_visible(&t->row[i]);
        if (*row < 0 || visible < least) {
            least = visible;
            *row = i;
        }
    }
    return *row < 0 ? 0 : least;
}
