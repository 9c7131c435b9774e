/* SPDX-License-Identifier: MIT */
/**
 * @file columns.h
 * Width of UTF-8 text on a terminal, so that tables stay aligned whatever the
 * names in a case look like.
 */
#ifndef PAGE_COLUMNS_H
#define PAGE_COLUMNS_H

#include "base/text.h"

/** Terminal columns of one character: 0 (combining), 1 or 2 (wide). */
int cm_character_columns(unsigned code);

/** Terminal columns of a text. */
int cm_columns(const char *text);

/** The text with characters that would steer a terminal (controls, changes of writing direction) shown as U+FFFD. */
const char *cm_harmless(cm_session *session, const char *text);

/** A harmless text of at most `most` columns (at least 1): a longer one loses its middle to an ellipsis. */
const char *cm_shorten(cm_session *session, const char *text, int most);

/** The same for `count` texts (NULL: empty) that stand beside each other: those that differ are shown differently. */
const char **cm_shorten_apart(cm_session *session, int count, const char *const *texts, int most);

#endif
