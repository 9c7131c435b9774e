/* SPDX-License-Identifier: MIT */
/**
 * @file weigh.h
 * One set of planes solved from scratch.
 */
#ifndef PLANES_WEIGH_H
#define PLANES_WEIGH_H

#include "countermass/planes.h"
#include "planes/shortlist.h"

#include <complex.h>
#undef I

/** The planes that sets are drawn from, and what every set has in common. */
typedef struct cm_choice {
    const cm_problem *problem;
    const cm_influence *influence; /* NULL: none */
    const cm_case *given;          /* NULL: none; units of rows whose limits count as 1 */
    bool told;                     /* nothing is left open by the runs */
    int count;
    int plane[CM_SET_PLANES]; /* which plane each bit of a set is, or planes + number of a set of the case */
    const double complex
        *column[CM_SET_PLANES]; /* planes: masses of one unit of it; NULL: the plane itself */
    int parts;                  /* planes and sets of the case */
    cm_set must;
    int at_most;
    double scale; /* values below 1e-12 of this are zero */
} cm_choice;

/** Checks the question against the problem (CM_BAD_INPUT). */
cm_choice cm_choose(cm_session *session, const cm_job *job, const cm_plane_question *question);

/** The problem with the planes outside the set at what is on the rotor now. */
cm_problem cm_set_problem(cm_session *session, const cm_choice *choice, cm_set set);

/** Solves it; `rows` (NULL: not wanted) receives the share of each row in the proof, sum 1, or zeros. */
cm_plane_set cm_weigh_set(cm_session *session, const cm_choice *choice, cm_set set, double *rows);

int cm_set_size(cm_set set);

/** `ratio`, of the readings r to their limits; where none that counts has a limit (NaN), limits count as 1 of the unit. */
double cm_choice_ratio(const cm_choice *choice, const cm_problem *p, double ratio, const cm_complex *r);

/** What one unit of bit t does to a row. */
double complex cm_choice_effect(const cm_choice *choice, int row, int t);

#endif
