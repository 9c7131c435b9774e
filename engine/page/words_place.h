/* SPDX-License-Identifier: MIT */
/** @file words_place.h Parts of the page of `place`. */
#ifndef PAGE_WORDS_PLACE_H
#define PAGE_WORDS_PLACE_H

#include "countermass/place.h"
#include "page/words.h"

/** A section for every plane that may take pieces: its positions, and what goes where. */
void cm_words_fit_lists(cm_document *d, const cm_job *job);

/** What is best, how sure that is, and what it comes to. */
void cm_words_place_summary(cm_document *d, const cm_job *job);

/** Splitting and merging by hand; nothing when there is none. */
void cm_words_hand_work(cm_document *d, const cm_job *job);

/** "hole", "blade": what the case calls a position of this plane. */
const char *cm_site_word(const cm_case *c, int plane);

/** "2 x 20 + 50", "take out 50", "50 for 24", "drill 12.0 mm deep": masses in the case's unit. */
const char *cm_fit_words(cm_session *session, const cm_job *job, const cm_fit_entry *entry);

#endif
