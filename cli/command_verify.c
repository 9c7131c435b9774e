/* SPDX-License-Identifier: MIT */
/* countermass verify */
#include "cli.h"

static cm_status verify_case(cm_session *session, const char *file, cm_page **page, bool *no)
{
    cm_job job = {.size = sizeof job};
    int pass = 0;
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cli_pose(session, &job);
    if (status == CM_OK)
        status = cli_answer(session, &job);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_page_verify(session, &job, page, &pass);
    *no = !pass;
    return status;
}

int command_verify(const cli_options *options)
{
    return cli_each_case(options, verify_case, cm_page_verify_join);
}
