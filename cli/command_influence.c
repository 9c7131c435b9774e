/* SPDX-License-Identifier: MIT */
/* countermass influence */
#include "cli.h"

#include <stdio.h>

/* The record waits until the page is delivered. One that cannot be made of good numbers keeps no page back. */
static cm_status record(cm_session *session, const cli_options *options, const cm_job *job)
{
    const char *yaml;
    cm_status status = cm_record(session, job, &yaml);
    if (status == CM_OK)
        return cli_set_aside(options, options->record, yaml);
    if (status != CM_NUMERICS)
        return status;
    options->aside->status = cli_exit_of(status);
    return CM_OK;
}

static cm_status influence_case(cm_session *session, const cli_options *options, const char *file,
                                cm_page **page, bool *no)
{
    cm_job job = {.size = sizeof job};
    *no = false;
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cli_pose(session, &job);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_foretell(session, &job);
    if (status == CM_OK)
        status = cm_page_influence(session, &job, page);
    if (status == CM_OK && options->record)
        status = record(session, options, &job);
    return status;
}

int command_influence(const cli_options *options)
{
    if (options->record && options->case_count != 1) {
        cli_say(stderr, "countermass influence: --record takes one CASE, not %d", options->case_count);
        return CLI_WRONG;
    }
    return cli_each_case(options, "influence", influence_case, CM_JOIN_LIST);
}
