/* SPDX-License-Identifier: MIT */
/* What permissible unbalance needs of the case; every missing key by its name. */
#include "starts/tolerance.h"

#include "standards/bearings.h"

#include <math.h>

static void need(cm_session *session, const cm_case *c, double value, const char *key, const char *why)
{
    if (isnan(value))
        cm_report(session, CM_ERROR, &(cm_place){c->file, 1, 1}, "`rotor: {%s}` is needed: %s", key, why);
}

static void need_arrangement(cm_session *session, const cm_case *c)
{
    const cm_rotor *r = &c->rotor;
    const cm_bearing *b = r->bearings;
    for (int k = 0; k < 2; k++)
        if (isnan(b[k].position))
            cm_report(session, CM_ERROR, &b[k].place,
                      "bearing \"%s\" needs `position`: the permissible unbalance is shared by distances",
                      b[k].id);
    if (b[0].position == b[1].position)
        cm_report(session, CM_ERROR, &b[1].place, "bearings \"%s\" and \"%s\" stand at the same `position`",
                  b[0].id, b[1].id);
    need(session, c, cm_mass_centre(c), "mass_centre",
         "it tells how the bearings share the permissible unbalance (`static_load` of both bearings does "
         "too)");
}

static bool is_outboard(const cm_case *c)
{
    const cm_bearing *b = c->rotor.bearings;
    double centre = cm_mass_centre(c);
    return centre < fmin(b[0].position, b[1].position) || centre > fmax(b[0].position, b[1].position);
}

/* Planes of an overhung rotor need their place; elsewhere they are left out, and said so. */
static void need_places(cm_session *session, const cm_case *c)
{
    bool outboard = is_outboard(c);
    for (int j = 0; j < c->plane_count; j++)
        if (isnan(c->planes[j].position))
            cm_report(session, outboard ? CM_ERROR : CM_NOTE, &c->planes[j].place,
                      outboard ? "plane \"%s\" needs `position`: the centre of mass is beyond a bearing, and "
                                 "where the plane sits decides what each bearing feels"
                               : "plane \"%s\" has no `position`: its permissible unbalance is left out",
                      c->planes[j].id);
}

void cm_tolerance_needs(cm_session *session, const cm_case *c)
{
    need(session, c, c->rotor.mass, "mass", "a grade permits an unbalance per kilogram of rotor");
    need(session, c, c->rotor.grade, "grade", "the balance quality grade, such as G2.5");
    need(session, c, c->service_speed, "service_speed", "a grade permits less at higher speed");
    if (c->rotor.bearing_count == 2) {
        need_arrangement(session, c);
        need_places(session, c);
    }
}

/* The same, asked without a word. */
static bool shares_are_told(const cm_case *c)
{
    const cm_bearing *b = c->rotor.bearings;
    if (c->rotor.bearing_count != 2)
        return true;
    bool places = true;
    for (int j = 0; j < c->plane_count; j++)
        places = places && !isnan(c->planes[j].position);
    return !isnan(b[0].position) && !isnan(b[1].position) && b[0].position != b[1].position &&
           !isnan(cm_mass_centre(c)) && (places || !is_outboard(c));
}

int cm_case_has_tolerance(const cm_case *c)
{
    return !isnan(c->rotor.mass) && !isnan(c->rotor.grade) && !isnan(c->service_speed) && shares_are_told(c);
}
