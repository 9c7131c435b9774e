/* SPDX-License-Identifier: MIT */
/* One plane as the fitter stands before it. */
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/mount.h"

#include <math.h>

static const double WIDTH = 260, HEIGHT = 282, RIM = 88;

static const char *mass_words(cm_session *session, const cm_job *job, cm_size_angle m)
{
    return cm_format(session, "%s %s at %s degrees", cm_decimal(session, m.size, cm_mass_decimals(job)),
                     job->given->mass_unit->name, cm_degrees(session, m.angle, 1));
}

static const char *describe(cm_session *session, const cm_job *job, int plane, cm_size_angle mount,
                            cm_size_angle now)
{
    const char *on = now.size > 0 ? cm_format(session, " On it now: %s.", mass_words(session, job, now)) : "";
    const char *what = mount.size > 0 ? cm_format(session, "Mount %s.", mass_words(session, job, mount))
                                      : "Nothing to mount.";
    return cm_format(session, "%s Angles count %s from %s.%s", what, cm_sense(job->given),
                     fabs(job->given->planes[plane].zero) > 0 ? "the plane's own zero" : "the reference mark",
                     on);
}

static void draw_reference(const cm_dial *dial)
{
    cm_point tip = cm_point_at(dial->centre, dial->radius - 6, 0),
             words = cm_point_at(dial->centre, dial->radius - 26, 0);
    cm_draw_mark(dial->drawing, "solid", CM_MARK_TRIANGLE, (cm_point){tip.x, tip.y + 4}, -5);
    cm_draw_words(dial->drawing, "small strong halo", CM_MIDDLE, words, "mark");
}

static void draw_turning(const cm_dial *dial, const cm_case *c)
{
    int turn = cm_turn_on_paper(c);
    if (!c->rotation)
        return;
    cm_draw_arc(dial->drawing, "thick", dial->centre, 24, -turn * 130.0, turn * 130.0, true);
    cm_draw_words(dial->drawing, "small halo", CM_MIDDLE, (cm_point){dial->centre.x, dial->centre.y + 3.5},
                  "turns");
}

/* From the plane's zero the way the fitter counts. */
static void draw_count(const cm_dial *dial, double degrees)
{
    double from = dial->zero, to = cm_paper_angle(dial, degrees);
    if (degrees > 4)
        cm_draw_arc(dial->drawing, "mass-line", dial->centre, 44, from, to, true);
    cm_draw_line(dial->drawing, "mass-line", cm_point_at(dial->centre, 36, to),
                 cm_point_at(dial->centre, dial->radius - 8, to));
    cm_draw_line(dial->drawing, "soft-line", cm_point_at(dial->centre, 36, from),
                 cm_point_at(dial->centre, dial->radius, from));
}

static void draw_key(cm_drawing *d, const cm_case *c, bool now, bool mount)
{
    double y = HEIGHT - 26, x = 12;
    if (mount) {
        cm_draw_mark(d, "mass", CM_MARK_DISC, (cm_point){x, y - 4}, 6);
        cm_draw_words(d, "small", CM_LEFT, (cm_point){x + 11, y}, "mount here");
    }
    if (now) {
        cm_draw_mark(d, "now", CM_MARK_SQUARE, (cm_point){x + 90, y - 4}, 4.5);
        cm_draw_words(d, "small", CM_LEFT, (cm_point){x + 100, y}, "on the rotor now");
    }
    const char *view = c->seen_from
                           ? cm_format(d->session, "seen from %s", cm_shorten(d->session, c->seen_from, 32))
                           : "the case does not say from where";
    cm_draw_words(d, "small soft", CM_LEFT, (cm_point){6, HEIGHT - 8}, view);
}

const cm_drawing *cm_figure_mount(cm_session *session, const cm_job *job, int plane, double complex on,
                                  double complex mount)
{
    const cm_case *c = job->given;
    cm_size_angle m = cm_user_mass(job, plane, mount), now = cm_user_mass(job, plane, on);
    cm_drawing *d = cm_drawing_new(
        session, WIDTH, HEIGHT,
        cm_format(session, "Where to mount on %s", cm_short_name(session, c->planes[plane].id)),
        describe(session, job, plane, m, now));
    cm_dial dial = {d, {WIDTH / 2, 122}, RIM, 1, cm_growth_of_angles(c), cm_zero_on_paper(c, plane)};
    cm_dial_face(&dial, 30);
    draw_reference(&dial);
    draw_turning(&dial, c);
    if (m.size > 0)
        draw_count(&dial, m.angle);
    if (now.size > 0)
        cm_draw_mark(d, "now", CM_MARK_SQUARE, cm_dial_point(&dial, 1, now.angle), 5);
    if (m.size > 0)
        cm_draw_mark(d, "mass", CM_MARK_DISC, cm_dial_point(&dial, 1, m.angle), 8);
    draw_key(d, c, now.size > 0, m.size > 0);
    return d;
}
