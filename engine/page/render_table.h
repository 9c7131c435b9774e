/* SPDX-License-Identifier: MIT */
/** @file render_table.h A table as aligned text. */
#ifndef PAGE_RENDER_TABLE_H
#define PAGE_RENDER_TABLE_H

#include "base/text.h"
#include "page/document.h"

/** Appends the table; one too wide for the page is broken into several that repeat the key columns. */
void cm_render_table(cm_text *out, const cm_table *table);

#endif
