/* SPDX-License-Identifier: MIT */
/**
 * @file inner.h
 * Masses as deep inside limits and discs as possible, and the way from masses a rounding outside to masses inside.
 */
#ifndef OPTIMISE_INNER_H
#define OPTIMISE_INNER_H

#include "optimise/presolve.h"

/** Least common factor on all limits that bind and all discs: masses x, value, proven bound. NULL without any. */
const cm_answer *cm_inner_point(cm_session *session, const cm_presolved *pre);

/** For discs, ties and held planes that exclude each other: names the planes whose discs hold up the least factor on all
 *  radii; changes nothing when that factor is not proven to be over 1. */
void cm_conflict_of_caps(cm_session *session, const cm_presolved *pre, cm_answer *answer);

/** x := x + θ (inner - x) with the least θ that meets every limit and disc. */
void cm_move_inside(const cm_presolved *pre, const cm_answer *inner, double complex *x);

/** u (n) of masses x that meet ties and stand where they must. */
void cm_unknowns_of(const cm_presolved *pre, const double complex *x, double complex *u);

#endif
