/* SPDX-License-Identifier: MIT */
/* The worst reading of a run. */
#include "page/history.h"

#include <math.h>

bool cm_runs_by_limits(const cm_job *job)
{
    for (int i = 0; i < job->runs->rows; i++)
        if (isfinite(cm_user_limit(job, i)))
            return true;
    return false;
}

static double share(const cm_job *job, int row, double complex reading, bool limits)
{
    if (!limits)
        return cm_user_amplitude(job, row, cabs(reading));
    double level = job->problem ? cm_level(job, row, reading) : cm_user_amplitude(job, row, cabs(reading));
    return level / cm_user_limit(job, row);
}

cm_run_worst cm_worst_of_run(const cm_job *job, int run)
{
    cm_run_worst w = {.row = -1, .apart_row = -1, .predicted = NAN, .measured = NAN};
    bool limits = cm_runs_by_limits(job);
    for (int i = 0; i < job->runs->rows; i++) {
        size_t at = (size_t)i + (size_t)run * (size_t)job->runs->rows;
        bool told = job->foretold && job->foretold->told[at];
        if (!job->runs->repeats[at])
            continue;
        double size = share(job, i, job->runs->readings[at], limits);
        if (isfinite(size) && (w.row < 0 || size > w.measured)) {
            w.row = i;
            w.measured = size;
            w.predicted = told ? share(job, i, job->foretold->expected[at], limits) : NAN;
        }
        if (!told)
            continue;
        double apart = cabs(job->runs->readings[at] - job->foretold->expected[at]);
        w.told++;
        if (w.apart_row < 0 || cm_user_amplitude(job, i, apart) > w.apart) {
            w.apart_row = i;
            w.apart = cm_user_amplitude(job, i, apart);
        }
    }
    return w;
}
