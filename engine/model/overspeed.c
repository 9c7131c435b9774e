/* SPDX-License-Identifier: MIT */
#include "model/overspeed.h"

#include <math.h>

double cm_overspeed_of(const cm_case *c, bool *assumed)
{
    *assumed = isnan(c->overspeed);
    if (!*assumed)
        return c->overspeed;
    double highest = c->service_speed;
    for (int i = 0; i < c->speed_count; i++)
        highest = fmax(highest, c->speeds[i].omega); /* fmax passes over NAN */
    return CM_OVERSPEED_SHARE * highest;
}
