/* SPDX-License-Identifier: MIT */
/** @file tree_common.h Fields that several result trees share. */
#ifndef PAGE_TREE_COMMON_H
#define PAGE_TREE_COMMON_H

#include "countermass/evidence.h"
#include "page/page.h"
#include "page/values.h"

/** Head of every result of a case: result, format, case. */
cm_node *cm_tree_open(cm_session *session, const char *result, const cm_job *job);

/** Adds {"speed", "sensor"} to a map. */
void cm_tree_row(cm_session *session, cm_node *map, const cm_job *job, int row);

/** The same for orbit k: {"speed", "pair", "row"}; and the predictions of all orbits at a speed. */
void cm_tree_orbit(cm_session *session, cm_node *map, const cm_job *job, int k);
void cm_tree_orbits_at(cm_session *session, cm_node *list, const cm_job *job, int speed);

/** Adds {size: ..., angle: ...} under `key`, the two named as given ("mass", "angle" or "amplitude", "phase"). */
void cm_tree_polar(cm_session *session, cm_node *map, const char *key, const char *size, const char *angle,
                   cm_size_angle value);

/** Adds the findings as "warnings" or "findings": code, severity, message and the places that apply. */
void cm_tree_findings(cm_session *session, cm_node *parent, const char *key, const cm_job *job);

/** Adds "survey": signs for and against unbalance. */
void cm_tree_survey(cm_session *session, cm_node *tree, const cm_job *job);

/** Adds "sweeps": resonances of the fitted sweeps. */
void cm_tree_sweeps(cm_session *session, cm_node *tree, const cm_job *job);

/** Adds "card" and "so_far": what the next run-up, or the one going on, should read. */
void cm_tree_card(cm_session *session, cm_node *tree, const cm_job *job);

/** Adds "explanations" of a run that missed its prediction. */
void cm_tree_explanations(cm_session *session, cm_node *map, const cm_case *c, const cm_run_test *test);

/** Adds "runs": what was predicted from the runs before each, what was measured, and how. */
void cm_tree_runs(cm_session *session, cm_node *tree, const cm_job *job);

/** Adds "drift": how much drift from run to run matters; nothing where that was not asked. */
void cm_tree_drift(cm_session *session, cm_node *tree, const cm_job *job);

/** Names of objectives, outcomes and severities as results spell them. */
const char *cm_objective_name(cm_objective objective);
const char *cm_severity_name(cm_severity severity);

#endif
