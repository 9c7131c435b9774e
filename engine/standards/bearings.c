/* SPDX-License-Identifier: MIT */
/*
 * Statics of a rotor on its bearings: reactions of two supports at a and b
 *     R_A = W (b - s) / (b - a),  R_B = W (s - a) / (b - a)
 * and, the other way round, the centre of mass from two loads.
 */
#include "standards/bearings.h"

#include "standards/permissible.h"

#include <math.h>

static bool two_supports(const cm_rotor *r)
{
    return r->bearing_count == 2 && r->bearings[0].position != r->bearings[1].position;
}

double cm_mass_centre(const cm_case *c)
{
    const cm_rotor *r = &c->rotor;
    if (!isnan(r->mass_centre) || !two_supports(r))
        return r->mass_centre;
    const cm_bearing *a = &r->bearings[0], *b = &r->bearings[1];
    return (a->position * a->static_load + b->position * b->static_load) / (a->static_load + b->static_load);
}

double cm_bearing_load(const cm_case *c, int k)
{
    const cm_rotor *r = &c->rotor;
    if (!isnan(r->bearings[k].static_load) || !two_supports(r))
        return r->bearings[k].static_load;
    double reaction[2];
    cm_reactions(r->bearings[0].position, r->bearings[1].position, r->mass_centre, reaction);
    return r->mass * CM_GRAVITY * reaction[k];
}

double cm_running_speed(const cm_case *c)
{
    double highest = c->service_speed;
    for (int i = 0; i < c->speed_count; i++)
        highest = fmax(highest, c->speeds[i].omega); /* fmax passes over NAN */
    return highest;
}

/* The bearing nearest to a position other than `skip`, or -1. */
static int nearest(const cm_rotor *r, double position, int skip)
{
    int best = -1;
    for (int k = 0; k < r->bearing_count; k++) {
        double distance = fabs(r->bearings[k].position - position);
        if (k != skip && !isnan(distance) &&
            (best < 0 || distance < fabs(r->bearings[best].position - position)))
            best = k;
    }
    return best;
}

static bool beyond_all(const cm_rotor *r, double position)
{
    int left = 0, right = 0;
    for (int k = 0; k < r->bearing_count; k++) {
        left += r->bearings[k].position <= position;
        right += r->bearings[k].position >= position;
    }
    return !left || !right;
}

double cm_nearest_bearing(const cm_case *c, double position, int *bearing, bool *overhung)
{
    const cm_rotor *r = &c->rotor;
    *bearing = nearest(r, position, -1);
    *overhung = *bearing >= 0 && beyond_all(r, position);
    if (*bearing < 0)
        return NAN;
    int other = nearest(r, r->bearings[*bearing].position, *bearing);
    if (!*overhung || other < 0)
        return 1;
    double reaction[2];
    cm_reactions(r->bearings[*bearing].position, r->bearings[other].position, position, reaction);
    return fmax(1, fabs(reaction[0]));
}
