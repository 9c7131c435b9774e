/* SPDX-License-Identifier: MIT */
/**
 * @file text.h
 * A text buffer that grows in the session's arena.
 */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include "base/session.h"

typedef struct cm_text {
    cm_session *session;
    char *bytes; /* always ends with a zero byte; NULL while empty */
    size_t length;
    size_t room;
} cm_text;

void cm_text_add(cm_text *text, const char *words);
void cm_text_add_bytes(cm_text *text, const char *bytes, size_t length);
void cm_text_add_blanks(cm_text *text, int count); /* count below 0: none */
void cm_text_print(cm_text *text, const char *format, ...) CM_PRINTF(2, 3);

/** One character at `text`: its code point and length in bytes. Bytes that are no UTF-8 (RFC 3629) count one by one as
 *  U+FFFD. */
unsigned cm_character(const char *text, int *bytes);

/** Characters (not bytes) of a UTF-8 text: what counts for columns on a page and in messages. */
int cm_text_width(const char *utf8);

/** The nearest of `count` candidates (edit distance), or NULL when none is near enough to suggest. */
const char *cm_nearest(const char *word, const char *const *candidates, int count);

#endif
