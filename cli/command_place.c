/* SPDX-License-Identifier: MIT */
/* countermass place: no when nothing fits, nothing keeps caps and limits, the runs do not tell, or a reading is predicted
 * over its alarm. An interrupt ends the search with what is proven so far. */
#include "cli.h"

#include <stdio.h>
#include <unistd.h>

static void show_progress(void *context, double looked_at, double value, double bound)
{
    (void)context;
    fprintf(stderr, "\r%.0f partial placements looked at, best %.6g, none below %.6g ", looked_at, value,
            bound);
}

static cm_status ask(cm_session *session, const cli_options *options, cm_job *job)
{
    cm_place_question question = {.size = sizeof question,
                                  .seconds = options->seconds,
                                  .progress = isatty(STDERR_FILENO) ? show_progress : NULL};
    cm_status status = cm_case_shop(session, job->given, job->problem, &question.shop);
    if (status == CM_OK)
        status = cm_place_pieces(session, job, &question);
    if (question.progress)
        fprintf(stderr, "\r%*s\r", 79, ""); /* the page starts on a clean line */
    if (status == CM_OK)
        status = cm_hand_work_of(session, job, question.shop, options->split_count, options->splits,
                                 options->merge_count, options->merges);
    return status;
}

static cm_status place_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                            bool *no)
{
    cm_job job = {.size = sizeof job};
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cli_pose(session, &job);
    if (status == CM_OK)
        status = ask(session, options, &job);
    if (status == CM_OK)
        status = cm_spread_of(session, &job);
    if (status == CM_OK) /* the last run only: what is on the rotor rests on it */
        status = cm_examine(session, &job, true);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_page_place(session, &job, page);
    *no = status == CM_OK &&
          (job.placement->outcome != CM_PLACED || cli_any_finding(&job, cli_finding_over_alarm));
    return status;
}

int command_place(const cli_options *options)
{
    cli_options own = *options;
    own.host = cli_catch_stop();
    return cli_each_case(&own, "place", place_case, CM_JOIN_LIST);
}
