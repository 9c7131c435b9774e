/* SPDX-License-Identifier: MIT */
/*
 * Drilled holes. A drill of diameter D and full point angle p leaves a cone of height H = D / (2 tan(p/2)) under a
 * cylinder. With the tip at depth t:
 *
 *   t ≤ H   V = π/3 (t tan(p/2))² t
 *   t > H   V = π/3 (D/2)² H + π (D/2)² (t - H)
 *
 * Plane geometry; the hole is taken to be drilled at the radius of the positions.
 */
#include "place/loads.h"
#include "base/constants.h"

#include <math.h>

static double point_height(const cm_shop_plane *shop)
{
    return shop->drill_point < CM_PI ? shop->drill_diameter / 2 / tan(shop->drill_point / 2) : 0;
}

double cm_drilled_mass(const cm_shop_plane *shop, double depth)
{
    double height = point_height(shop), radius = shop->drill_diameter / 2;
    double at_tip = depth < height ? depth * tan(shop->drill_point / 2) : radius;
    double cone = CM_PI / 3 * at_tip * at_tip * fmin(depth, height);
    return shop->drill_density * (cone + CM_PI * radius * radius * fmax(0, depth - height));
}

double cm_full_depth(const cm_shop_plane *shop, double depth)
{
    return fmax(0, depth - point_height(shop));
}
