/* SPDX-License-Identifier: MIT */
/* The runs one after the other: worst reading measured, and what the runs before it let expect of that reading. */
#include "page/axis.h"
#include "page/figures.h"
#include "page/history.h"
#include "page/phrases.h"

#include <math.h>

static const double WIDTH = 380, HEIGHT = 250, LEFT = 52, RIGHT = 366, TOP = 46, FOOT = 208;

static double most_of(const cm_job *job, bool limits)
{
    double most = limits ? 1 : 0;
    for (int k = 0; k < job->runs->runs; k++) {
        cm_run_worst w = cm_worst_of_run(job, k);
        most = fmax(most, fmax(w.measured, w.predicted));
    }
    return most > 0 ? 1.08 * most : 1;
}

static void draw_run(cm_drawing *d, const cm_axis *up, const cm_job *job, int run, double x)
{
    cm_run_worst w = cm_worst_of_run(job, run);
    if (w.row < 0)
        return;
    cm_point measured = {x, cm_axis_point(up, w.measured).y};
    cm_draw_begin(d, cm_format(d->session, "%s: %s", cm_short_name(d->session, job->given->runs[run].id),
                               cm_reading_name(d->session, job, w.row)));
    if (isfinite(w.predicted)) {
        cm_point expected = {x, cm_axis_point(up, w.predicted).y};
        cm_draw_line(d, "measured", expected, measured);
        cm_draw_mark(d, "measured", CM_MARK_CROSS, expected, 4);
    }
    cm_draw_mark(d, "measured-mark", CM_MARK_DIAMOND, measured, 4);
    cm_draw_end(d);
}

static void draw_key(cm_drawing *d)
{
    cm_draw_mark(d, "measured-mark", CM_MARK_DIAMOND, (cm_point){LEFT + 6, 10}, 4);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){LEFT + 15, 13.5}, "worst reading, measured");
    cm_draw_mark(d, "measured", CM_MARK_CROSS, (cm_point){LEFT + 150, 10}, 4);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){LEFT + 159, 13.5}, "told by the runs before");
}

const cm_drawing *cm_figure_runs(cm_session *session, const cm_job *job)
{
    int runs = job->runs->runs;
    bool limits = cm_runs_by_limits(job);
    double step = (RIGHT - LEFT) / runs;
    cm_drawing *d = cm_drawing_new(
        session, WIDTH, HEIGHT, "Runs one after the other",
        "The worst reading of every run as measured, and what the runs before it let expect of "
        "it. The table beside it has the numbers.");
    cm_axis up = {d, {LEFT, FOOT}, {LEFT, TOP}, most_of(job, limits), RIGHT - LEFT, 0};
    cm_axis_draw(&up, 5, limits ? "reading / its limit" : "reading, in its unit");
    if (limits)
        cm_draw_line(d, "limit", (cm_point){LEFT, cm_axis_point(&up, 1).y},
                     (cm_point){RIGHT, cm_axis_point(&up, 1).y});
    for (int k = 0; k < runs; k++) {
        double x = LEFT + step * (k + 0.5);
        draw_run(d, &up, job, k, x);
        if (runs <= 20 || k % 5 == 4 || k == 0)
            cm_draw_words(d, "small soft", CM_MIDDLE, (cm_point){x, FOOT + 14},
                          cm_format(session, "%d", k + 1));
    }
    cm_draw_words(d, "small", CM_RIGHT, (cm_point){RIGHT, FOOT + 28}, "run");
    draw_key(d);
    return d;
}
