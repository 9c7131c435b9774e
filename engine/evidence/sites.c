/* SPDX-License-Identifier: MIT */
/* Numbered positions, miscounted: each piece moves from the position nearest to it to another one. */
#include "evidence/mounting.h"
#include "linalg/dense.h"
#include "model/sites.h"
#include "model/units.h"

#include <math.h>

#undef I

static double apart(double a, double b)
{
    return fabs(remainder(a - b, 360));
}

static int nearest_site(const cm_case *c, const cm_sites *sites, double degrees)
{
    int best = 0;
    for (int i = 1; i < sites->count; i++)
        if (apart(cm_site_degrees(c, sites, i), degrees) < apart(cm_site_degrees(c, sites, best), degrees))
            best = i;
    return best;
}

/* Position that a piece at position `index` lands on. */
static int landing(const cm_sites *sites, int index, int way)
{
    int n = sites->count;
    return way == 0 ? (n - index) % n : (index + way + n) % n;
}

bool cm_site_miscount(const cm_view *view, int plane, int way, double complex *extra)
{
    const cm_case *c = view->job->given;
    const cm_sites *sites = &c->planes[plane].sites;
    *extra = 0;
    if (sites->count < 2)
        return false;
    for (int i = 0; i < view->piece_count; i++) {
        if (view->pieces[i].plane != plane)
            continue;
        double complex mass = view->pieces[i].mass;
        double own = cm_mass_angle_to_user(c, plane, mass);
        int from = nearest_site(c, sites, own), to = landing(sites, from, way);
        double moved = own + cm_site_degrees(c, sites, to) - cm_site_degrees(c, sites, from);
        *extra += cm_mass_from_user(c, plane, cabs(mass), moved) - mass;
    }
    return true;
}
