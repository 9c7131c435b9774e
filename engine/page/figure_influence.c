/* SPDX-License-Identifier: MIT */
/* The influence at one speed as boxes: the darker, the larger; an arrow in each points to its phase. */
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/phrases.h"

#include <math.h>

static const double LEFT = 116, BOX = 34, HIGH = 26;
enum { FITS_A_PHONE = 7, LONGEST_NAME = 16 };

static bool is_told(const cm_job *job, int row, int plane)
{
    return job->influence->determined[(size_t)row + (size_t)plane * (size_t)job->influence->rows] != 0;
}

/* Readings in different units are not compared: then each line is shaded by itself. */
static double largest(const cm_job *job, int row)
{
    double most = 0;
    for (int i = 0; i < job->influence->rows; i++)
        for (int j = 0; j < job->influence->planes; j++)
            if (job->given->row_speed[i] == job->given->row_speed[row] &&
                cm_sensor_of(job, i)->unit == cm_sensor_of(job, row)->unit && is_told(job, i, j))
                most = fmax(most, cm_user_coefficient(job, i, j).size);
    return most;
}

static void draw_box(cm_drawing *d, const cm_job *job, int row, int plane, double y)
{
    double x = LEFT + BOX * plane;
    cm_point middle = {x + BOX / 2, y + HIGH / 2};
    if (!is_told(job, row, plane)) {
        cm_draw_box(d, "grid", (cm_point){x, y}, BOX, HIGH);
        cm_draw_words(d, "soft", CM_MIDDLE, (cm_point){middle.x, middle.y + 4}, "?");
        return;
    }
    cm_size_angle a = cm_user_coefficient(job, row, plane);
    double share = a.size / largest(job, row), reach = 4 + 7 * sqrt(share);
    double paper = cm_growth_of_phases(job->given) * a.angle;
    cm_draw_begin(d, cm_format(d->session, "%s on %s: %s @ %s",
                               cm_short_name(d->session, job->given->planes[plane].id),
                               cm_short_name(d->session, cm_sensor_of(job, row)->id),
                               cm_digits(d->session, a.size, 4), cm_degrees(d->session, a.angle, 0)));
    cm_draw_shade(d, (cm_point){x, y}, BOX, HIGH, 0.65 * share);
    cm_draw_box(d, "grid", (cm_point){x, y}, BOX, HIGH);
    cm_draw_arrow(d, "ink", cm_point_at(middle, -reach, paper), cm_point_at(middle, reach, paper));
    cm_draw_end(d);
}

/* Room for the planes' names, which lean. */
static double heads(cm_session *session, const cm_job *job)
{
    int most = 0;
    const char **names = cm_plane_labels(session, job->given, LONGEST_NAME);
    for (int j = 0; j < job->influence->planes; j++) {
        int columns = cm_columns(names[j]);
        most = columns > most ? columns : most;
    }
    return 14 + 5.2 * most;
}

static void draw_heads(cm_drawing *d, const cm_job *job, double foot)
{
    const char **names = cm_plane_labels(d->session, job->given, LONGEST_NAME);
    for (int j = 0; j < job->influence->planes; j++)
        cm_draw_turned_words(d, "small", CM_LEFT, (cm_point){LEFT + BOX * j + BOX / 2 + 3, foot - 6}, -60,
                             names[j]);
}

const cm_drawing *cm_figure_influence(cm_session *session, const cm_job *job, int speed)
{
    int rows = 0, planes = job->influence->planes;
    for (int i = 0; i < job->influence->rows; i++)
        rows += job->given->row_speed[i] == speed;
    if (rows == 0 || planes == 0)
        return NULL;
    double width = fmax(LEFT + BOX * planes + 60, 330), top = heads(session, job), foot = top + HIGH * rows;
    const char *name = cm_short_name(session, job->given->speeds[speed].id);
    cm_drawing *d =
        cm_drawing_new(session, width, foot + 40, cm_format(session, "Influence at %s", name),
                       cm_format(session,
                                 "%s on %s: the darker a box, the larger the influence; the arrow "
                                 "points to its phase. The numbers are in the table of this speed.",
                                 cm_count_of(session, planes, "plane", "planes"),
                                 cm_count_of(session, rows, "reading", "readings")));
    d->wide = planes > FITS_A_PHONE;
    draw_heads(d, job, top);
    const char **sensors = cm_sensor_labels(session, job->given, 15);
    for (int i = 0, line = 0; i < job->influence->rows; i++) {
        if (job->given->row_speed[i] != speed)
            continue;
        double y = top + HIGH * line++;
        cm_draw_words(d, "small", CM_RIGHT, (cm_point){LEFT - 6, y + HIGH / 2 + 3.5},
                      sensors[job->given->row_sensor[i]]);
        for (int j = 0; j < planes; j++)
            draw_box(d, job, i, j, y);
    }
    cm_draw_words(d, "small soft", CM_LEFT, (cm_point){4, foot + 16}, "darker: larger; arrow up: phase 0,");
    cm_draw_words(d, "small soft", CM_LEFT, (cm_point){4, foot + 30},
                  cm_format(session, "phases grow %s; ?: not told",
                            cm_growth_of_phases(job->given) > 0 ? "clockwise" : "counter-clockwise"));
    return d;
}
