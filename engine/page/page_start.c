/* SPDX-License-Identifier: MIT */
/* Pages of `tolerance` and `trial`. */
#include "page/start_common.h"

cm_status cm_page_tolerance(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    *page = cm_page_of(session, job, cm_tree_tolerance, cm_words_tolerance);
    return cm_leave(session);
}

cm_status cm_page_trial(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    *page = cm_page_of(session, job, cm_tree_trial, cm_words_trial);
    return cm_leave(session);
}
