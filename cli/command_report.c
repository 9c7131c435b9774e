/* SPDX-License-Identifier: MIT */
/* countermass report: one HTML page. No when solve says no. */
#include "cli.h"

#include <math.h>

/* Sets of planes that a report compares: all of few planes, else those of the smallest sizes. */
static const double MOST_SETS = 300;
static const double SEARCH_SECONDS = 5;

static bool has_limits(const cm_problem *problem)
{
    for (int i = 0; i < problem->rows; i++)
        if (problem->weight[i] > 0 && isfinite(problem->limit[i]))
            return true;
    return false;
}

/* The largest size of sets that keeps their number within MOST_SETS; 0: there is nothing to compare. */
static int sizes_compared(const cm_problem *problem)
{
    int planes = 0, size = 0;
    for (int j = 0; j < problem->planes; j++)
        planes += !problem->held[j];
    if (planes < 2 || planes > 64)
        return 0;
    for (double of_size = 1, total = 0; size < planes; size++) {
        of_size = of_size * (planes - size) / (size + 1);
        total += of_size;
        if (total > MOST_SETS)
            break;
    }
    return size;
}

/* What an answer lets a reader ask: less mass, fewer planes. */
static cm_status look_around(cm_session *session, cm_job *job)
{
    cm_plane_question question = {.size = sizeof question, .at_most = sizes_compared(job->problem)};
    cm_status status = CM_OK;
    if (job->answer->outcome != CM_OPTIMAL)
        return status;
    if (has_limits(job->problem))
        status = cm_trade_off_of(session, job);
    if (status == CM_OK && question.at_most > 0)
        status = cm_compare_planes(session, job, &question);
    return status;
}

/* Masses, or pieces, judged as they will be mounted. */
static cm_status judge(cm_session *session, cm_job *job)
{
    cm_status status = cm_examine(session, job, 0);
    if (status == CM_OK)
        status = cm_card_of(session, job);
    if (status == CM_OK)
        status = cm_sweeps_of(session, job);
    if (status == CM_OK)
        status = cm_survey_of(session, job);
    if (status == CM_OK)
        status = cm_load_range_of(session, job);
    if (status == CM_OK)
        status = cm_judge(session, job);
    return status == CM_OK ? cm_foretell(session, job) : status;
}

/* Pieces at positions, where the case has any; the report keeps the masses of any size beside them. */
static cm_status place(cm_session *session, cm_job *job, cm_job *placed)
{
    cm_place_question question = {.size = sizeof question, .seconds = SEARCH_SECONDS};
    if (job->answer->outcome != CM_OPTIMAL || !cm_case_has_shop(job->given, job->problem))
        return CM_OK;
    *placed = *job;
    cm_status status = cm_case_shop(session, job->given, job->problem, &question.shop);
    if (status == CM_OK)
        status = cm_place_pieces(session, placed, &question);
    if (status != CM_OK || placed->placement->outcome != CM_PLACED)
        return status;
    job->placed = placed;
    status = cm_spread_of(session, placed);
    return status == CM_OK ? judge(session, placed) : status;
}

static cm_status solve_read(cm_session *session, cm_job *job, cm_job *placed)
{
    cm_status status = cli_pose(session, job);
    if (status == CM_OK)
        status = cli_answer(session, job);
    if (status == CM_OK)
        status = cm_drift_of(session, job);
    if (status == CM_OK)
        status = cm_gains_of(session, job);
    if (status == CM_OK)
        status = look_around(session, job);
    if (status == CM_OK)
        status = place(session, job, placed);
    return status == CM_OK ? judge(session, job) : status;
}

static bool says_no(const cm_job *job)
{
    return job->answer && (job->answer->outcome != CM_OPTIMAL ||
                           cli_any_finding(job->placed ? job->placed : job, cli_finding_over_alarm));
}

static cm_status report_case(cm_session *session, const cli_options *options, const char *file,
                             cm_page **page, bool *no)
{
    (void)options;
    cm_job job = {.size = sizeof job}, placed;
    cm_status status = cli_fit_if_read(session, file, &job);
    if (status == CM_OK && job.influence)
        status = solve_read(session, &job, &placed);
    if (status == CM_OK && cm_case_has_tolerance(job.given))
        status = cm_tolerance_of(session, &job);
    if (status == CM_OK)
        status = cm_page_report(session, &job, page);
    *no = status == CM_OK && says_no(&job);
    return status;
}

int command_report(const cli_options *options)
{
    cli_options own = *options;
    own.format = CM_FORMAT_HTML;
    return cli_each_case(&own, "report", report_case, CM_JOIN_LIST);
}
