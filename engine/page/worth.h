/* SPDX-License-Identifier: MIT */
/**
 * @file worth.h
 * What caps and limits are worth: derivatives of the objective's value, from
 * the multipliers of the proof, in the user's units. Negative: loosening helps.
 */
#ifndef PAGE_WORTH_H
#define PAGE_WORTH_H

#include "page/tree_common.h"

/** False: the proof of this answer carries no multipliers (`confidence`). */
bool cm_worth_is_told(const cm_job *job);

/** What may cap a plane: its total, the force of it, its change. */
typedef enum cm_cap_kind { CM_CAP_MASS, CM_CAP_FORCE, CM_CAP_CHANGE, CM_CAP_KINDS } cm_cap_kind;

/** Change of the value per unit of mass by which what this cap allows grows; NAN: the plane has none of the kind. */
double cm_worth_of_cap(const cm_job *job, int plane, cm_cap_kind kind);

/** Change of the value when the limit of the row grows by 1 %, by first order; NAN: no limit that counts. */
double cm_worth_of_limit(const cm_job *job, int row);

/** A gain as a change of the value: the objective falls by it; `confidence` rises. */
double cm_worth_signed(const cm_job *job, double gain);

/** Adds "sensitivities"; null when not told. */
void cm_tree_worth(cm_session *session, cm_node *tree, const cm_job *job);

#endif
