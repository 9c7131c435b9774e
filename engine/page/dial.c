/* SPDX-License-Identifier: MIT */
/* Faces with angles. Paper angles are degrees clockwise from the top. */
#include "page/dial.h"

#include "page/phrases.h"

#include <math.h>

static const double DEGREES = 57.295779513082320877; /* 180/pi */

int cm_turn_on_paper(const cm_case *c)
{
    return c->rotation < 0 ? 1 : -1;
}

int cm_growth_of_angles(const cm_case *c)
{
    return c->against_rotation ? -cm_turn_on_paper(c) : cm_turn_on_paper(c);
}

/* A lag tells how far the rotor has turned on: the high spot lies that far against rotation. */
int cm_growth_of_phases(const cm_case *c)
{
    return c->phase_lag ? -cm_turn_on_paper(c) : cm_turn_on_paper(c);
}

double cm_zero_on_paper(const cm_case *c, int plane)
{
    return cm_turn_on_paper(c) * c->planes[plane].zero * DEGREES;
}

double cm_paper_angle(const cm_dial *dial, double degrees)
{
    return dial->zero + dial->growth * degrees;
}

cm_point cm_dial_point(const cm_dial *dial, double size, double degrees)
{
    return cm_point_at(dial->centre, dial->radius * size / dial->full, cm_paper_angle(dial, degrees));
}

void cm_dial_face(const cm_dial *dial, int step)
{
    cm_session *session = dial->drawing->session;
    for (int degrees = 0; degrees < 360; degrees += step) {
        double paper = cm_paper_angle(dial, degrees);
        cm_point label = cm_point_at(dial->centre, dial->radius + 12, paper);
        cm_draw_line(dial->drawing, "grid", dial->centre, cm_point_at(dial->centre, dial->radius, paper));
        cm_draw_words(dial->drawing, "small soft", CM_MIDDLE, (cm_point){label.x, label.y + 3.5},
                      cm_format(session, "%d", degrees));
    }
    cm_draw_circle(dial->drawing, "ink", dial->centre, dial->radius);
}

double cm_round_step(double most, int parts)
{
    if (!(most > 0) || !isfinite(most))
        return 1;
    double rough = most / parts, power = pow(10, floor(log10(rough)));
    double share = rough / power;
    return power * (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10);
}

void cm_dial_rings(const cm_dial *dial)
{
    double step = cm_round_step(dial->full, 3);
    double between = dial->growth * 22.5; /* labels stand between two spokes */
    for (int k = 1; k * step < dial->full * 0.999; k++) {
        double radius = dial->radius * k * step / dial->full;
        cm_point label = cm_point_at(dial->centre, radius, dial->zero + between);
        cm_draw_circle(dial->drawing, "grid", dial->centre, radius);
        cm_draw_words(dial->drawing, "small soft halo", CM_MIDDLE, (cm_point){label.x, label.y + 3.5},
                      cm_digits(dial->drawing->session, k * step, 4));
    }
}
