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

typedef enum cm_page_format {
    CM_FORMAT_TEXT,
    CM_FORMAT_JSON,
    CM_FORMAT_YAML,
    CM_FORMAT_CSV, /**< lists of the result as one table (RFC 4180) */
    CM_FORMAT_HTML /**< one page without any other file */
} cm_page_format;

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

/** Compares what the case expects with what was found; `pass` receives 1 when every check holds. */
CM_API cm_status cm_page_verify(cm_session *session, const cm_job *job, cm_page **page, int *pass);

/** How results of several cases stand in one text. */
typedef enum cm_join {
    CM_JOIN_LIST,     /**< a JSON array, YAML documents, texts with a ruled line between them */
    CM_JOIN_VERIFIED, /**< pages of cm_page_verify: one result with the list of cases */
    CM_JOIN_ROWS      /**< a table, one line a case */
} cm_join;

/** The form of a text of several cases; the same for all its parts. Input. */
typedef struct cm_together {
    size_t size; /**< sizeof(cm_together) */
    cm_join join;
    cm_page_format format;
    int colour; /**< text only: for terminals */
    /** CM_JOIN_ROWS: "solve", "check", "planes" or "verify": what the cases were asked */
    const char *result;
} cm_together;

/** One page as its part of such a text, `index` its number from 0. Parts may be made in different sessions, at the same
 *  time. `file` is shown in rows. CM_BAD_INPUT: results of this name have no rows, or the
 *  format has no such form (HTML knows lists only). */
CM_API cm_status cm_page_part(cm_session *session, cm_page *page, const cm_together *how, int index,
                              const char *file, const char **text);

/** The whole text from `count` parts in order; `passed` is the number of cases that pass (CM_JOIN_VERIFIED). */
CM_API cm_status cm_page_join(cm_session *session, const cm_together *how, int count,
                              const char *const *parts, int passed, const char **text);

/** The page in a format; `colour` (text only) is for terminals. Ends with a newline. */
CM_API cm_status cm_page_render(cm_session *session, const cm_page *page, cm_page_format format, int colour,
                                const char **text);

/** The main picture of a result as an SVG file. CM_BAD_INPUT: it has none. */
CM_API cm_status cm_page_plot(cm_session *session, const cm_page *page, const char **svg);

/** Writes a text to a file, whole or not at all. */
CM_API cm_status cm_save(cm_session *session, const char *path, const char *text);

#ifdef __cplusplus
}
#endif
#endif
