/* SPDX-License-Identifier: MIT */
/** @file drops.h How an undetermined case can go on: the runs that would settle it, or the readings to leave out. */
#ifndef PAGE_DROPS_H
#define PAGE_DROPS_H

#include "countermass/job.h"
#include "tree/node.h"

/** [[sensor, speed], ...]: what the case leaves out already, and what it would have to leave out; empty when nothing
 *  would be left. */
cm_node *cm_drop_list(cm_session *session, const cm_job *job);

/** The same as YAML on one line; NULL when the list is empty. */
const char *cm_drop_line(cm_session *session, const cm_job *job);

/** The planes that are left when those without enough evidence are not used, as YAML on one line; NULL: no such way. */
const char *cm_spare_line(cm_session *session, const cm_job *job);

/** Further run `index` in words: "a trial mass on P2", or the reference run made again. */
const char *cm_further_run(cm_session *session, const cm_job *job, int index);

#endif
