/* SPDX-License-Identifier: MIT */
/**
 * @file markup.h
 * Text of the user inside HTML and SVG: whatever it says, it stays text.
 */
#ifndef PAGE_MARKUP_H
#define PAGE_MARKUP_H

#include "base/text.h"
#include "tree/node.h"

/** Adds a text for an element's content or a quoted attribute: the five characters of markup become entities, what
 *  would steer a reader (controls, changes of writing direction) and what XML forbids becomes U+FFFD. */
void cm_markup_add(cm_text *out, const char *text);

/** The same for a text of many lines: line breaks and tabs stay. */
void cm_markup_add_lines(cm_text *out, const char *text);

/** Adds a tree as JSON that can stand in a script element of data: no `<`, `>` or `&` is left in it. */
void cm_markup_add_data(cm_text *out, const cm_node *tree);

/** Adds a number for an attribute: two decimals, whatever the locale. */
void cm_markup_add_number(cm_text *out, double value);

#endif
