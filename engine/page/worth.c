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

double cm_worth_of_cap(const cm_job *job, int plane)
{
    const cm_problem *p = job->problem;
    double gain = 0;
    int caps = 0;
    for (int d = 0; d < p->disc_count; d++) {
        if (p->discs[d].plane != plane)
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
