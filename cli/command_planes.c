/* SPDX-License-Identifier: MIT */
/* countermass planes: no when no set of planes has an answer, or the search was stopped. An interrupt
 * ends the search with what is proven so far. */
#include "cli.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

static void show_progress(void *context, double solved, double total)
{
    (void)context;
    if (fmod(solved, 256) == 0)
        fprintf(stderr, "\r%.0f of %.0f sets solved ", solved, total);
}

static cm_status ask(cm_session *session, const cli_options *options, cm_job *job)
{
    cm_plane_question question = {.size = sizeof question,
                                  .at_most = options->at_most,
                                  .best = options->best,
                                  .progress =
                                      isatty(STDERR_FILENO) && options->jobs < 2 ? show_progress : NULL};
    cm_status status =
        cm_plane_marks(session, job->given, options->must_count, options->must, &question.must);
    if (status == CM_OK)
        status = cm_plane_marks(session, job->given, options->never_count, options->never, &question.never);
    if (status == CM_OK)
        status = cm_compare_planes(session, job, &question);
    if (question.progress)
        fprintf(stderr, "\r%*s\r", 60, ""); /* the page starts on a clean line */
    return status;
}

static cm_status planes_case(cm_session *session, const cli_options *options, const char *file,
                             cm_page **page, bool *no)
{
    cm_job job = {.size = sizeof job};
    cm_status status = cli_fit(session, file, &job);
    if (status == CM_OK)
        status = cm_case_problem(session, job.given, job.influence, &job.problem);
    if (status == CM_OK)
        status = ask(session, options, &job);
    if (status == CM_OK)
        status = cm_page_planes(session, &job, page);
    *no = status == CM_OK && (job.comparison->stopped || job.comparison->listed == 0 ||
                              job.comparison->sets[0].outcome != CM_OPTIMAL);
    return status;
}

int command_planes(const cli_options *options)
{
    cli_options own = *options;
    own.host = cli_catch_stop();
    return cli_each_case(&own, "planes", planes_case, CM_JOIN_LIST);
}
