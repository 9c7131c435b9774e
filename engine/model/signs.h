/* SPDX-License-Identifier: MIT */
/** @file signs.h Names, words and thresholds of the signs of a survey. */
#ifndef MODEL_SIGNS_H
#define MODEL_SIGNS_H

#include "countermass/evidence.h"

typedef struct cm_sign_row {
    const char *name;           /* in results */
    const char *words;          /* on pages */
    double good_low, good_high; /* within: speaks for unbalance */
    double bad_low, bad_high;   /* outside: speaks against it */
    const char *points_to;      /* what a value outside may mean */
} cm_sign_row;

extern const cm_sign_row CM_SIGNS[CM_SIGN_COUNT];

#endif
