/* SPDX-License-Identifier: MIT */
/**
 * @file scatter.h
 * Scatter of one reading, row by row, and where it comes from.
 */
#ifndef FIT_SCATTER_H
#define FIT_SCATTER_H

#include "fit/evidence.h"

typedef struct cm_scatter {
    double *value;             /* rows: sqrt(E|e|²) > 0 */
    cm_scatter_source *source; /* rows */
    double *dof;               /* rows: INFINITY declared, 0 assumed */
} cm_scatter;

cm_scatter cm_find_scatter(cm_session *session, const cm_evidence *evidence, const cm_groups *groups);

#endif
