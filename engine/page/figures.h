/* SPDX-License-Identifier: MIT */
/**
 * @file figures.h
 * What is drawn of a job. Every function returns a drawing, or NULL when the
 * job does not have what it shows.
 */
#ifndef PAGE_FIGURES_H
#define PAGE_FIGURES_H

#include "page/draw.h"
#include "page/values.h"

/** A plane as one stands before it: the mark on top, angles as the plane counts them, what is on it (`on`), and the mass
 *  to mount. */
const cm_drawing *cm_figure_mount(cm_session *session, const cm_job *job, int plane, double complex on,
                                  double complex mount);

/** Direction of rotation, view, reference mark and the way angles and phases count. */
const cm_drawing *cm_figure_angles(cm_session *session, const cm_case *c);
const cm_drawing *cm_figure_phase(cm_session *session, const cm_case *c);

/** One reading over all runs as vectors, with repeats, prediction and limit. */
const cm_drawing *cm_figure_reading(cm_session *session, const cm_job *job, int row);
const cm_drawing *cm_figure_reading_key(cm_session *session, const cm_job *job);

/** Readings at a speed before and after, against their limits. */
const cm_drawing *cm_figure_limits(cm_session *session, const cm_job *job, int speed);

/** The machine from the side: bearings, planes and sensors at their places. */
const cm_drawing *cm_figure_machine(cm_session *session, const cm_job *job);

/** Size and phase of the influence at a speed. */
const cm_drawing *cm_figure_influence(cm_session *session, const cm_job *job, int speed);

/** Value against number of planes, and largest ratio against total mass. */
const cm_drawing *cm_figure_sets(cm_session *session, const cm_job *job);
const cm_drawing *cm_figure_trade_off(cm_session *session, const cm_job *job);

/** A sweep of one sensor: amplitude and phase over speed, with the resonances told by all its sensors. */
const cm_drawing *cm_figure_sweep(cm_session *session, const cm_job *job, int sweep, int sensor);

/** Worst reading of every run, predicted and measured. */
const cm_drawing *cm_figure_runs(cm_session *session, const cm_job *job);

/** Trial masses between visible and safe; residual unbalance against the permissible one. */
const cm_drawing *cm_figure_trials(cm_session *session, const cm_job *job);
const cm_drawing *cm_figure_tolerance(cm_session *session, const cm_job *job);

/** Positions of a plane and what goes where; of all planes that have something to handle. */
const cm_drawing *cm_figure_positions(cm_session *session, const cm_job *job, int plane);
const cm_drawing *cm_figure_placements(cm_session *session, const cm_job *job);

#endif
