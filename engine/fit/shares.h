/* SPDX-License-Identifier: MIT */
/**
 * @file shares.h
 * What of a coefficient's error the other rows of its plane and block share, in the form of a prior.
 */
#ifndef FIT_SHARES_H
#define FIT_SHARES_H

#include "base/session.h"
#include "countermass/influence.h"

/** rows × planes: share of the variance of e/A that the rows of one plane and block have together, 0..1. */
const double *cm_common_shares(cm_session *session, const int *block, const cm_influence *influence);

#endif
