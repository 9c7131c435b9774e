/* SPDX-License-Identifier: MIT */
/** @file gains.h What would raise the confidence; nothing for other objectives. */
#ifndef PAGE_GAINS_H
#define PAGE_GAINS_H

#include "page/document.h"
#include "page/tree_common.h"

/** Adds "confidence". */
void cm_tree_gains(cm_session *session, cm_node *tree, const cm_job *job);

/** A section of the page. */
void cm_words_gains(cm_document *d, const cm_job *job);

#endif
