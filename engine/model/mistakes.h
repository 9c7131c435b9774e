/* SPDX-License-Identifier: MIT */
/**
 * @file mistakes.h
 * Names and words of the mistakes that a run may hide.
 */
#ifndef MODEL_MISTAKES_H
#define MODEL_MISTAKES_H

#include "countermass/evidence.h"
#include "model/case.h"

/** "angle-mirrored". */
const char *cm_mistake_name(cm_mistake_kind kind);

/** "the mass on P1 sits at the mirrored angle". */
const char *cm_mistake_words(cm_session *session, const cm_case *given, const cm_mistake *mistake);

/** The same for a mistake or a pair of them, with the number that fits best. */
const char *cm_explanation_words(cm_session *session, const cm_case *given,
                                 const cm_explanation *explanation);

/** What to look at before the next start. */
const char *cm_mistake_look(cm_mistake_kind kind);

#endif
