/* SPDX-License-Identifier: MIT */
/*
 * The next trial mass on each plane and set asked for: bounds, size, place, what it
 * does when it comes loose, and the ways out when no mass is both safe and
 * visible. The size aims at a change of 30 % of the reading that answers best
 * and stays between the bounds; without a known influence it is the upper one.
 */
#include "starts/trial.h"

#include "base/text.h"
#include "model/units.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

static cm_trial_target target_plane(const cm_trial_case *t, int plane)
{
    const cm_plane *p = &t->c->planes[plane];
    cm_trial_target target = {plane, -1, p->id, &p->place,
                              CM_NEW(t->session, t->c->plane_count, double complex)};
    target.share[plane] = 1;
    return target;
}

static cm_trial_target target_set(const cm_trial_case *t, int set)
{
    const cm_bundle *s = &t->c->sets[set];
    cm_trial_target target = {-1, set, s->id, &s->place,
                              CM_NEW(t->session, t->c->plane_count, double complex)};
    for (int k = 0; k < s->count; k++)
        target.share[s->terms[k].plane] = s->terms[k].factor;
    return target;
}

/* All planes, then all sets. */
static cm_trial_target *list_targets(const cm_trial_case *t, int count)
{
    cm_trial_target *list = CM_NEW(t->session, count + 1, cm_trial_target);
    for (int i = 0; i < count; i++)
        list[i] = i < t->c->plane_count ? target_plane(t, i) : target_set(t, i - t->c->plane_count);
    return list;
}

static const cm_trial_target *find_target(cm_session *session, const cm_trial_target *list, int count,
                                          const char *name)
{
    const char **names = CM_NEW(session, count + 1, const char *);
    for (int i = 0; i < count; i++) {
        names[i] = list[i].id;
        if (names[i] && strcmp(names[i], name) == 0)
            return &list[i];
    }
    const char *nearest = cm_nearest(name, names, count);
    cm_fail(session, CM_BAD_INPUT,
            nearest ? "there is no plane or set \"%s\"; did you mean \"%s\"?"
                    : "there is no plane or set \"%s\"%s",
            name, nearest ? nearest : "");
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

static cm_trial judge(cm_trial_case *t, const cm_trial_target *target)
{
    cm_trial trial = {.plane = target->plane, .set = target->set};
    cm_trial_bound *bounds;
    cm_trial_aim(t, target->share);
    trial.bound_count = cm_trial_bounds(t, target->share, &bounds);
    trial.bounds = bounds;
    if (!trial.bound_count) {
        cm_trial_complain(t, target);
        return trial;
    }
    cm_trial_note_radius(t, target);
    for (int i = 0; i < t->rows; i++)
        trial.untold += !t->row[i].told;
    trial.upper = bounds[0].mass;
    trial.lower = cm_trial_lower(t, &trial.visible_row);
    trial.assumed_scatter =
        trial.visible_row >= 0 && t->job->influence->scatter_source[trial.visible_row] == CM_SCATTER_ASSUMED;
    trial.possible = trial.upper > 0 && trial.lower <= trial.upper;
    place_mass(t, &trial);
    trial.mass = proposal(t, &trial);
    cm_trial_parts(t, target, &trial);
    if (!trial.possible)
        cm_trial_ways(t, &trial);
    return trial;
}

cm_status cm_trials_of(cm_session *session, cm_job *theirs, const char *plane)
{
    static const cm_job_call CALL = {"cm_trials_of", CM_HAS_GIVEN, CM_HAS_TRIALS};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    if (!job->runs)
        job->influence = NULL; /* either tells only together with the other */
    if (!job->influence)
        job->runs = NULL;
    const cm_case *c = job->given;
    cm_trial_case t = cm_trial_open(session, job);
    int count = c->plane_count + c->set_count;
    const cm_trial_target *list = list_targets(&t, count);
    const cm_trial_target *only = plane ? find_target(session, list, count, plane) : NULL;
    cm_trial *items = CM_NEW(session, count + 1, cm_trial);
    cm_trials *trials = CM_NEW(session, 1, cm_trials);
    *trials = (cm_trials){.size = sizeof *trials,
                          .items = items,
                          .possible = 1,
                          .omega = t.omega,
                          .overspeed = t.overspeed,
                          .overspeed_assumed = t.assumed};
    if (!c->plane_count)
        cm_report(session, CM_ERROR, &(cm_place){c->file, 1, 1}, "a trial needs `planes`");
    for (int i = 0; i < count; i++)
        if (!only || only == &list[i]) {
            items[trials->count] = judge(&t, &list[i]);
            trials->possible &= items[trials->count++].possible;
        }
    cm_fail_on_errors(session);
    job->trials = trials;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
