/* SPDX-License-Identifier: MIT */
/** @file counts.h Which rows an answer rests on, and the sizes of pairs of rows. */
#ifndef MODEL_COUNTS_H
#define MODEL_COUNTS_H

#include "countermass/solve.h"

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#undef I

/** True for a row that counts by itself or in a pair: the runs must tell it. */
static inline bool cm_row_is_needed(const cm_problem *p, int row)
{
    if (p->weight[row] > 0)
        return true;
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0 && (p->pairs[k].forward == row || p->pairs[k].backward == row))
            return true;
    return false;
}

/** True for a pair that counts and has a limit. */
static inline bool cm_pair_is_judged(const cm_pair *pair)
{
    return pair->weight > 0 && isfinite(pair->limit);
}

/** Number of parts of a pair, a part at the readings r of all rows, and the sum of their moduli. */
static inline int cm_pair_part_count(const cm_pair *pair)
{
    return pair->parts ? pair->parts : pair->backward < 0 ? 1 : 2;
}

static inline double complex cm_pair_part_at(const cm_pair *pair, int part, const double complex *r)
{
    if (!pair->parts)
        return r[part == 0 ? pair->forward : pair->backward];
    return pair->mix[2 * part] * r[pair->forward] + pair->mix[2 * part + 1] * r[pair->backward];
}

static inline double cm_pair_size_at(const cm_pair *pair, const double complex *r)
{
    double size = 0;
    for (int k = 0; k < cm_pair_part_count(pair); k++)
        size += cabs(cm_pair_part_at(pair, k, r));
    return size;
}

#endif
