/* SPDX-License-Identifier: MIT */
/*
 * The machine from the side. Things stand at their axial places; labels above
 * (planes) and below (bearings, then sensors) go into as many lines as they
 * need not to touch each other.
 */
#include "page/columns.h"
#include "page/figures.h"
#include "page/phrases.h"

#include <math.h>
#include <stdlib.h>

static const double WIDTH = 760, LEFT = 34, RIGHT = 726, LINE = 14, LETTER = 7.4;
enum { MOST_LINES = 30, LONGEST_LABEL = 16 };

typedef struct item {
    double x; /* on paper */
    const char *name;
    int line;     /* of its label */
    double label; /* middle of its label: at x unless the edge is near */
} item;

typedef struct machine {
    const cm_job *job;
    double from, to; /* axial, m */
    int planes, bearings, sensors;
    item *plane, *bearing, *sensor;
} machine;

static double on_paper(const machine *m, double position)
{
    double length = m->to > m->from ? m->to - m->from : 1;
    return LEFT + (RIGHT - LEFT) * (position - m->from) / length;
}

static void stretch(machine *m, double position)
{
    if (isfinite(position)) {
        m->from = fmin(m->from, position);
        m->to = fmax(m->to, position);
    }
}

static int by_place(const void *a, const void *b)
{
    double x = ((const item *)a)->x, y = ((const item *)b)->x;
    return (x > y) - (x < y);
}

/* Gives every label the first line in which it does not touch the one before it; returns the lines used. */
static int settle(item *items, int count)
{
    double right[MOST_LINES];
    int used = 0;
    for (int k = 0; k < MOST_LINES; k++)
        right[k] = -INFINITY;
    qsort(items, (size_t)count, sizeof *items, by_place);
    for (int i = 0; i < count; i++) {
        double half = LETTER * cm_columns(items[i].name) / 2;
        int line = 0;
        items[i].label = fmin(fmax(items[i].x, half), WIDTH - half);
        while (line < MOST_LINES - 1 && items[i].label - half < right[line] + 4)
            line++;
        right[line] = items[i].label + half;
        items[i].line = line;
        used = line + 1 > used ? line + 1 : used;
    }
    return used;
}

static void add_item(const machine *m, item *list, int *count, double position, const char *label)
{
    if (isfinite(position))
        list[(*count)++] = (item){.x = on_paper(m, position), .name = label};
}

static const char **bearing_labels(cm_session *session, const cm_rotor *rotor)
{
    const char **ids = CM_NEW(session, rotor->bearing_count, const char *);
    for (int b = 0; b < rotor->bearing_count; b++)
        ids[b] = rotor->bearings[b].id;
    return cm_shorten_apart(session, rotor->bearing_count, ids, LONGEST_LABEL);
}

static void collect(cm_session *session, machine *m)
{
    const cm_case *c = m->job->given;
    const char **planes = cm_plane_labels(session, c, LONGEST_LABEL),
               **sensors = cm_sensor_labels(session, c, LONGEST_LABEL),
               **bearings = bearing_labels(session, &c->rotor);
    m->plane = CM_NEW(session, c->plane_count, item);
    m->bearing = CM_NEW(session, c->rotor.bearing_count, item);
    m->sensor = CM_NEW(session, c->sensor_count, item);
    for (int j = 0; j < c->plane_count; j++)
        stretch(m, c->planes[j].position);
    for (int b = 0; b < c->rotor.bearing_count; b++)
        stretch(m, c->rotor.bearings[b].position);
    for (int s = 0; s < c->sensor_count; s++)
        stretch(m, c->sensors[s].position);
    for (int j = 0; j < c->plane_count; j++)
        add_item(m, m->plane, &m->planes, c->planes[j].position, planes[j]);
    for (int b = 0; b < c->rotor.bearing_count; b++)
        add_item(m, m->bearing, &m->bearings, c->rotor.bearings[b].position, bearings[b]);
    for (int s = 0; s < c->sensor_count; s++)
        add_item(m, m->sensor, &m->sensors, c->sensors[s].position, sensors[s]);
}

static void draw_planes(cm_drawing *d, const machine *m, double shaft)
{
    for (int j = 0; j < m->planes; j++) {
        const item *p = &m->plane[j];
        double label = shaft - 44 - LINE * p->line;
        cm_draw_line(d, "soft-line", (cm_point){p->x, label + 4}, (cm_point){p->x, shaft - 34});
        cm_draw_box(d, "shaft", (cm_point){p->x - 4, shaft - 34}, 8, 68);
        cm_draw_words(d, "strong halo", CM_MIDDLE, (cm_point){p->label, label}, p->name);
    }
}

static void draw_bearings(cm_drawing *d, const machine *m, double shaft)
{
    for (int b = 0; b < m->bearings; b++) {
        const item *p = &m->bearing[b];
        double label = shaft + 54 + LINE * p->line;
        cm_draw_mark(d, "solid", CM_MARK_TRIANGLE, (cm_point){p->x, shaft + 18}, -9);
        cm_draw_line(d, "ink", (cm_point){p->x - 13, shaft + 28}, (cm_point){p->x + 13, shaft + 28});
        cm_draw_line(d, "soft-line", (cm_point){p->x, shaft + 28}, (cm_point){p->x, label - 10});
        cm_draw_words(d, "halo", CM_MIDDLE, (cm_point){p->label, label}, p->name);
    }
}

static void draw_sensors(cm_drawing *d, const machine *m, double shaft, double top)
{
    for (int s = 0; s < m->sensors; s++) {
        const item *p = &m->sensor[s];
        double label = top + LINE * p->line;
        cm_draw_line(d, "after", (cm_point){p->x, shaft + 8}, (cm_point){p->x, label - 10});
        cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){p->x, shaft + 8}, 3);
    }
    for (int s = 0; s < m->sensors; s++)
        cm_draw_words(d, "small halo", CM_MIDDLE,
                      (cm_point){m->sensor[s].label, top + LINE * m->sensor[s].line}, m->sensor[s].name);
}

static void draw_key(cm_drawing *d, const machine *m, double y)
{
    cm_draw_box(d, "shaft", (cm_point){LEFT, y - 11}, 6, 13);
    cm_draw_words(d, "", CM_LEFT, (cm_point){LEFT + 12, y}, "correction plane");
    cm_draw_mark(d, "after-mark", CM_MARK_DISC, (cm_point){LEFT + 134, y - 4}, 3);
    cm_draw_words(d, "", CM_LEFT, (cm_point){LEFT + 142, y}, "sensor");
    if (m->bearings > 0) {
        cm_draw_mark(d, "solid", CM_MARK_TRIANGLE, (cm_point){LEFT + 206, y - 5}, -6);
        cm_draw_words(d, "", CM_LEFT, (cm_point){LEFT + 217, y}, "bearing");
    }
    double length = (m->to - m->from) / m->job->given->length_unit->factor;
    cm_draw_words(d, "soft", CM_RIGHT, (cm_point){RIGHT, y},
                  cm_format(d->session, "%s %s from the first to the last", cm_digits(d->session, length, 5),
                            m->job->given->length_unit->name));
}

const cm_drawing *cm_figure_machine(cm_session *session, const cm_job *job)
{
    machine m = {.job = job, .from = INFINITY, .to = -INFINITY};
    collect(session, &m);
    if (m.planes + m.sensors + m.bearings == 0)
        return NULL;
    int above = settle(m.plane, m.planes), below = settle(m.bearing, m.bearings),
        last = settle(m.sensor, m.sensors);
    double shaft = 64 + LINE * above, sensors = shaft + 58 + LINE * below, foot = sensors + LINE * last + 14;
    cm_drawing *d =
        cm_drawing_new(session, WIDTH, foot + 10, "The machine from the side",
                       cm_format(session, "%s, %s and %s along the shaft, to scale.",
                                 cm_count_of(session, m.planes, "correction plane", "correction planes"),
                                 cm_count_of(session, m.bearings, "bearing", "bearings"),
                                 cm_count_of(session, m.sensors, "sensor", "sensors")));
    d->wide = true;
    cm_draw_box(d, "shaft", (cm_point){8, shaft - 7}, WIDTH - 16, 14);
    draw_planes(d, &m, shaft);
    draw_sensors(d, &m, shaft, sensors);
    draw_bearings(d, &m, shaft);
    draw_key(d, &m, foot);
    return d;
}
