/* SPDX-License-Identifier: MIT */
/* The result of `check` as a tree. */
#include "page/tree_common.h"

cm_node *cm_tree_check(cm_session *session, const cm_job *job)
{
    cm_node *tree = cm_tree_open(session, "check", job);
    cm_tree_findings(session, tree, "findings", job);
    cm_tree_survey(session, tree, job);
    cm_tree_sweeps(session, tree, job);
    cm_tree_card(session, tree, job);
    cm_tree_runs(session, tree, job);
    cm_tree_drift(session, tree, job);
    return tree;
}
