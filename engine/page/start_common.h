/* SPDX-License-Identifier: MIT */
/** @file start_common.h What the pages of `tolerance` and `trial` share. */
#ifndef PAGE_START_COMMON_H
#define PAGE_START_COMMON_H

#include "countermass/start.h"
#include "page/page.h"
#include "page/phrases.h"
#include "page/words.h"
#include "tree/node.h"

/** kg m as g mm, the unit in which standards print unbalance. */
#define CM_GRAM_MILLIMETRE 1e-6

cm_node *cm_tree_tolerance(cm_session *session, const cm_job *job);
cm_node *cm_tree_trial(cm_session *session, const cm_job *job);
cm_document *cm_words_tolerance(cm_session *session, const cm_job *job);
cm_document *cm_words_trial(cm_session *session, const cm_job *job);

/** Adds the sources with these keys (ended by NULL) as "sources", and the advice to check them as "advice".
 */
void cm_tree_sources(cm_session *session, cm_node *parent, const char *const *keys);

/** The same as a section. */
void cm_words_sources(cm_document *d, const char *const *keys);

/** Sources that a page of each kind rests on. */
const char *const *cm_tolerance_sources(const cm_job *job);
const char *const *cm_trial_sources(void);

/** Names of results as trees spell them. */
const char *cm_verdict_name(cm_verdict verdict);
const char *cm_behaviour_name(cm_behaviour behaviour);
const char *cm_bound_name(cm_bound_kind kind);
const char *cm_ceiling_name(cm_ceiling_source source);

/** Zone boundaries that the case's table gives at its speed, in the table's unit; false: no table, or no row.
 */
bool cm_zone_figures(const cm_case *c, double figure[3]);

/** What a report of balancing in place should hold, filled from the case. */
void cm_words_report(cm_document *d, const cm_job *job);

#endif
