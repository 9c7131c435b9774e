/* SPDX-License-Identifier: MIT */
/** @file report.h Sections of the report, in the order they stand there; each adds nothing when the job has nothing for it. */
#ifndef PAGE_REPORT_H
#define PAGE_REPORT_H

#include "page/words.h"

cm_document *cm_words_report_page(cm_session *session, const cm_job *job);
cm_node *cm_tree_report(cm_session *session, const cm_job *job);

void cm_report_summary(cm_document *d, const cm_job *job);
void cm_report_fit_list(cm_document *d, const cm_job *job);
void cm_report_mount(cm_document *d, const cm_job *job);
void cm_report_angles(cm_document *d, const cm_job *job);
void cm_report_mistakes(cm_document *d, const cm_job *job);
void cm_report_card(cm_document *d, const cm_job *job);
void cm_report_try(cm_document *d, const cm_job *job);
cm_node *cm_tree_try(cm_session *session, const cm_job *job);
void cm_report_readings(cm_document *d, const cm_job *job);
void cm_report_diagrams(cm_document *d, const cm_job *job);
void cm_report_runs(cm_document *d, const cm_job *job);
void cm_report_sweeps(cm_document *d, const cm_job *job);
void cm_report_machine(cm_document *d, const cm_job *job);
void cm_report_influence(cm_document *d, const cm_job *job);
void cm_report_planes(cm_document *d, const cm_job *job);
void cm_report_tolerance(cm_document *d, const cm_job *job);
void cm_report_conditions(cm_document *d, const cm_job *job);
void cm_report_method(cm_document *d, const cm_job *job);
void cm_report_sign_off(cm_document *d, const cm_job *job);

/** True when pieces and positions were found: they are what to mount. */
bool cm_has_fit_list(const cm_job *job);

/** True when the job has masses to mount. */
bool cm_has_masses(const cm_job *job);

#endif
