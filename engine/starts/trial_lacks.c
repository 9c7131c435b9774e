/* SPDX-License-Identifier: MIT */
/* What a case lacks for a trial mass, told with the keys that would help. */
#include "starts/trial.h"

#include "base/text.h"
#include "standards/bearings.h"

#include <math.h>

static const char *kind_of(const cm_trial_target *target)
{
    return target->set < 0 ? "plane" : "set";
}

/* "" when the plane is not what is wrong. */
static const char *plane_lacks(const cm_trial_case *t, const cm_plane *plane)
{
    if (isnan(plane->radius))
        return cm_format(t->session, " Plane \"%s\" has no `radius`.", plane->id);
    if (t->c->rotor.bearing_count && isnan(plane->position))
        return cm_format(t->session, " Plane \"%s\" has no `position`.", plane->id);
    return "";
}

static const char *bearings_lack(const cm_trial_case *t)
{
    for (int k = 0; k < t->c->rotor.bearing_count; k++) {
        const cm_bearing *bearing = &t->c->rotor.bearings[k];
        if (isnan(bearing->position))
            return cm_format(t->session, " Bearing \"%s\" has no `position`.", bearing->id);
        if (isnan(cm_bearing_load(t->c, k)))
            return cm_format(t->session, " Bearing \"%s\" has no `static_load`.", bearing->id);
    }
    return "";
}

static const char *grade_lacks(const cm_trial_case *t)
{
    const cm_rotor *rotor = &t->c->rotor;
    if (isnan(rotor->grade) == isnan(rotor->mass))
        return "";
    return isnan(rotor->mass) ? " `rotor` has a `grade` without `mass`."
                              : " `rotor` has a `mass` without `grade`.";
}

static const char *what_lacks(const cm_trial_case *t, const cm_trial_target *target)
{
    if (isnan(t->omega))
        return " Neither `rotor: {service_speed}` nor `speeds` is given.";
    const char *lacks = "";
    for (int j = 0; j < t->c->plane_count && !*lacks; j++)
        if (target->share[j] != 0)
            lacks = plane_lacks(t, &t->c->planes[j]);
    return *lacks ? lacks : cm_format(t->session, "%s%s", bearings_lack(t), grade_lacks(t));
}

void cm_trial_complain(const cm_trial_case *t, const cm_trial_target *target)
{
    cm_report(
        t->session, CM_ERROR, target->place,
        "%s \"%s\": nothing tells how large a trial mass may be.%s Give its influence (`influence`) with "
        "readings, or `rotor: {bearings: [{id, position, static_load}]}`, or `rotor: {mass, grade}` with "
        "`service_speed`.",
        kind_of(target), target->id, what_lacks(t, target));
}

void cm_trial_note_radius(const cm_trial_case *t, const cm_trial_target *target)
{
    for (int j = 0; j < t->c->plane_count; j++) {
        const cm_plane *p = &t->c->planes[j];
        if (target->share[j] != 0 && isnan(p->radius))
            cm_report(t->session, CM_NOTE, &p->place,
                      "plane \"%s\" has no `radius`: force, rim speed, `cap_force` and the rule on static "
                      "load are left out",
                      p->id);
    }
}
