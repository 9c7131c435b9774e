/* SPDX-License-Identifier: MIT */
/*
 * The next trial mass on each plane asked for: bounds, size, place, what it
 * does when it comes loose, and the ways out when no mass is both safe and
 * visible. The size aims at a change of 30 % of the reading that answers best
 * and stays between the bounds; without a known influence it is the upper one.
 */
#include "starts/trial.h"

#include "base/text.h"
#include "model/units.h"
#include "standards/bearings.h"
#include "standards/hazard.h"

#include <math.h>
#include <string.h>

static int plane_called(cm_session *session, const cm_case *c, const char *name)
{
    const char **names = CM_NEW(session, c->plane_count + 1, const char *);
    for (int j = 0; j < c->plane_count; j++) {
        names[j] = c->planes[j].id;
        if (strcmp(names[j], name) == 0)
            return j;
    }
    const char *nearest = cm_nearest(name, names, c->plane_count);
    cm_fail(session, CM_BAD_INPUT,
            nearest ? "there is no plane \"%s\"; did you mean \"%s\"?" : "there is no plane \"%s\"%s", name,
            nearest ? nearest : "");
}

/* Keys that would bound the trial mass on a plane. */
static void complain(cm_trial_case *t, int plane)
{
    const cm_plane *p = &t->c->planes[plane];
    const char *lacks = isnan(p->radius)  ? " The plane has no `radius`."
                        : isnan(t->omega) ? " Neither `rotor: {service_speed}` nor `speeds` is given."
                                          : "";
    cm_report(
        t->session, CM_ERROR, &p->place,
        "plane \"%s\": nothing tells how large a trial mass may be.%s Give its influence (`influence`) with "
        "readings, or `rotor: {bearings: [{id, position, static_load}]}`, or `rotor: {mass, grade}` with "
        "`service_speed`.",
        p->id, lacks);
}

static void note_radius(cm_trial_case *t, int plane)
{
    const cm_plane *p = &t->c->planes[plane];
    if (isnan(p->radius))
        cm_report(t->session, CM_NOTE, &p->place,
                  "plane \"%s\" has no `radius`: force, rim speed, `cap_force` and the rule on static load "
                  "are left out",
                  p->id);
}

static void place_mass(const cm_trial_case *t, cm_trial *trial)
{
    double std, size;
    trial->correction = cm_trial_opposite(t->rows, t->row, &std);
    size = cabs(trial->correction);
    trial->angle_known = size > CM_TRIAL_USUAL * std;
    trial->direction = trial->angle_known ? trial->correction / size : 1;
    trial->angle_radius = trial->angle_known ? asin(CM_TRIAL_USUAL * std / size) : NAN;
}

/* The wanted mass as real pieces, if the plane lists some that fit. */
static void use_pieces(const cm_trial_case *t, cm_trial *trial)
{
    const cm_plane *plane = &t->c->planes[trial->plane];
    if (trial->possible && plane->piece_count)
        trial->pieces =
            cm_trial_pieces(t->session, plane, trial->lower, trial->upper, trial->mass, &trial->mass);
}

static double proposal(const cm_trial_case *t, const cm_trial *trial)
{
    if (!trial->possible)
        return NAN;
    double aim = trial->upper;
    if (trial->visible_row >= 0) {
        const cm_trial_row *row = &t->row[trial->visible_row];
        aim = fmin(fmax(CM_TRIAL_CHANGE * cabs(row->y) / cabs(row->a), trial->lower), trial->upper);
    }
    return cm_trial_round(aim, trial->lower, t->c->mass_unit->factor);
}

static void hazard(const cm_trial_case *t, cm_trial *trial)
{
    const cm_plane *plane = &t->c->planes[trial->plane];
    double mass = trial->possible ? trial->mass : trial->upper;
    int bearing;
    bool overhung;
    trial->force = cm_centrifugal_force(mass, plane->radius, t->overspeed);
    trial->rim_speed = cm_rim_speed(plane->radius, t->overspeed);
    trial->energy = cm_released_energy(mass, plane->radius, t->overspeed);
    cm_nearest_bearing(t->c, plane->position, &bearing, &overhung);
    trial->overhung = overhung;
}

static cm_trial judge(cm_trial_case *t, int plane)
{
    cm_trial trial = {.plane = plane};
    double complex *share = CM_NEW(t->session, t->c->plane_count, double complex);
    cm_trial_bound *bounds;
    share[plane] = 1;
    cm_trial_aim(t, share);
    trial.bound_count = cm_trial_bounds(t, share, &bounds);
    trial.bounds = bounds;
    if (!trial.bound_count) {
        complain(t, plane);
        return trial;
    }
    note_radius(t, plane);
    for (int i = 0; i < t->rows; i++)
        trial.untold += !t->row[i].told;
    trial.upper = bounds[0].mass;
    trial.lower = cm_trial_lower(t, &trial.visible_row);
    trial.assumed_scatter =
        trial.visible_row >= 0 && t->job->influence->scatter_source[trial.visible_row] == CM_SCATTER_ASSUMED;
    trial.possible = trial.upper > 0 && trial.lower <= trial.upper;
    place_mass(t, &trial);
    trial.mass = proposal(t, &trial);
    use_pieces(t, &trial);
    trial.unloaded = cm_trial_unloaded(t, plane);
    hazard(t, &trial);
    if (!trial.possible)
        cm_trial_ways(t, &trial);
    return trial;
}

cm_status cm_trials_of(cm_session *session, cm_job *job, const char *plane)
{
    CM_ENTER(session);
    const cm_case *c = job->given;
    cm_trial_case t = cm_trial_open(session, job);
    int only = plane ? plane_called(session, c, plane) : -1;
    cm_trial *items = CM_NEW(session, c->plane_count + 1, cm_trial);
    cm_trials *trials = CM_NEW(session, 1, cm_trials);
    *trials = (cm_trials){.size = sizeof *trials,
                          .items = items,
                          .possible = 1,
                          .omega = t.omega,
                          .overspeed = t.overspeed,
                          .overspeed_assumed = t.assumed};
    if (!c->plane_count)
        cm_report(session, CM_ERROR, &(cm_place){c->file, 1, 1}, "a trial needs `planes`");
    for (int j = 0; j < c->plane_count; j++)
        if (only < 0 || only == j) {
            items[trials->count] = judge(&t, j);
            trials->possible &= items[trials->count++].possible;
        }
    cm_fail_on_errors(session);
    job->trials = trials;
    return cm_leave(session);
}
