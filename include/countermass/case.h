/* SPDX-License-Identifier: MIT */
/**
 * @file case.h
 * The layer with names, units and conventions: a YAML case file on one side,
 * the arrays of the numerical core on the other.
 */
#ifndef COUNTERMASS_CASE_H
#define COUNTERMASS_CASE_H

#include "countermass/influence.h"
#include "countermass/solve.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A case as read; opaque, owned by the session. */
typedef struct cm_case cm_case;

/** Reads a case file ("-": standard input) and the records and tables that it names, which must lie in its
 *  folder or be allowed by cm_host. All errors of the file (up to 20) become messages with file, line and
 *  column. Values are SI and in one frame inside. The case is owned by the session. Errors: CM_BAD_INPUT,
 *  CM_FILE_FAILED (reading broke off), CM_NO_MEMORY. Form of the file: docs/case-file.md. */
CM_API cm_status cm_case_read(cm_session *session, const char *path, const cm_case **out);

/** The same from `length` bytes in memory (UTF-8, copied); `name` is used in messages, and its folder is
 *  where records and tables are looked for. Errors: as cm_case_read. */
CM_API cm_status cm_case_parse(cm_session *session, const char *name, const char *bytes, size_t length,
                               const cm_case **out);

/** 1 when a run of the case has readings: without, there is nothing to fit, but `tolerance` and `trial` may
 *  do. Does not fail. */
CM_API int cm_case_has_readings(const cm_case *c);

/** 1 when the case expects a result of this name (a key of `expected`). Does not fail. */
CM_API int cm_case_expects(const cm_case *c, const char *result);

/** Runs and known coefficients as arrays in SI (kg at the radius of the plane, vibration as peak values in m,
 *  m/s or m/s2) and one frame; shapes: cm_runs. Owned by the session. Errors: CM_BAD_INPUT (a case without
 *  readings), CM_NO_MEMORY. Conventions: docs/conventions.md. */
CM_API cm_status cm_case_runs(cm_session *session, const cm_case *c, const cm_runs **out);

/** The objective, weights, limits, caps and ties of the case as a problem, units as in cm_case_runs; shapes:
 *  cm_problem. `influence` must be the fit of this case's runs and live as long as the problem. Errors:
 *  CM_BAD_INPUT names the keys that miss or contradict each other, CM_NO_MEMORY. */
CM_API cm_status cm_case_problem(cm_session *session, const cm_case *c, const cm_influence *influence,
                                 const cm_problem **out);

/** JSON Schema (draft 2020-12) of the case file, made from the table of keys; ends with a newline, owned by
 *  the session. Errors: CM_NO_MEMORY. */
CM_API cm_status cm_case_schema(cm_session *session, const char **json);
/** The reference of all keys as Markdown (docs/case-file.md), made from the same table; ends with a newline,
 *  owned by the session. Errors: CM_NO_MEMORY. */
CM_API cm_status cm_case_reference(cm_session *session, const char **markdown);
/** A commented case to start from, as YAML; ends with a newline, constant text. Errors: CM_NO_MEMORY. */
CM_API cm_status cm_case_new(cm_session *session, const char **yaml);

#ifdef __cplusplus
}
#endif
#endif
