/* SPDX-License-Identifier: MIT */
/*
 * The upper bounds of a trial mass, one small function a kind:
 *
 *     alarm        every reading whose influence is known, at the worst angle
 *     load         force on the nearest bearing at running speed <= 0.1 of its static load
 *     permissible  5 times the permissible unbalance of the nearest bearing, where alarm and load leave a gap
 *     caps         greatest mass, force at overspeed, and change of the planes concerned
 *
 * Sources: standards/sources.c.
 */
#include "starts/trial.h"

#include "standards/bearings.h"
#include "standards/permissible.h"

#include <math.h>

typedef struct {
    const cm_trial_case *t;
    const double complex *share;
    int count, room;
    cm_trial_bound *items;
} cm_bounds;

/* Files a bound in order of mass. */
static void add(cm_bounds *b, cm_trial_bound bound)
{
    if (isnan(bound.mass) || isinf(bound.mass))
        return;
    b->items = cm_grow(b->t->session, b->items, b->count, &b->room, sizeof *b->items);
    int at = b->count++;
    for (; at > 0 && b->items[at - 1].mass > bound.mass; at--)
        b->items[at] = b->items[at - 1];
    b->items[at] = bound;
}

/* Returns the number of readings that are not guarded. */
static int alarm_bounds(cm_bounds *b)
{
    int untold = 0;
    for (int i = 0; i < b->t->rows; i++) {
        const cm_trial_row *row = &b->t->row[i];
        untold += !row->told;
        if (row->told && isfinite(row->ceiling))
            add(b, (cm_trial_bound){CM_BOUND_ALARM, cm_trial_row_bound(row), i, row->ceiling, row->source, -1,
                                    -1});
    }
    return untold;
}

/* Force at running speed on each bearing per kg of the pattern. */
static void forces(const cm_bounds *b, double *force)
{
    const cm_case *c = b->t->c;
    for (int j = 0; j < c->plane_count; j++) {
        int bearing;
        bool overhung;
        double reaction = cm_nearest_bearing(c, c->planes[j].position, &bearing, &overhung);
        if (b->share[j] != 0 && bearing >= 0)
            force[bearing] += cabs(b->share[j]) * reaction * c->planes[j].radius * b->t->omega * b->t->omega;
    }
}

static double mean_load(const cm_case *c)
{
    double sum = 0;
    int count = 0;
    for (int k = 0; k < c->rotor.bearing_count; k++)
        if (!isnan(cm_bearing_load(c, k))) {
            sum += fabs(cm_bearing_load(c, k));
            count++;
        }
    return count ? sum / count : NAN;
}

static bool carries(const cm_case *c, int bearing)
{
    return cm_bearing_load(c, bearing) > CM_TRIAL_UNLOADED * mean_load(c);
}

bool cm_trial_unloaded(const cm_trial_case *t, int plane)
{
    int bearing;
    bool overhung;
    cm_nearest_bearing(t->c, t->c->planes[plane].position, &bearing, &overhung);
    return bearing >= 0 && !isnan(cm_bearing_load(t->c, bearing)) && !carries(t->c, bearing);
}

/* True when the force of every plane of the pattern meets a bound. */
static bool all_loaded(const cm_bounds *b, const double *force)
{
    const cm_case *c = b->t->c;
    for (int j = 0; j < c->plane_count; j++) {
        int bearing;
        bool overhung;
        cm_nearest_bearing(c, c->planes[j].position, &bearing, &overhung);
        if (b->share[j] != 0 && (bearing < 0 || !(force[bearing] > 0) || !carries(c, bearing)))
            return false;
    }
    return true;
}

/* Returns true when the rule guards the whole pattern. */
static bool load_bounds(cm_bounds *b)
{
    const cm_case *c = b->t->c;
    double *force = CM_NEW(b->t->session, c->rotor.bearing_count + 1, double);
    forces(b, force);
    for (int k = 0; k < c->rotor.bearing_count; k++)
        if (force[k] > 0 && carries(c, k))
            add(b, (cm_trial_bound){CM_BOUND_LOAD, CM_TRIAL_LOAD * cm_bearing_load(c, k) / force[k], -1, 0,
                                    CM_CEILING_ALARM, k, -1});
    return all_loaded(b, force);
}

/* Permissible unbalance of the bearing nearest to a plane; half of the whole where the shares cannot be told.
 */
static double permissible_near(const cm_case *c, double omega, double position)
{
    const cm_rotor *r = &c->rotor;
    double whole = cm_permissible_unbalance(r->mass, r->grade, omega), centre = cm_mass_centre(c);
    int bearing;
    bool overhung;
    cm_nearest_bearing(c, position, &bearing, &overhung);
    if (r->bearing_count != 2 || bearing < 0 || isnan(centre))
        return 0.5 * whole;
    return whole * cm_share_out(r->bearings[0].position, r->bearings[1].position, centre).share[bearing];
}

/* Returns true when it is known for every plane of the pattern. */
static bool permissible_bound(cm_bounds *b)
{
    const cm_case *c = b->t->c;
    double omega = isnan(c->service_speed) ? b->t->omega : c->service_speed, most = INFINITY;
    int tightest = -1;
    for (int j = 0; j < c->plane_count; j++)
        if (b->share[j] != 0) {
            double mass = CM_TRIAL_MULTIPLE * permissible_near(c, omega, c->planes[j].position) /
                          (cabs(b->share[j]) * c->planes[j].radius);
            tightest = mass < most ? j : tightest;
            most = isnan(mass) || isnan(most) ? NAN : fmin(most, mass);
        }
    add(b, (cm_trial_bound){CM_BOUND_PERMISSIBLE, most, -1, 0, CM_CEILING_ALARM, -1, tightest});
    return isfinite(most);
}

static void add_cap(cm_bounds *b, cm_bound_kind kind, double mass, int plane)
{
    add(b, (cm_trial_bound){kind, mass, -1, 0, CM_CEILING_ALARM, -1, plane});
}

static void cap_bounds(cm_bounds *b)
{
    const cm_case *c = b->t->c;
    for (int j = 0; j < c->plane_count; j++) {
        if (b->share[j] == 0)
            continue;
        const cm_plane *plane = &c->planes[j];
        double share = cabs(b->share[j]), on = cabs(b->t->now[j]);
        double force = plane->radius * b->t->overspeed * b->t->overspeed;
        add_cap(b, CM_BOUND_CAP, fmax(0, plane->cap - on) / share, j);
        add_cap(b, CM_BOUND_CAP_FORCE, fmax(0, plane->cap_force / force - on) / share, j);
        add_cap(b, CM_BOUND_CHANGE, plane->change_cap / share, j);
    }
}

int cm_trial_bounds(const cm_trial_case *t, const double complex *share, cm_trial_bound **bounds)
{
    cm_bounds b = {.t = t, .share = share};
    int untold = alarm_bounds(&b);
    bool bounded = b.count > 0, guarded = bounded && !untold;
    bool loaded = load_bounds(&b);
    bounded |= loaded;
    if (!guarded && !loaded)
        bounded |= permissible_bound(&b);
    cap_bounds(&b);
    *bounds = b.items;
    return bounded ? b.count : 0;
}
