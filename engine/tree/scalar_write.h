/* SPDX-License-Identifier: MIT */
/**
 * @file scalar_write.h
 * Scalars as JSON and YAML share them.
 */
#ifndef TREE_SCALAR_WRITE_H
#define TREE_SCALAR_WRITE_H

#include "base/text.h"
#include "tree/node.h"

/** A container is written on one line when the line is no longer than this. */
enum { TREE_LINE = 100 };

/** In double quotes; the escapes are valid in JSON and in YAML 1.1 alike. */
void cm_write_quoted(cm_text *out, const char *utf8);

/** Numbers (shortest that reads back; NaN and infinity: null), booleans, null and quoted text. */
void cm_write_scalar(cm_text *out, const cm_node *node);

/** A new line with so many blanks. */
void cm_write_line_break(cm_text *out, int blanks);

#endif
