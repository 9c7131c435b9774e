/* SPDX-License-Identifier: MIT */
/* What several commands do with a case, step after step. Each step fills in its part of the job. */
#include "cli.h"

#include <string.h>

cm_status cli_fit(cm_session *session, const char *file, cm_job *job)
{
    cm_status status = cm_case_read(session, file, &job->given);
    if (status == CM_OK)
        status = cm_case_runs(session, job->given, &job->runs);
    if (status == CM_OK)
        status = cm_fit(session, job->runs, &job->influence);
    return status;
}

/* A case without readings is enough for some commands: then the job has no runs and no influence. */
cm_status cli_fit_if_read(cm_session *session, const char *file, cm_job *job)
{
    cm_status status = cm_case_read(session, file, &job->given);
    if (status == CM_OK && cm_case_has_readings(job->given))
        status = cm_case_runs(session, job->given, &job->runs);
    if (status == CM_OK && job->runs)
        status = cm_fit(session, job->runs, &job->influence);
    return status;
}

cm_status cli_pose(cm_session *session, cm_job *job)
{
    cm_status status = cm_case_problem(session, job->given, job->influence, &job->problem);
    if (status == CM_OK)
        status = cm_determine(session, job);
    if (status == CM_OK)
        status = cm_condition_of(session, job->problem, &job->condition);
    return status;
}

cm_status cli_answer(cm_session *session, cm_job *job)
{
    cm_status status = cm_solve(session, job->problem, &job->answer);
    if (status == CM_OK)
        status = cm_spread_of(session, job);
    if (status == CM_OK)
        status = cm_spread_by_repetition(session, job);
    return status;
}

cm_status cli_solve_all(cm_session *session, cm_job *job)
{
    cm_status status = cli_pose(session, job);
    if (status == CM_OK)
        status = cli_answer(session, job);
    return status == CM_OK ? cm_judge(session, job) : status;
}

/* What the case expects of `tolerance` and `trial`. */
cm_status cli_before_start(cm_session *session, cm_job *job)
{
    cm_status status = CM_OK;
    bool tolerance = cm_case_expects(job->given, "permissible") ||
                     cm_case_expects(job->given, "separation") || cm_case_expects(job->given, "zones");
    if (tolerance)
        status = cm_tolerance_of(session, job);
    if (status == CM_OK && cm_case_expects(job->given, "trial"))
        status = cm_trials_of(session, job, NULL);
    return status;
}

bool cli_finding_is_fault(const cm_finding *finding)
{
    return finding->severity == CM_ERROR;
}

bool cli_finding_over_alarm(const cm_finding *finding)
{
    return strcmp(finding->code, "over-alarm") == 0;
}

bool cli_any_finding(const cm_job *job, bool (*holds)(const cm_finding *finding))
{
    for (int i = 0; i < job->findings->count; i++)
        if (holds(&job->findings->items[i]))
            return true;
    return false;
}
