/* SPDX-License-Identifier: MIT */
/**
 * @file arrays.h
 * What the two ways from a case to arrays share.
 */
#ifndef CASE_ARRAYS_H
#define CASE_ARRAYS_H

#include "model/case.h"
#include "model/sites.h"
#include "model/units.h"

/** Masses below this are nothing: 1e-9 of the largest mass that the case names (runs, now, fixed, ties). */
double cm_mass_zero_of(const cm_case *c);

/** Sum per plane of the masses of a list (or of those that stay), below `zero` set to exactly 0; `stride`
 * between planes. */
void cm_total(const cm_case *c, double zero, const cm_mass_list *list, bool staying_only,
              double complex *total, int stride);

/** Masses in the base state, and on the rotor now. */
const cm_mass_list *cm_base_masses(const cm_case *c);
const cm_mass_list *cm_now_masses(const cm_case *c);

/** Discs that bind the planes that are not held: caps, forces, changes, masses that stay. */
int cm_case_discs(cm_session *session, const cm_case *c, const unsigned char *held, const cm_complex *now,
                  const cm_disc **discs);

/** True for a plane that the objective moves neither by itself nor with a set. */
bool cm_plane_is_held(const cm_case *c, int plane);

/** The rows that probe pairs make; returns whether any of them counts (it has a limit). */
bool cm_put_pairs(cm_session *session, const cm_case *c, cm_problem *p);

/** Adds the ties that keep planes of sets in their ratios (the problem's ties and held values are there already). */
void cm_tie_sets(cm_session *session, const cm_case *c, cm_problem *p);

/** Columns of the condition when sets are in use; nothing otherwise. */
void cm_put_columns(cm_session *session, const cm_case *c, cm_problem *p);

/** First row of a sensor whose coefficients belong to this speed (in any of its states), or -1. */
int cm_first_row(const cm_case *c, int sensor, int speed);

/** Parts that were turned: their runs leave the fit and keep their readings for themselves. */
void cm_put_turned(cm_session *session, const cm_case *c, int *repeats, cm_runs *runs);

/** Known coefficients of planes and of sets, with the bases in which the latter are coordinates. */
void cm_put_known(cm_session *session, const cm_case *c, cm_runs *runs);

/** What one unit of each set puts on the planes. */
void cm_put_sets(cm_session *session, const cm_case *c, cm_runs *runs);

/** Rows that share coefficients; nothing when there are no operating states. */
void cm_put_states(cm_session *session, const cm_case *c, cm_runs *runs);

/** Index of a position from its number (-1: none). */
int cm_site_index(const cm_sites *sites, int number);

/** Levels of groups of runs and of drift, counted from the last run; nothing when there are none. */
void cm_put_levels(cm_session *session, const cm_case *c, cm_runs *runs);

/** Estimates phase shifts that are unknown and turns the readings (rows × runs) of their runs back; where that cannot
 *  be done, takes them away. Masses, readings and levels of `runs` are there already. */
void cm_put_phases(cm_session *session, const cm_case *c, cm_complex *readings, int *repeats, cm_runs *runs);

/** Weights W_i (0: not counted) and limits (INFINITY: none) of the rows; reports what misses. Returns whether
 * any counted row has a limit. */
bool cm_case_weights(cm_session *session, const cm_case *c, double *weight, double *limit);

/** Level of a row that is not once per turn: mean over the runs in the base state that read an overall level, else
 *  over all that did; NAN: none did. */
double cm_rest_of(const cm_case *c, int row);

/** The row's limit for its once-per-turn part; INFINITY: none. Reports an overall limit without an overall reading
 *  when the row counts. Where the rest alone is over the limit, the limit as it stands. */
double cm_limit_of_row(cm_session *session, const cm_case *c, int row, bool counted);

/** True when what is not once per turn alone is over the row's overall limit. */
bool cm_leaves_no_room(const cm_case *c, int row);

/** What limits are held against: adds slow roll again to rows judged as read, and tells overall levels. */
void cm_put_judged(cm_session *session, const cm_case *c, cm_problem *p);

#endif
