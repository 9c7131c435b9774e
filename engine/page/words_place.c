/* SPDX-License-Identifier: MIT */
#include "page/words.h"
cm_document *cm_words_place(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "Fit list.");
    cm_words_predicted(d, job);
    return d;
}
