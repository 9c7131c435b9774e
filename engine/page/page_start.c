/* SPDX-License-Identifier: MIT */
/* Pages of `tolerance` and `trial`. */
#include "page/start_common.h"
#include "model/job_call.h"

cm_status cm_page_tolerance(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {"cm_page_tolerance", CM_HAS_GIVEN | CM_HAS_TOLERANCE, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_tolerance, cm_words_tolerance);
    return cm_leave(session);
}

cm_status cm_page_trial(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {"cm_page_trial", CM_HAS_GIVEN | CM_HAS_TRIALS, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_trial, cm_words_trial);
    return cm_leave(session);
}
