/* SPDX-License-Identifier: MIT */
/**
 * @file page.h
 * Results as pages: text for people, JSON and YAML for programs, all from one result.
 */
#ifndef COUNTERMASS_PAGE_H
#define COUNTERMASS_PAGE_H

#include "countermass/job.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cm_page cm_page;

typedef enum cm_page_format { CM_FORMAT_TEXT, CM_FORMAT_JSON, CM_FORMAT_YAML, CM_FORMAT_HTML } cm_page_format;

CM_API cm_status cm_page_check(cm_session *session, const cm_job *job, cm_page **page);
CM_API cm_status cm_page_influence(cm_session *session, const cm_job *job, cm_page **page);
CM_API cm_status cm_page_solve(cm_session *session, const cm_job *job, cm_page **page);
CM_API cm_status cm_page_planes(cm_session *session, const cm_job *job, cm_page **page);
CM_API cm_status cm_page_place(cm_session *session, const cm_job *job, cm_page **page);

CM_API cm_status cm_page_tolerance(cm_session *session, const cm_job *job, cm_page **page);
CM_API cm_status cm_page_trial(cm_session *session, const cm_job *job, cm_page **page);

/** The report of a job, for CM_FORMAT_HTML (job: given; what else is there is shown). CM_BAD_INPUT: the case does not say
 *  which way the rotor turns. */
CM_API cm_status cm_page_report(cm_session *session, const cm_job *job, cm_page **page);

/** A case that is wrong, for the place of its result in a list: carries the session's messages from `first` on. */
CM_API cm_status cm_page_error(cm_session *session, const char *file, int first, cm_page **page);

/** Compares what the case expects with what was found; `pass` receives 1 when every check holds.
 *  cm_page_join makes the one page of many verified cases. */
CM_API cm_status cm_page_verify(cm_session *session, const cm_job *job, cm_page **page, int *pass);
CM_API cm_status cm_page_verify_join(cm_session *session, int count, cm_page *const *pages, cm_page **page);

/** Several pages as one: a JSON array, YAML documents, or texts or articles one after the other. */
CM_API cm_status cm_page_join(cm_session *session, int count, cm_page *const *pages, cm_page **page);

/** The page in a format; `colour` (text only) is for terminals. Ends with a newline. */
CM_API cm_status cm_page_render(cm_session *session, const cm_page *page, cm_page_format format, int colour,
                                const char **text);

/** Writes a text to a file, whole or not at all. */
CM_API cm_status cm_save(cm_session *session, const char *path, const char *text);

#ifdef __cplusplus
}
#endif
#endif
