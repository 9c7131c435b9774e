/* SPDX-License-Identifier: MIT */
/* countermass verify */
#include "cli.h"

static cm_status verify_case(cm_session *session, const cli_options *options, const char *file,
                             cm_page **page, bool *no)
{
    (void)options;
    cm_job job = {.size = sizeof job};
    int pass = 0;
    cm_status status = cli_fit_if_read(session, file, &job);
    if (status == CM_OK && job.runs)
        status = cli_solve_all(session, &job);
    if (status == CM_OK)
        status = cli_before_start(session, &job);
    if (status == CM_OK)
        status = cm_page_verify(session, &job, page, &pass);
    *no = !pass;
    return status;
}

int command_verify(const cli_options *options)
{
    return cli_each_case(options, "verify", verify_case, CM_JOIN_VERIFIED);
}
