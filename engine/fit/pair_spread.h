/* SPDX-License-Identifier: MIT */
/** @file pair_spread.h What the parts of pairs of rows spread by. */
#ifndef FIT_PAIR_SPREAD_H
#define FIT_PAIR_SPREAD_H

#include "base/session.h"
#include "countermass/influence.h"
#include "countermass/solve.h"

/** Gives the problem a list of pairs whose `spread` is filled in from the influence. */
void cm_put_pair_spreads(cm_session *session, const cm_influence *influence, cm_problem *problem);

#endif
