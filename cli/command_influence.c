/* SPDX-License-Identifier: MIT */
/* countermass influence */
#include "cli.h"

static cm_status influence_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                                bool *no)
{
    (void)options;
    cm_job job = {.size = sizeof job};
    *no = false;
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cli_pose(session, &job);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_page_influence(session, &job, page);
    return status;
}

int command_influence(const cli_options *options)
{
    return cli_each_case(options, influence_case, NULL);
}
