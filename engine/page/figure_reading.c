/* SPDX-License-Identifier: MIT */
/*
 * One reading as vectors: every run numbered, its repeats as a cloud, before,
 * predicted with the region that holds 90 %, and the last run beside what the
 * runs before it let expect.
 */
#include "countermass/evidence.h"
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/phrases.h"

#include "model/judged.h"

#include <math.h>

static const double WIDTH = 260, HEIGHT = 262, RIM = 92;
enum { NUMBERED = 12 }; /* with more runs numbers would only hide each other */

static size_t at(const cm_job *job, int row, int run)
{
    return (size_t)row + (size_t)run * (size_t)job->runs->rows;
}

static bool is_read(const cm_job *job, int row, int run)
{
    return job->runs->repeats[at(job, row, run)] > 0;
}

static double size_of(const cm_job *job, int row, double complex value)
{
    return cm_user_amplitude(job, row, cabs(value));
}

static bool has_answer(const cm_job *job, int row)
{
    return job->answer && job->answer->outcome == CM_OPTIMAL && cm_is_predicted(job, row);
}

/* The last run, when the runs before it foretell this reading. */
static int check_run(const cm_job *job, int row)
{
    int last = job->runs->runs - 1;
    return last > 0 && job->foretold && is_read(job, row, last) && job->foretold->told[at(job, row, last)]
               ? last
               : -1;
}

/* Radius that holds 90 % of right readings of that run around what was expected; NAN: not available. */
static double check_radius(const cm_job *job, int row, int run)
{
    for (int t = 0; job->examined && t < job->examined->count; t++)
        for (int i = 0; job->examined->items[t].run == run && i < job->examined->items[t].readings; i++)
            if (job->examined->items[t].rows[i] == row)
                return cm_user_amplitude(job, row, CM_RADIUS_90 * job->examined->items[t].std[i]);
    return NAN;
}

static double largest(const cm_job *job, int row)
{
    double most = 0, limit = cm_user_limit(job, row);
    for (int k = 0; k < job->runs->runs; k++)
        if (is_read(job, row, k))
            most = fmax(most, size_of(job, row, job->runs->readings[at(job, row, k)]));
    double radius = has_answer(job, row) ? cm_after_radius(job, row) : 0;
    if (has_answer(job, row))
        most = fmax(most, size_of(job, row, cm_after(job, row)) + (isfinite(radius) ? radius : 0));
    if (isfinite(limit) && limit < 2 * most)
        most = fmax(most, limit);
    int check = check_run(job, row);
    if (check >= 0 && isfinite(check_radius(job, row, check)))
        most = fmax(most, size_of(job, row, job->foretold->expected[at(job, row, check)]) +
                              check_radius(job, row, check));
    return most > 0 ? 1.06 * most : 1;
}

static cm_point place(const cm_dial *dial, const cm_job *job, int row, double complex value)
{
    cm_size_angle p = cm_user_reading(job, row, value);
    return cm_dial_point(dial, p.size, p.angle);
}

static void draw_repeats(const cm_dial *dial, const cm_job *job, int row)
{
    const cm_case *c = job->given;
    for (int k = 0; k < c->run_count; k++)
        for (int r = 0; r < c->runs[k].reading_count; r++) {
            const cm_reading *reading = &c->runs[k].readings[r];
            if (reading->sensor != c->row_sensor[row] || reading->speed != c->row_speed[row] ||
                reading->count < 2)
                continue;
            double complex mean = 0;
            for (int n = 0; n < reading->count; n++)
                mean += reading->values[n] / reading->count;
            for (int n = 0; n < reading->count; n++)
                cm_draw_mark(
                    dial->drawing, "cloud", CM_MARK_DOT,
                    place(dial, job, row, job->runs->readings[at(job, row, k)] + reading->values[n] - mean),
                    4);
        }
}

/* Where the number of a run stands: a little farther out than its point. */
static cm_point beyond(const cm_dial *dial, cm_point p)
{
    double x = p.x - dial->centre.x, y = p.y - dial->centre.y, length = hypot(x, y);
    double more = length > 1 ? 9 / length : 0;
    return (cm_point){p.x + more * x, p.y + more * y + 3.3};
}

static void draw_runs(const cm_dial *dial, const cm_job *job, int row)
{
    cm_drawing *d = dial->drawing;
    int runs = job->runs->runs;
    for (int k = 0; k < runs; k++)
        if (is_read(job, row, k))
            cm_draw_line(d, "run", dial->centre, place(dial, job, row, job->runs->readings[at(job, row, k)]));
    draw_repeats(dial, job, row);
    for (int k = 0; k < runs; k++) {
        if (!is_read(job, row, k))
            continue;
        cm_point p = place(dial, job, row, job->runs->readings[at(job, row, k)]);
        cm_draw_begin(
            d, cm_format(d->session, "%s: %s", cm_short_name(d->session, job->given->runs[k].id),
                         cm_phasor(d->session,
                                   cm_user_reading(job, row, job->runs->readings[at(job, row, k)]), 1)));
        cm_draw_mark(d, "run-mark", CM_MARK_RING, p, 2.5);
        if (runs <= NUMBERED)
            cm_draw_words(d, "small halo", CM_MIDDLE, beyond(dial, p), cm_format(d->session, "%d", k + 1));
        cm_draw_end(d);
    }
}

/* What a limit leaves for the once-per-turn reading: less where it is one for the overall level, around the negative slow
 * roll where the reading is judged as read. */
static void draw_limit(const cm_dial *dial, const cm_job *job, int row)
{
    const cm_problem *p = job->problem;
    double radius = cm_user_amplitude(job, row, p->limit[row]);
    double complex roll = p->offset ? p->offset[row] : 0;
    if (isnan(cm_user_limit(job, row)) || !isfinite(radius) || cm_has_no_room(p, row) ||
        radius + size_of(job, row, roll) > dial->full)
        return;
    cm_draw_circle(dial->drawing, "limit", place(dial, job, row, -roll), dial->radius * radius / dial->full);
}

static void draw_answer(const cm_dial *dial, const cm_job *job, int row)
{
    double complex before;
    if (cm_before(job, row, &before))
        cm_draw_arrow(dial->drawing, "before", dial->centre, place(dial, job, row, before));
    if (!has_answer(job, row))
        return;
    double radius = cm_after_radius(job, row);
    cm_point after = place(dial, job, row, cm_after(job, row));
    if (isfinite(radius))
        cm_draw_circle(dial->drawing, "region", after, fmax(dial->radius * radius / dial->full, 1));
    cm_draw_arrow(dial->drawing, "after", dial->centre, after);
    cm_draw_mark(dial->drawing, "after-mark", CM_MARK_DISC, after, 4);
}

static void draw_check(const cm_dial *dial, const cm_job *job, int row)
{
    int k = check_run(job, row);
    if (k < 0)
        return;
    cm_point expected = place(dial, job, row, job->foretold->expected[at(job, row, k)]);
    cm_point measured = place(dial, job, row, job->runs->readings[at(job, row, k)]);
    double radius = check_radius(job, row, k);
    if (isfinite(radius))
        cm_draw_circle(dial->drawing, "check-region", expected, fmax(dial->radius * radius / dial->full, 1));
    cm_draw_line(dial->drawing, "measured", expected, measured);
    cm_draw_mark(dial->drawing, "measured", CM_MARK_CROSS, expected, 4);
    cm_draw_mark(dial->drawing, "measured-mark", CM_MARK_DIAMOND, measured, 4);
}

static const char *describe(cm_session *session, const cm_job *job, int row)
{
    double complex before;
    const char *words = "";
    if (cm_before(job, row, &before))
        words = cm_format(session, "Before %s. ", cm_phasor(session, cm_user_reading(job, row, before), 1));
    if (has_answer(job, row))
        words = cm_format(session, "%sPredicted %s, within a radius of %s in 9 of 10 cases. ", words,
                          cm_phasor(session, cm_user_reading(job, row, cm_after(job, row)), 1),
                          cm_digits(session, cm_after_radius(job, row), 3));
    if (isfinite(cm_user_limit(job, row)))
        words = cm_format(session, "%sLimit %s. ", words, cm_digits(session, cm_user_limit(job, row), 4));
    return cm_format(session, "%sAll in %s.", words, cm_unit_words(cm_sensor_of(job, row)->unit));
}

const cm_drawing *cm_figure_reading(cm_session *session, const cm_job *job, int row)
{
    const cm_case *c = job->given;
    cm_drawing *d = cm_drawing_new(session, WIDTH, HEIGHT, cm_reading_name(session, job, row),
                                   describe(session, job, row));
    cm_dial dial = {d, {WIDTH / 2, 132}, RIM, largest(job, row), cm_growth_of_phases(c), 0};
    cm_draw_words(d, "strong", CM_LEFT, (cm_point){4, 12},
                  cm_sensor_labels(session, c, 18)[c->row_sensor[row]]);
    cm_draw_words(d, "small soft", CM_RIGHT, (cm_point){WIDTH - 4, 12},
                  cm_unit_words(cm_sensor_of(job, row)->unit));
    cm_dial_face(&dial, 45);
    cm_dial_rings(&dial);
    draw_limit(&dial, job, row);
    draw_runs(&dial, job, row);
    draw_answer(&dial, job, row);
    draw_check(&dial, job, row);
    return d;
}

const cm_drawing *cm_figure_reading_key(cm_session *session, const cm_job *job)
{
    const char *way =
        cm_format(session, "phase %s: 0 on top, growing %s", job->given->phase_lag ? "lag" : "lead",
                  cm_growth_of_phases(job->given) > 0 ? "clockwise" : "counter-clockwise");
    cm_drawing *d = cm_drawing_new(
        session, 410, 98, "Key to the diagrams",
        cm_format(session,
                  "Ring with number: a run. Dots: repeated readings. Outlined arrow: before. "
                  "Arrow with disc and shaded circle: predicted and the radius that holds 90 %%. "
                  "Cross and diamond: the last run as predicted from the runs before it, and as "
                  "measured. Dashed circle: limit. %s.",
                  way));
    cm_draw_line(d, "run", (cm_point){6, 20}, (cm_point){16, 14});
    cm_draw_mark(d, "run-mark", CM_MARK_RING, (cm_point){16, 14}, 2.5);
    cm_draw_words(d, "small", CM_MIDDLE, (cm_point){24, 13}, "1");
    cm_draw_words(d, "", CM_LEFT, (cm_point){32, 18}, "run (numbers: history of the runs)");
    cm_draw_mark(d, "cloud", CM_MARK_DOT, (cm_point){264, 12}, 4);
    cm_draw_mark(d, "cloud", CM_MARK_DOT, (cm_point){270, 17}, 4);
    cm_draw_words(d, "", CM_LEFT, (cm_point){282, 18}, "repeated readings");
    cm_draw_arrow(d, "before", (cm_point){6, 38}, (cm_point){28, 38});
    cm_draw_words(d, "", CM_LEFT, (cm_point){36, 42}, "before");
    cm_draw_circle(d, "region", (cm_point){267, 39}, 10);
    cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){267, 39}, 4);
    cm_draw_words(d, "", CM_LEFT, (cm_point){282, 42}, "predicted, 90 % region");
    cm_draw_mark(d, "measured", CM_MARK_CROSS, (cm_point){10, 64}, 4);
    cm_draw_mark(d, "measured-mark", CM_MARK_DIAMOND, (cm_point){26, 64}, 4);
    cm_draw_words(d, "", CM_LEFT, (cm_point){36, 68}, "last run: predicted (90 %), measured");
    cm_draw_line(d, "limit", (cm_point){257, 64}, (cm_point){277, 64});
    cm_draw_words(d, "", CM_LEFT, (cm_point){282, 68}, "limit");
    cm_draw_words(d, "soft", CM_LEFT, (cm_point){4, 92}, way);
    return d;
}
