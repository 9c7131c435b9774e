/* SPDX-License-Identifier: MIT */
/*
 * Caps as discs |x - centre| <= radius in the plane of one total mass.
 *
 *   cap          |x| <= cap; with masses that stay of sum s: |s| + |x - s| <= cap
 *   change_cap   |x - n| <= change_cap, n what is on the rotor now
 *   cap_force    |x| R Omega^2 <= cap_force at overspeed
 */
#include "case/arrays.h"
#include "model/overspeed.h"

#include <math.h>

typedef struct discs {
    int count, room;
    cm_disc *items;
} discs;

static void add(cm_session *session, discs *list, int plane, double complex centre, double radius)
{
    list->items = cm_grow(session, list->items, list->count, &list->room, sizeof *list->items);
    list->items[list->count++] = (cm_disc){plane, centre, radius};
}

/* Masses that stay and alone exceed the cap leave nothing: x = s, and |x| <= cap < |s|. */
static void add_cap(cm_session *session, discs *list, int plane, double cap, double complex stays)
{
    double left = cap - cabs(stays);
    if (!isfinite(cap))
        return;
    add(session, list, plane, stays, left > 0 ? left : 0);
    if (left < 0)
        add(session, list, plane, 0, cap);
}

static void add_force(cm_session *session, discs *list, const cm_case *c, int plane, bool *told)
{
    const cm_plane *p = &c->planes[plane];
    bool assumed;
    double omega = cm_overspeed_of(c, &assumed);
    if (!isfinite(p->cap_force))
        return;
    if (isnan(p->radius)) {
        cm_report(session, CM_NOTE, &p->place, "the plane '%s' has no radius: its cap_force is left out",
                  p->id);
        return;
    }
    if (assumed && !*told)
        cm_report(session, CM_NOTE, &p->place,
                  "cap_force is for an overspeed of %.6g rpm, %.2g times the highest speed of the case; "
                  "rotor.overspeed sets it",
                  omega / cm_unit_find("rpm")->factor, CM_OVERSPEED_SHARE);
    *told = true;
    add(session, list, plane, 0, p->cap_force / (p->radius * omega * omega));
}

int cm_case_discs(cm_session *session, const cm_case *c, const unsigned char *held, const cm_complex *now,
                  const cm_disc **out)
{
    discs list = {0};
    bool told = false;
    double complex *stays = CM_NEW(session, c->plane_count, double complex);
    cm_total(c, cm_mass_zero_of(c), cm_now_masses(c), true, stays, 1);
    for (int j = 0; j < c->plane_count; j++) {
        if (held[j])
            continue;
        add_cap(session, &list, j, c->planes[j].cap, stays[j]);
        add_force(session, &list, c, j, &told);
        if (isfinite(c->planes[j].change_cap))
            add(session, &list, j, now[j], c->planes[j].change_cap);
    }
    *out = list.items;
    return list.count;
}
