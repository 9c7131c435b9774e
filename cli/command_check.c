/* SPDX-License-Identifier: MIT */
/* countermass check */
#include "cli.h"

static cm_status check_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                            bool *no)
{
    cm_job job = {.size = sizeof job};
    cm_status status = cli_fit_if_read(session, file, &job);
    if (status == CM_OK && job.influence)
        status = cli_pose(session, &job);
    if (status == CM_OK && job.problem)
        status = cli_answer(session, &job);
    if (status == CM_OK && job.problem)
        status = cm_drift_of(session, &job);
    if (status == CM_OK && job.runs)
        status = cm_examine(session, &job, options->so_far);
    if (status == CM_OK && job.runs)
        status = cm_card_of(session, &job);
    if (status == CM_OK)
        status = cm_sweeps_of(session, &job);
    if (status == CM_OK)
        status = cm_survey_of(session, &job);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK && job.influence)
        status = cm_foretell(session, &job);
    if (status == CM_OK)
        status = cm_page_check(session, &job, page);
    cm_go go = job.card && job.card->run >= 0 ? job.card->go : CM_GO_UNTOLD;
    *no = status == CM_OK &&
          (go == CM_GO_UNTOLD ? cli_any_finding(&job, cli_finding_is_fault) : go == CM_GO_STOP);
    return status;
}

int command_check(const cli_options *options)
{
    return cli_each_case(options, "check", check_case, CM_JOIN_LIST);
}
