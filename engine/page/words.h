/* SPDX-License-Identifier: MIT */
/** @file words.h Sections that pages for people are put together from. */
#ifndef PAGE_WORDS_H
#define PAGE_WORDS_H

#include "countermass/evidence.h"
#include "page/document.h"
#include "page/page.h"
#include "page/phrases.h"

/** Title, and what the case says of itself. */
void cm_words_head(cm_document *d, const cm_job *job, const char *what);

/** Parts of the page of `solve`, in the order they stand there. */
void cm_words_summary(cm_document *d, const cm_job *job);
void cm_words_infeasible(cm_document *d, const cm_job *job);
void cm_words_undetermined(cm_document *d, const cm_job *job);
void cm_words_mount(cm_document *d, const cm_job *job);
void cm_words_totals(cm_document *d, const cm_job *job);
void cm_words_angles(cm_document *d, const cm_case *c);
void cm_words_drift(cm_document *d, const cm_job *job);
void cm_words_judged(cm_document *d, const cm_job *job);
void cm_words_predicted(cm_document *d, const cm_job *job);
void cm_words_orbits(cm_document *d, const cm_job *job);
void cm_words_worth(cm_document *d, const cm_job *job);

/** The last run missed what was expected of it; "Do not mount anything yet: …", NULL when it did not. */
bool cm_last_run_missed(const cm_job *job);
const char *cm_last_run_words(cm_session *session, const cm_job *job);

/** "; most likely: … (97 %)" of a run that missed; "" without an explanation. */
const char *cm_likely_words(cm_session *session, const cm_job *job, const cm_run_test *test);

/** Orbits predicted over their limits; the worst that counts, in the summary. */
int cm_orbits_over(const cm_job *job);
bool cm_orbits_stand_within(const cm_job *job);
void cm_say_worst_orbit(cm_document *d, const cm_job *job, bool after);

void cm_words_trade_off(cm_document *d, const cm_job *job);
void cm_words_condition(cm_document *d, const cm_job *job);
/** A section of `planes`: parts that can be refitted in steps; nothing when there are none. */
void cm_words_turned(cm_document *d, const cm_job *job);

void cm_words_cautions(cm_document *d);

/** The matrices of `influence`, one table per speed. */
void cm_words_matrices(cm_document *d, const cm_job *job);

/** What `planes` says of sets: the best ones of each size, and what each further plane buys. */
void cm_words_sets(cm_document *d, const cm_job *job);

/** Parts of `tolerance`: permissible unbalance and what was reached. */
void cm_words_residual(cm_document *d, const cm_job *job);

/** A table for a run, or for every run, that the runs before it foretell. */
void cm_words_run(cm_document *d, const cm_job *job, int run);
void cm_words_runs(cm_document *d, const cm_job *job);

/** Signs for and against unbalance. */
void cm_words_survey(cm_document *d, const cm_job *job);

/** Resonances of the fitted sweeps. */
void cm_words_sweeps(cm_document *d, const cm_job *job);

/** Go or no-go: a table for each speed of the next run-up, or of the one going on. */
void cm_words_card(cm_document *d, const cm_job *job);
/** Its tables alone; `by_hand`: with room to write what was read. */
void cm_words_card_tables(cm_document *d, const cm_job *job, bool by_hand);

/** Findings, most severe first; `empty` stands when there are none. */
void cm_words_findings(cm_document *d, const cm_job *job, const char *title, const char *empty);

#endif
