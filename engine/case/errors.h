/* SPDX-License-Identifier: MIT */
/**
 * @file errors.h
 * The errors of one case file, sorted by place: the first twenty are kept.
 */
#ifndef CASE_ERRORS_H
#define CASE_ERRORS_H

#include "base/session.h"

enum { CM_ERRORS_SHOWN = 20 };

typedef struct cm_error {
    cm_place place;
    const char *text;
} cm_error;

typedef struct cm_errors {
    int count;
    cm_error items[CM_ERRORS_SHOWN + 1];
} cm_errors;

void cm_errors_add(cm_session *session, cm_errors *errors, const cm_place *place, const char *format,
                   va_list arguments);

/** False when an error there would not be shown: words for it need not be made. */
bool cm_errors_wanted(const cm_errors *errors, const cm_place *place);

/** Takes over the errors that the session holds from message `first` on; notes and warnings stay there. */
void cm_errors_take(cm_session *session, cm_errors *errors, int first);

/** Reports them in order and leaves with CM_BAD_INPUT; returns when there are none. */
void cm_errors_fail(cm_session *session, const cm_errors *errors);

#endif
