/* SPDX-License-Identifier: MIT */
/* Multipliers of the proof as the user counts. */
#include "page/worth.h"

#include <math.h>

bool cm_worth_is_told(const cm_job *job)
{
    return job->answer->outcome == CM_OPTIMAL && job->answer->row_multiplier && job->answer->disc_multiplier;
}

/* 0, not -0, where nothing is gained. */
double cm_worth_signed(const cm_job *job, double gain)
{
    if (!(gain > 0))
        return 0;
    return job->problem->objective == CM_CONFIDENCE ? gain : -gain;
}

/* Discs of a plane come in the order cap, cap_force, change_cap; the first may be two. */
static cm_cap_kind kind_of(const cm_job *job, int disc)
{
    const cm_problem *p = job->problem;
    const cm_plane *plane = &job->given->planes[p->discs[disc].plane];
    bool change = isfinite(plane->change_cap), force = isfinite(plane->cap_force) && !isnan(plane->radius);
    int behind = 0;
    for (int d = disc + 1; d < p->disc_count; d++)
        behind += p->discs[d].plane == p->discs[disc].plane;
    if (change && behind == 0)
        return CM_CAP_CHANGE;
    return force && behind == (change ? 1 : 0) ? CM_CAP_FORCE : CM_CAP_MASS;
}

double cm_worth_of_cap(const cm_job *job, int plane, cm_cap_kind kind)
{
    const cm_problem *p = job->problem;
    double gain = 0;
    int caps = 0;
    for (int d = 0; d < p->disc_count; d++) {
        if (p->discs[d].plane != plane || kind_of(job, d) != kind)
            continue;
        gain += job->answer->disc_multiplier[d];
        caps++;
    }
    return caps ? cm_worth_signed(job, cm_user_objective(job, gain) * job->given->mass_unit->factor) : NAN;
}

double cm_worth_of_limit(const cm_job *job, int row)
{
    if (job->problem->weight[row] <= 0 || !cm_is_predicted(job, row) || isnan(cm_user_limit(job, row)))
        return NAN;
    return cm_worth_signed(job, cm_user_objective(job, job->answer->row_multiplier[row]) / 100);
}
