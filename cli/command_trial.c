/* SPDX-License-Identifier: MIT */
/* countermass trial: no when a plane asked for has no trial mass that is both safe and visible. */
#include "cli.h"

static cm_status trial_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                            bool *no)
{
    cm_job job = {.size = sizeof job};
    cm_status status = cli_fit_if_read(session, file, &job);
    if (status == CM_OK)
        status = cm_trials_of(session, &job, options->plane);
    if (status == CM_OK)
        status = cm_page_trial(session, &job, page);
    *no = status == CM_OK && !job.trials->possible;
    return status;
}

int command_trial(const cli_options *options)
{
    return cli_each_case(options, "trial", trial_case, CM_JOIN_LIST);
}
