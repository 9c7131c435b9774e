/* SPDX-License-Identifier: MIT */
/* The page of `place`. */
#include "page/page.h"

cm_status cm_page_place(cm_session *session, const cm_job *job, cm_page **page)
{
    CM_ENTER(session);
    *page = cm_page_of(session, job, cm_tree_place, cm_words_place);
    return cm_leave(session);
}
