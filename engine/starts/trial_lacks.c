/* SPDX-License-Identifier: MIT */
/* What a case lacks for a trial mass, told with the keys that would help. */
#include "starts/trial.h"

#include "base/text.h"

#include <math.h>

static const char *kind_of(const cm_trial_target *target)
{
    return target->set < 0 ? "plane" : "set";
}

void cm_trial_complain(const cm_trial_case *t, const cm_trial_target *target)
{
    const char *lacks = isnan(t->omega) ? " Neither `rotor: {service_speed}` nor `speeds` is given." : "";
    for (int j = 0; j < t->c->plane_count; j++)
        if (target->share[j] != 0 && isnan(t->c->planes[j].radius))
            lacks = cm_format(t->session, " Plane \"%s\" has no `radius`.", t->c->planes[j].id);
    cm_report(
        t->session, CM_ERROR, target->place,
        "%s \"%s\": nothing tells how large a trial mass may be.%s Give its influence (`influence`) with "
        "readings, or `rotor: {bearings: [{id, position, static_load}]}`, or `rotor: {mass, grade}` with "
        "`service_speed`.",
        kind_of(target), target->id, lacks);
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
