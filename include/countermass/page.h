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

/** One result, ready to be rendered; opaque, owned by the session. Functions that make one of a job fail with CM_BAD_INPUT
 *  when a member that they name is missing; of the others, what cannot be shown without one that is missing is left out. */
typedef struct cm_page cm_page;

/** Forms that a page can take. */
typedef enum cm_page_format {
    CM_FORMAT_TEXT, /**< for people */
    CM_FORMAT_JSON, /**< for programs */
    CM_FORMAT_YAML, /**< the same fields, for both */
    CM_FORMAT_CSV,  /**< lists of the result as one table (RFC 4180) */
    CM_FORMAT_HTML  /**< one page without any other file */
} cm_page_format;

/** The page of `check` (job: given; what else is there is shown). Text, JSON and YAML are rendered from it,
 *  in the units and conventions of the case; the job must live as long as the page. Errors: CM_NO_MEMORY,
 *  CM_NUMERICS. Fields: docs/results.md. */
CM_API cm_status cm_page_check(cm_session *session, const cm_job *job, cm_page **page);
/** The page of `influence` (job: given, runs, influence, problem, condition). Text, JSON and YAML are
 *  rendered from it, in the units and conventions of the case; the job must live as long as the page. Errors:
 *  CM_NO_MEMORY, CM_NUMERICS. Fields: docs/results.md. */
CM_API cm_status cm_page_influence(cm_session *session, const cm_job *job, cm_page **page);
/** The page of `solve` (job: given, runs, influence, problem, determination, condition, answer, findings;
 *  what else is there is shown). Text, JSON and YAML are rendered from it, in the units and conventions of
 *  the case; the job must live as long as the page. Errors: CM_NO_MEMORY, CM_NUMERICS. Fields:
 *  docs/results.md. */
CM_API cm_status cm_page_solve(cm_session *session, const cm_job *job, cm_page **page);
/** The page of `planes` (job: given, runs, influence, problem, comparison). Text, JSON and YAML are rendered from it, in the
 *  units and conventions of the case; the job must live as long as the page. Errors: CM_NO_MEMORY,
 *  CM_NUMERICS. Fields: docs/results.md. */
CM_API cm_status cm_page_planes(cm_session *session, const cm_job *job, cm_page **page);
/** The page of `place` (job: given, runs, influence, problem, answer and what cm_place_pieces() left). Text, JSON and YAML are
 *  rendered from it, in the units and conventions of the case; the job must live as long as the page. Errors:
 *  CM_NO_MEMORY, CM_NUMERICS. Fields: docs/results.md. */
CM_API cm_status cm_page_place(cm_session *session, const cm_job *job, cm_page **page);

/** The page of `tolerance` (job: given, tolerance). Text, JSON and YAML are rendered from it, in the units
 *  and conventions of the case; the job must live as long as the page. Errors: CM_NO_MEMORY, CM_NUMERICS.
 *  Fields: docs/results.md. */
CM_API cm_status cm_page_tolerance(cm_session *session, const cm_job *job, cm_page **page);
/** The page of `trial` (job: given, trials). Text, JSON and YAML are rendered from it, in the units and
 *  conventions of the case; the job must live as long as the page. Errors: CM_NO_MEMORY, CM_NUMERICS. Fields:
 *  docs/results.md. */
CM_API cm_status cm_page_trial(cm_session *session, const cm_job *job, cm_page **page);

/** The report of a job, for CM_FORMAT_HTML, in the units and conventions of the case (job: given; what else
 *  is there is shown). Errors: CM_BAD_INPUT (the case does not say which way the rotor turns), CM_NO_MEMORY,
 *  CM_NUMERICS. */
CM_API cm_status cm_page_report(cm_session *session, const cm_job *job, cm_page **page);

/** A case that is wrong, for the place of its result in a list: carries the session's messages from `first`
 *  on. Errors: CM_NO_MEMORY. */
CM_API cm_status cm_page_error(cm_session *session, const char *file, int first, cm_page **page);

/** Compares what the case expects with what was found (job: given; a result that is missing fails its
 *  checks); `pass` receives 1 when every check holds and there is one. Errors: CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_page_verify(cm_session *session, const cm_job *job, cm_page **page, int *pass);

/** How results of several cases stand in one text. */
typedef enum cm_join {
    CM_JOIN_LIST,     /**< a JSON array, YAML documents, texts with a ruled line between them */
    CM_JOIN_VERIFIED, /**< pages of cm_page_verify: one result with the list of cases */
    CM_JOIN_ROWS      /**< a table, one line a case */
} cm_join;

/** The form of a text of several cases; the same for all its parts. Input. */
typedef struct cm_together {
    size_t size;           /**< sizeof(cm_together) */
    cm_join join;          /**< how they stand together */
    cm_page_format format; /**< the format */
    int colour;            /**< text only: for terminals */
    /** CM_JOIN_ROWS: "solve", "check", "planes" or "verify": what the cases were asked */
    const char *result;
} cm_together;

/** One page as its part of such a text, `index` its number from 0. Parts may be made in different sessions,
 *  at the same time; the text is owned by this one. `file` is named in rows and, under
 *  CM_JOIN_LIST, in each result. Errors: CM_BAD_INPUT (results of
 *  this name have no rows, or the format has no such form: HTML knows lists only), CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_page_part(cm_session *session, cm_page *page, const cm_together *how, int index,
                              const char *file, const char **text);

/** The whole text from `count` parts in order; `passed` is the number of cases that pass (CM_JOIN_VERIFIED).
 *  The parts may be freed afterwards. Errors: CM_BAD_INPUT (as cm_page_part), CM_NO_MEMORY. */
CM_API cm_status cm_page_join(cm_session *session, const cm_together *how, int count,
                              const char *const *parts, int passed, const char **text);

/** The page in a format; `colour` (text only) is for terminals. Ends with a newline, owned by the session.
 *  Errors: CM_BAD_INPUT (no such format), CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_page_render(cm_session *session, const cm_page *page, cm_page_format format, int colour,
                                const char **text);

/** The main picture of a result as an SVG file, owned by the session. Errors: CM_BAD_INPUT (it has none),
 *  CM_NO_MEMORY, CM_NUMERICS. */
CM_API cm_status cm_page_plot(cm_session *session, const cm_page *page, const char **svg);

/** 1 when the character that begins at `text` would steer a terminal or break a line (controls, changes of writing
 *  direction, characters without a shape, bytes that are no UTF-8): show U+FFFD in its place, as pages do; else 0.
 *  *bytes: its length, at least 1. For messages, which repeat names and texts of cases as they are. Does not fail. */
CM_API int cm_steers(const char *text, int *bytes);

/** Writes a text to a file, whole or not at all: into a new file beside it that takes its name when
 *  everything is on disk. A link stays a link: what it points to is replaced or made. Errors: CM_FILE_FAILED (the old file is as it was), CM_NO_MEMORY. */
CM_API cm_status cm_save(cm_session *session, const char *path, const char *text);

/** As cm_save() for several files that belong together, no two of them one file: no target takes its new text before
 *  all texts are on disk, so where one cannot be written none is. Only where the very last step, the new name, fails for
 *  one of them, those before it in the list have theirs already; and what is no regular file (a pipe, a device) is
 *  written before all others. Errors: as cm_save(), CM_BAD_INPUT (a negative count). */
CM_API cm_status cm_save_together(cm_session *session, int count, const char *const *paths,
                                  const char *const *texts);

/** 1 when both paths lead, through links too, to one regular file that is there; else 0. Does not fail. */
CM_API int cm_same_file(const char *a, const char *b);

/** 1 when cm_save() to one of the paths and then to the other would write one file twice: the paths are equal, lead to
 *  one regular file, or nothing is there yet and both lead to one name in one folder; else 0. Does not fail. */
CM_API int cm_same_target(const char *a, const char *b);

/** 1 when `path` leads to a regular file that this session has read since it was opened or reset (cases, their
 *  tables and records, standard input): one that cm_save() would overwrite; else 0. Does not fail. */
CM_API int cm_has_read(const cm_session *session, const char *path);

#ifdef __cplusplus
}
#endif
#endif
