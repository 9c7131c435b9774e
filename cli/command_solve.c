/* SPDX-License-Identifier: MIT */
/* countermass solve */
#include "cli.h"

static cm_status solve_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                            bool *no)
{
    cm_job job = {.size = sizeof job, .show_proof = options->proof};
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cli_pose(session, &job);
    if (status == CM_OK)
        status = cli_answer(session, &job);
    if (status == CM_OK)
        status = cm_drift_of(session, &job);
    if (status == CM_OK && options->trade_off)
        status = cm_trade_off_of(session, &job);
    if (status == CM_OK)
        status = cm_load_range_of(session, &job);
    if (status == CM_OK)
        status = cm_gains_of(session, &job);
    if (status == CM_OK) /* the last run only: what is on the rotor rests on it */
        status = cm_examine(session, &job, true);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_foretell(session, &job);
    if (status == CM_OK)
        status = cm_page_solve(session, &job, page);
    *no = status == CM_OK &&
          (job.answer->outcome != CM_OPTIMAL || cli_any_finding(&job, cli_finding_over_alarm));
    return status;
}

int command_solve(const cli_options *options)
{
    return cli_each_case(options, "solve", solve_case, CM_JOIN_LIST);
}
