/* SPDX-License-Identifier: MIT */
/** @file tree_proof.h The dual point behind an answer, in the user's units and conventions. */
#ifndef PAGE_TREE_PROOF_H
#define PAGE_TREE_PROOF_H

#include "page/tree_common.h"

/** Adds "proof"; null when there is none. */
void cm_tree_proof(cm_session *session, cm_node *tree, const cm_job *job);

#endif
