/* SPDX-License-Identifier: MIT */
/* Orbits of probe pairs as the user counts them. */
#include "page/orbits.h"

#include "model/counts.h"
#include "page/phrases.h"
#include "page/worth.h"

#include <math.h>

static const cm_orbit_row *orbit(const cm_job *job, int k)
{
    return &job->given->orbits[k];
}

static const cm_probe_pair *pair_of(const cm_job *job, int k)
{
    return &job->given->pairs[orbit(job, k)->pair];
}

const cm_unit *cm_orbit_unit(const cm_job *job, int k)
{
    return job->given->sensors[pair_of(job, k)->sensor[0]].unit;
}

double cm_orbit_size(const cm_job *job, int k, double size)
{
    return size / cm_orbit_unit(job, k)->factor;
}

double cm_orbit_limit(const cm_job *job, int k)
{
    double limit = job->problem->pairs[k].limit;
    return isfinite(limit) ? cm_orbit_size(job, k, limit) : NAN;
}

bool cm_orbit_before(const cm_job *job, int k, double *size)
{
    cm_pair pair = job->problem->pairs[k];
    double complex r[2];
    bool told = cm_before(job, pair.forward, &r[0]) && cm_before(job, pair.backward, &r[1]);
    pair.forward = 0;
    pair.backward = 1;
    *size = told ? cm_orbit_size(job, k, cm_pair_size_at(&pair, r)) : NAN;
    return told;
}

bool cm_orbit_is_predicted(const cm_job *job, int k)
{
    const cm_pair *pair = &job->problem->pairs[k];
    return cm_is_predicted(job, pair->forward) && cm_is_predicted(job, pair->backward);
}

double cm_orbit_after(const cm_job *job, int k)
{
    if (!job->answer->r || !cm_orbit_is_predicted(job, k))
        return NAN;
    return cm_orbit_size(job, k, cm_pair_size_at(&job->problem->pairs[k], job->answer->r));
}

double cm_orbit_radius(const cm_job *job, int k)
{
    if (!job->spread || !job->spread->pair_std)
        return NAN;
    const cm_pair *pair = &job->problem->pairs[k];
    const double *factor = job->spread->radius_factor;
    double times = factor ? fmax(factor[pair->forward], factor[pair->backward]) : CM_RADIUS_90;
    return cm_orbit_size(job, k, times * job->spread->pair_std[k]);
}

double cm_orbit_within(const cm_job *job, int k)
{
    return job->spread && job->spread->pair_within ? job->spread->pair_within[k] : NAN;
}

const char *cm_orbit_axis_name(const cm_job *job, int k)
{
    return orbit(job, k)->axis == CM_ORBIT_FORWARD ? "forward" : "major-axis";
}

const char *cm_orbit_name(cm_session *session, const cm_job *job, int k)
{
    return cm_format(session, "%s (%s) at %s", cm_short_name(session, pair_of(job, k)->id),
                     cm_orbit_axis_name(job, k),
                     cm_short_name(session, job->given->speeds[orbit(job, k)->speed].id));
}

double cm_worth_of_orbit(const cm_job *job, int k)
{
    const cm_pair *pair = &job->problem->pairs[k];
    if (!cm_pair_is_judged(pair) || !cm_orbit_is_predicted(job, k))
        return NAN;
    return cm_worth_signed(job, cm_user_objective(job, job->answer->pair_multiplier[k]) / 100);
}
