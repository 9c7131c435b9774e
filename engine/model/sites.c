/* SPDX-License-Identifier: MIT */
/* Numbers grow as the case counts angles, unless said otherwise. */
#include "model/sites.h"

#include <math.h>

double cm_site_degrees(const cm_case *c, const cm_sites *sites, int index)
{
    if (sites->angles)
        return sites->angles[index];
    bool with =
        sites->numbered == CM_NUMBERED_UNSAID ? !c->against_rotation : sites->numbered == CM_NUMBERED_WITH;
    double turned = 360.0 * index / sites->count;
    return fmod(sites->first_angle + (with == !c->against_rotation ? turned : -turned), 360);
}
