/* SPDX-License-Identifier: MIT */
/** @file load_range.h What no mass can cure between operating states; nothing where there are none. */
#ifndef PAGE_LOAD_RANGE_H
#define PAGE_LOAD_RANGE_H

#include "page/document.h"
#include "page/tree_common.h"

/** Adds "load_range". */
void cm_tree_load_range(cm_session *session, cm_node *tree, const cm_job *job);

/** A section of the page. */
void cm_words_load_range(cm_document *d, const cm_job *job);

#endif
