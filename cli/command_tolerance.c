/* SPDX-License-Identifier: MIT */
/* countermass tolerance: no when the residual unbalance is over the permissible one, or may be. */
#include "cli.h"

static cm_status tolerance_case(cm_session *session, const cli_options *options, const char *file,
                                cm_page **page, bool *no)
{
    (void)options;
    cm_job job = {.size = sizeof job};
    cm_status status = cli_fit_if_read(session, file, &job);
    if (status == CM_OK)
        status = cm_tolerance_of(session, &job);
    if (status == CM_OK)
        status = cm_page_tolerance(session, &job, page);
    *no = status == CM_OK &&
          (job.tolerance->reached.verdict == CM_EXCEEDED || job.tolerance->reached.verdict == CM_UNDECIDED);
    return status;
}

int command_tolerance(const cli_options *options)
{
    return cli_each_case(options, "tolerance", tolerance_case, CM_JOIN_LIST);
}
