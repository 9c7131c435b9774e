/* SPDX-License-Identifier: MIT */
/* The page of `place`. */
#include "page/page.h"
#include "model/job_call.h"

cm_status cm_page_place(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {
        "cm_page_place",
        CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE | CM_HAS_PROBLEM | CM_HAS_ANSWER | CM_HAS_PLACEMENT, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_place, cm_words_place);
    return cm_leave(session);
}
