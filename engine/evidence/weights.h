/* SPDX-License-Identifier: MIT */
/**
 * @file weights.h
 * Weights of readings: E|e|² of one reading is s²/w.
 */
#ifndef EVIDENCE_WEIGHTS_H
#define EVIDENCE_WEIGHTS_H

#include "countermass/influence.h"

/** Weight of a reading; 1 unless the case says otherwise. */
static inline double cm_weight_of(const cm_runs *runs, int row, int run)
{
    return runs->reading_weight ? runs->reading_weight[row + run * runs->rows] : 1;
}

#endif
