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

/** Reads a case file ("-": standard input). All errors of the file (up to 20) become messages with file, line and
 *  column; then the status is CM_BAD_INPUT. */
CM_API cm_status cm_case_read(cm_session *session, const char *path, const cm_case **out);

/** The same from memory; `name` is used in messages. */
CM_API cm_status cm_case_parse(cm_session *session, const char *name, const char *bytes, size_t length,
                               const cm_case **out);

/** 1 when a run of the case has readings: without, there is nothing to fit, but `tolerance` and `trial` may do. */
CM_API int cm_case_has_readings(const cm_case *c);

/** 1 when the case expects a result of this name (a key of `expected`). */
CM_API int cm_case_expects(const cm_case *c, const char *result);

/** Runs and known coefficients as arrays in SI and one frame. A case without readings is CM_BAD_INPUT. */
CM_API cm_status cm_case_runs(cm_session *session, const cm_case *c, const cm_runs **out);

/** The objective, weights, limits, caps and ties of the case as a problem. CM_BAD_INPUT names the keys that miss. */
CM_API cm_status cm_case_problem(cm_session *session, const cm_case *c, const cm_influence *influence,
                                 const cm_problem **out);

/** JSON Schema of the case file, and the commented case to start from; both end with a newline. */
CM_API cm_status cm_case_schema(cm_session *session, const char **json);
CM_API cm_status cm_case_reference(cm_session *session, const char **markdown);
CM_API cm_status cm_case_new(cm_session *session, const char **yaml);

#ifdef __cplusplus
}
#endif
#endif
