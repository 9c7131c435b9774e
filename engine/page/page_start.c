/* SPDX-License-Identifier: MIT */
/* Pages of `tolerance` and `trial`. */
#include "page/start_common.h"

cm_status cm_page_tolerance(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    *page = cm_page_new(session, cm_tree_tolerance(session, job), cm_words_tolerance(session, job));
    return cm_leave(session);
}

cm_status cm_page_trial(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    *page = cm_page_new(session, cm_tree_trial(session, job), cm_words_trial(session, job));
    return cm_leave(session);
}
