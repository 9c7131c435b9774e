/* SPDX-License-Identifier: MIT */
/* The conventions as pictures: a mistake here mirrors every answer. */
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/phrases.h"

static const double WIDTH = 360;

static const char *way_words(int clockwise)
{
    return clockwise > 0 ? "clockwise" : "counter-clockwise";
}

static void draw_zeros(const cm_dial *dial, const cm_case *c)
{
    for (int j = 0; j < c->plane_count; j++) {
        double paper = cm_zero_on_paper(c, j);
        if (paper < 0 || paper > 0)
            cm_draw_line(dial->drawing, "mass-line", cm_point_at(dial->centre, dial->radius - 6, paper),
                         cm_point_at(dial->centre, dial->radius + 4, paper));
    }
}

/* Both arrows stand outside: the rotor's on the left or right below, the count's above. */
static void draw_turning(const cm_dial *dial, int turn, int growth)
{
    cm_drawing *d = dial->drawing;
    cm_point centre = dial->centre, label = cm_point_at(centre, 118, growth * 62.0);
    cm_draw_arc(d, "turn", centre, 44, -turn * 150.0, turn * 110.0, true);
    cm_draw_words(d, "strong", CM_MIDDLE, (cm_point){centre.x, centre.y + 2}, "rotor turns");
    cm_draw_words(d, "small", CM_MIDDLE, (cm_point){centre.x, centre.y + 15}, way_words(turn));
    cm_draw_arc(d, "mass-line", centre, 112, growth * 14.0, growth * 76.0, true);
    cm_draw_words(d, "small strong", growth > 0 ? CM_LEFT : CM_RIGHT, (cm_point){label.x, label.y - 14},
                  "angles count");
}

static const char *describe(cm_session *session, const cm_case *c)
{
    return cm_format(
        session,
        "Seen from %s the rotor turns %s. The reference mark is drawn on top. Angles on the rotor grow %s: "
        "%s in this view.",
        c->seen_from ? c->seen_from : "an end that the case does not name", way_words(cm_turn_on_paper(c)),
        cm_sense(c), way_words(cm_growth_of_angles(c)));
}

const cm_drawing *cm_figure_angles(cm_session *session, const cm_case *c)
{
    if (!c->rotation)
        return NULL;
    int turn = cm_turn_on_paper(c), growth = cm_growth_of_angles(c);
    cm_drawing *d = cm_drawing_new(session, WIDTH, 262, "Which way the rotor turns and angles count",
                                   describe(session, c));
    cm_dial dial = {d, {WIDTH / 2, 132}, 84, 1, growth, 0};
    cm_dial_face(&dial, 45);
    cm_draw_mark(d, "solid", CM_MARK_TRIANGLE, cm_point_at(dial.centre, 74, 0), -6);
    cm_draw_words(d, "small strong halo", CM_MIDDLE, (cm_point){WIDTH / 2, 76}, "reference mark");
    draw_turning(&dial, turn, growth);
    draw_zeros(&dial, c);
    cm_draw_words(d, "small soft", CM_MIDDLE, (cm_point){WIDTH / 2, 254},
                  cm_format(session, "seen from %s",
                            c->seen_from ? cm_shorten(session, c->seen_from, 44) : "not said"));
    return d;
}

/* Signal of a probe over time, one blade of the mark and the peak after it; `lag`: from mark to peak. */
static void draw_signal(cm_drawing *d, double left, double right, double middle, double height)
{
    enum { POINTS = 97 };
    cm_point wave[POINTS];
    for (int k = 0; k < POINTS; k++) {
        double share = k / (POINTS - 1.0);
        cm_point up = cm_point_at((cm_point){0, 0}, height, 720 * share - 100);
        wave[k] = (cm_point){left + (right - left) * share, middle + up.y};
    }
    cm_draw_path(d, "after", POINTS, wave, false);
}

const cm_drawing *cm_figure_phase(cm_session *session, const cm_case *c)
{
    static const double LEFT = 24, RIGHT = 336, MARK = 24;
    double turn = (RIGHT - LEFT) / 2, peak = LEFT + turn * 100 / 360;
    double mark = c->phase_lag ? MARK : MARK + turn;
    const char *what = c->phase_lag
                           ? "phase lag: from the mark passing its probe to the peak of the reading"
                           : "phase lead: from the peak of the reading to the mark passing its probe";
    cm_drawing *d = cm_drawing_new(session, WIDTH, 170, "How a phase is counted", what);
    cm_draw_line(d, "grid", (cm_point){LEFT, 100}, (cm_point){RIGHT, 100});
    draw_signal(d, LEFT, RIGHT, 100, 26);
    for (int k = 0; k < 2; k++) {
        cm_draw_line(d, "thick", (cm_point){MARK + k * turn, 36}, (cm_point){MARK + k * turn, 134});
        cm_draw_words(d, "small strong", CM_LEFT, (cm_point){MARK + k * turn + 3, 34}, "mark at its probe");
    }
    cm_draw_line(d, "soft-line", (cm_point){peak, 52}, (cm_point){peak, 74});
    cm_draw_arrow(d, "mass-line", c->phase_lag ? (cm_point){mark, 56} : (cm_point){peak, 56},
                  c->phase_lag ? (cm_point){peak, 56} : (cm_point){mark, 56});
    cm_draw_words(d, "small halo", CM_LEFT, (cm_point){peak + 4, 66}, "peak");
    cm_draw_words(d, "small", CM_MIDDLE, (cm_point){WIDTH / 2, 152}, what);
    cm_draw_words(d, "small soft", CM_RIGHT, (cm_point){RIGHT, 130}, "time");
    return d;
}
