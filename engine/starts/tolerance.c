/* SPDX-License-Identifier: MIT */
/*
 * Permissible residual unbalance of a case: the whole from mass, grade and
 * speed, its shares at the bearings, from there the values of the correction
 * planes, the mass/speed rule beside it, and what was reached.
 */
#include "starts/tolerance.h"

#include "standards/bearings.h"
#include "standards/margins.h"
#include "standards/permissible.h"
#include "model/job_call.h"

#include <math.h>

static double *unknown(cm_session *session, int count)
{
    double *list = CM_NEW(session, count + 1, double);
    for (int i = 0; i < count; i++)
        list[i] = NAN;
    return list;
}

/* Two bearings: lever rule. */
static void share_by_lever(cm_session *session, const cm_case *c, cm_tolerance *t)
{
    const cm_bearing *b = c->rotor.bearings;
    cm_shares s = cm_share_out(b[0].position, b[1].position, cm_mass_centre(c));
    double *share = unknown(session, 2), *lever = unknown(session, 2);
    unsigned char *limited = CM_NEW(session, 2, unsigned char);
    for (int k = 0; k < 2; k++) {
        share[k] = s.share[k];
        lever[k] = s.lever[k];
        limited[k] = s.limited[k];
    }
    t->share = share;
    t->lever = lever;
    t->limited = limited;
    t->outboard = s.arrangement == CM_OUTBOARD;
}

/* Any other number of bearings: by static load where every bearing has one above 0, else not told. */
static void share_by_load(cm_session *session, const cm_case *c, cm_tolerance *t)
{
    double *share = unknown(session, t->bearings), sum = 0;
    bool loaded = t->bearings > 0;
    for (int k = 0; k < t->bearings; k++) {
        loaded &= cm_bearing_load(c, k) > 0;
        sum += cm_bearing_load(c, k);
    }
    for (int k = 0; k < t->bearings && loaded; k++)
        share[k] = cm_bearing_load(c, k) / sum;
    t->share = t->lever = share;
    t->limited = CM_NEW(session, t->bearings + 1, unsigned char);
}

static void fill_bearings(cm_session *session, const cm_case *c, cm_tolerance *t)
{
    double *value = unknown(session, t->bearings), *load = unknown(session, t->bearings);
    double *rule = unknown(session, t->bearings), given = 0;
    for (int k = 0; k < t->bearings; k++) {
        value[k] = t->value * t->share[k];
        load[k] = cm_bearing_load(c, k);
        rule[k] = cm_mass_speed_unbalance(fabs(load[k]) / CM_GRAVITY, t->omega);
        given += c->rotor.bearings[k].static_load;
    }
    t->bearing = value;
    t->load = load;
    t->mass_speed = rule;
    t->load_ratio = t->bearings ? given / (t->mass * CM_GRAVITY) : NAN;
}

/* Sizes of both reactions to each plane in use that has a position; returns their number. */
static int levers(const cm_case *c, double *lever, int *plane)
{
    const cm_bearing *b = c->rotor.bearings;
    int count = 0;
    for (int j = 0; j < c->plane_count; j++) {
        if (!c->goal.use[j] || isnan(c->planes[j].position))
            continue;
        cm_reactions(b[0].position, b[1].position, c->planes[j].position, &lever[2 * count]);
        lever[2 * count] = fabs(lever[2 * count]);
        lever[2 * count + 1] = fabs(lever[2 * count + 1]);
        plane[count++] = j;
    }
    return count;
}

static void fill_planes(cm_session *session, const cm_case *c, cm_tolerance *t)
{
    double *value = unknown(session, t->planes);
    unsigned char *overhung = CM_NEW(session, t->planes + 1, unsigned char);
    t->plane = value;
    t->overhung = overhung;
    if (t->bearings != 2)
        return;
    double *lever = unknown(session, 2 * t->planes), *found = unknown(session, t->planes);
    int *plane = CM_NEW(session, t->planes + 1, int), count = levers(c, lever, plane);
    if (count)
        cm_share_to_planes(count, lever, t->bearing, found);
    for (int i = 0; i < count; i++) {
        value[plane[i]] = found[i];
        overhung[plane[i]] = lever[2 * i] > 1 || lever[2 * i + 1] > 1;
    }
}

static void fill_margins(const cm_case *c, cm_tolerance *t)
{
    t->margin_below = t->margin_above = NAN;
    if (!isnan(c->rotor.amplification))
        cm_separation_margin(c->rotor.amplification, &t->margin_below, &t->margin_above);
    t->margin = 100 * fabs(t->resonance - t->omega) / t->omega;
    t->vibration_limit = cm_works_vibration_limit(t->omega);
}

cm_status cm_tolerance_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_tolerance_of", CM_HAS_GIVEN, CM_HAS_TOLERANCE};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    if (!job->runs)
        job->influence = NULL; /* either tells only together with the other */
    if (!job->influence)
        job->runs = NULL;
    const cm_case *c = job->given;
    cm_tolerance_needs(session, c);
    cm_fail_on_errors(session);
    cm_tolerance *t = CM_NEW(session, 1, cm_tolerance);
    *t = (cm_tolerance){.size = sizeof *t,
                        .mass = c->rotor.mass,
                        .grade = c->rotor.grade,
                        .omega = c->service_speed,
                        .bearings = c->rotor.bearing_count,
                        .planes = c->plane_count,
                        .resonance = c->rotor.first_resonance};
    t->value = cm_permissible_unbalance(t->mass, t->grade, t->omega);
    (t->bearings == 2 ? share_by_lever : share_by_load)(session, c, t);
    fill_bearings(session, c, t);
    fill_planes(session, c, t);
    t->behaviour = isnan(t->resonance)                      ? CM_BEHAVIOUR_UNKNOWN
                   : cm_is_flexible(t->resonance, t->omega) ? CM_BEHAVIOUR_FLEXIBLE
                                                            : CM_BEHAVIOUR_RIGID;
    fill_margins(c, t);
    cm_residual_of(session, job, t);
    job->tolerance = t;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
