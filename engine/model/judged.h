/* SPDX-License-Identifier: MIT */
/**
 * @file judged.h
 * What is compared with limits, alarms and trips: the reading without its slow roll, the reading as read, or the
 * overall level.
 *
 * A problem's readings are those that are judged. Results tell readings without slow roll.
 */
#ifndef MODEL_JUDGED_H
#define MODEL_JUDGED_H

#include "countermass/solve.h"

#include <complex.h>
#include <math.h>
#undef I

/** A reading of the problem without slow roll. */
static inline double complex cm_compensated(const cm_problem *p, int row, double complex reading)
{
    return p->offset ? reading - p->offset[row] : reading;
}

/** A reading without slow roll as the problem judges it. */
static inline double complex cm_judged(const cm_problem *p, int row, double complex compensated)
{
    return p->offset ? compensated + p->offset[row] : compensated;
}

/** True when the row's limit is one for the overall level. */
static inline int cm_judges_overall(const cm_problem *p, int row)
{
    return p->overall && p->overall[row];
}

/** True when what is not once per turn alone is over the row's overall limit: no masses bring it within. */
static inline int cm_has_no_room(const cm_problem *p, int row)
{
    return p->overall && p->overall[row] == 2;
}

/** The size that limits, alarms and trips are held against, from a reading of the problem: of an overall level, what
 *  is once per turn and what is not, added as powers. */
static inline double cm_judged_level(const cm_problem *p, int row, double complex reading)
{
    return cm_judges_overall(p, row) ? hypot(cabs(reading), p->rest[row]) : cabs(reading);
}

#endif
