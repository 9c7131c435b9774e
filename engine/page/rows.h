/* SPDX-License-Identifier: MIT */
/** @file rows.h One line a case: what a result comes to, for tables over many cases. */
#ifndef PAGE_ROWS_H
#define PAGE_ROWS_H

#include "base/text.h"
#include "tree/node.h"

/** True when results of this name have a row. */
bool cm_has_row(const char *result);

/** The row of a result (or of an error in its place) as a map; the file comes last. */
cm_node *cm_row_of(cm_session *session, const char *result, const cm_node *tree, const char *file);

/** Line of headings, and one line for a row, both of the same columns. */
void cm_row_head(cm_text *out, const char *result);
void cm_row_line(cm_text *out, const char *result, const cm_node *row);

#endif
