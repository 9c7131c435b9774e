/* SPDX-License-Identifier: MIT */
/* Comparing sets of planes, as a list of steps. */
#include "base/given.h"
#include "base/text.h"
#include "model/case.h"
#include "planes/redundancy.h"
#include "planes/survey.h"
#include "planes/turned.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

/* The stop hook, taken from the session while sets are compared: a stop ends the search with what is proven, it does not
 * break off the solution of a set. */
typedef struct cm_kept_hook {
    cm_session *session;
    int (*stop)(void *context);
} cm_kept_hook;

static void give_back(void *what)
{
    cm_kept_hook *kept = what;
    kept->session->host.stop = kept->stop;
}

static cm_kept_hook *take_hook(cm_session *session)
{
    cm_kept_hook *kept = CM_NEW(session, 1, cm_kept_hook);
    *kept = (cm_kept_hook){session, session->host.stop};
    session->host.stop = NULL;
    cm_defer(session, give_back, kept);
    return kept;
}

cm_status cm_compare_planes(cm_session *session, cm_job *theirs, const cm_plane_question *asked)
{
    static const cm_job_call CALL = {"cm_compare_planes", CM_HAS_PROBLEM, CM_HAS_COMPARISON};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_plane_question *question = CM_GIVEN(session, cm_plane_question, never, asked);
    cm_plane_comparison *out = CM_NEW(session, 1, cm_plane_comparison);
    *out = (cm_plane_comparison){.size = sizeof *out, .value_all = NAN};
    if (job->problem->then)
        cm_report(session, CM_NOTE, job->given ? &job->given->goal.then_place : NULL,
                  "sets of planes are compared by the first objective; objective.then is left out");
    cm_choice choice = cm_choose(session, job, question);
    out->planes = job->problem->planes;
    int (*stop)(void *) = take_hook(session)->stop;
    cm_survey_sets(session, &choice, question, stop, out);
    cm_find_shares(session, &choice, out);
    if (!out->stopped)
        cm_leave_out_each(session, &choice, job->given ? job->given->sensor_count : 0,
                          job->given ? job->given->row_sensor : NULL, out);
    if (!out->stopped)
        cm_compare_positions(session, &choice, job->runs, stop, out);
    job->comparison = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}

static const char *part_id(const cm_case *c, int part)
{
    return part < c->plane_count ? c->planes[part].id : c->sets[part - c->plane_count].id;
}

static int find_part(const cm_case *c, const char *id)
{
    for (int k = 0; k < c->plane_count + c->set_count; k++)
        if (strcmp(part_id(c, k), id) == 0)
            return k;
    return -1;
}

static void refuse_id(cm_session *session, const cm_case *c, const char *id)
{
    int parts = c->plane_count + c->set_count;
    const char **ids = CM_NEW(session, parts, const char *);
    for (int k = 0; k < parts; k++)
        ids[k] = part_id(c, k);
    const char *near = cm_nearest(id, ids, parts);
    cm_report(session, CM_ERROR, NULL, "there is no plane '%s'%s%s%s", id, near ? "; did you mean '" : "",
              near ? near : "", near ? "'?" : "");
}

cm_status cm_plane_marks(cm_session *session, const cm_case *c, int count, const char *const *ids,
                         const unsigned char **marks)
{
    CM_ENTER(session);
    unsigned char *marked = CM_NEW(session, c->plane_count + c->set_count, unsigned char);
    for (int i = 0; i < count; i++) {
        int plane = find_part(c, ids[i]);
        if (plane < 0)
            refuse_id(session, c, ids[i]);
        else
            marked[plane] = 1;
    }
    cm_fail_on_errors(session);
    *marks = marked;
    return cm_leave(session);
}
