/* SPDX-License-Identifier: MIT */
/** @file drops.h The readings to leave out so that an undetermined case goes on: as a list and as a line to paste. */
#ifndef PAGE_DROPS_H
#define PAGE_DROPS_H

#include "countermass/job.h"
#include "tree/node.h"

/** [[sensor, speed], ...]: what the case leaves out already, and what it would have to leave out; empty when nothing
 *  would be left. */
cm_node *cm_drop_list(cm_session *session, const cm_job *job);

/** The same as YAML on one line; NULL when the list is empty. */
const char *cm_drop_line(cm_session *session, const cm_job *job);

#endif
