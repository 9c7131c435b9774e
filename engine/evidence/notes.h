/* SPDX-License-Identifier: MIT */
/**
 * @file notes.h
 * Collecting findings, and the words and numbers that they share.
 */
#ifndef EVIDENCE_NOTES_H
#define EVIDENCE_NOTES_H

#include "base/session.h"
#include "countermass/evidence.h"
#include "model/case.h"

typedef struct cm_notes {
    cm_session *session;
    const cm_job *job;
    int count, room;
    cm_finding *items;
    const struct cm_step
        *steps; /* steps.h: what each run changed, one entry a run; NULL: no readings as arrays */
} cm_notes;

/** Where a finding belongs; -1: no such place. */
typedef struct cm_where {
    int run, speed, sensor, plane;
} cm_where;

#define CM_NOWHERE ((cm_where){-1, -1, -1, -1})

/** Adds one finding. `code` must be a constant. */
void cm_note(cm_notes *notes, const char *code, cm_severity severity, cm_where where, const char *format, ...)
    CM_PRINTF(5, 6);

/** The places of a reading, and of a plane. */
cm_where cm_at_row(const cm_notes *notes, int row);
cm_where cm_at_plane(int plane);

/** "DE-x at service" for a row. */
const char *cm_row_name(const cm_notes *notes, int row);

/** "62.5 um pp": the size of a reading of this row in its sensor's unit. */
const char *cm_row_size(const cm_notes *notes, int row, double size);

/** "12.5 g" in the case's mass unit. */
const char *cm_mass_size(const cm_notes *notes, double kilograms);

/** Three significant digits. */
const char *cm_three_digits(cm_session *session, double value);

/** Five significant digits, for speeds. */
const char *cm_five_digits(cm_session *session, double value);

/** Scatter of one reading that does not rest on the fit: declared, else 3 % of the mean amplitude + a floor. */
double cm_independent_scatter(const cm_notes *notes, int row);

/** "P1", "P1 and P2", "P1, P2 and P3": the planes with a mark. */
const char *cm_plane_names(const cm_notes *notes, const unsigned char *marked);

/** The largest total mass (kg) a plane may carry, by mass and by force at overspeed. */
double cm_carries(const cm_case *given, const cm_plane *plane);

/** One question put to a job; adds findings if the job holds what it needs. */
typedef void cm_question(cm_notes *notes);

cm_question cm_ask_undetermined;
cm_question cm_ask_proof;
cm_question cm_ask_conditioning;
cm_question cm_ask_resonance;
cm_question cm_ask_dependence;
cm_question cm_ask_readings;
cm_question cm_ask_base;
cm_question cm_ask_scatter;
cm_question cm_ask_priors;
cm_question cm_ask_visibility;
cm_question cm_ask_trial_size;
cm_question cm_ask_caps;
cm_question cm_ask_sizes;
cm_question cm_ask_unread;
cm_question cm_ask_phases;
cm_question cm_ask_overall;
cm_question cm_ask_run_masses;
cm_question cm_ask_mounted;
cm_question cm_ask_retraced;
cm_question cm_ask_slip;
cm_question cm_ask_survey;
cm_question cm_ask_critical;
cm_question cm_ask_margins;
cm_question cm_ask_sweep_rate;
cm_question cm_ask_trial_response;
cm_question cm_ask_trial_danger;
cm_question cm_ask_repeats;
cm_question cm_ask_slopes;
cm_question cm_ask_speeds_held;
cm_question cm_ask_loads_held;
cm_question cm_ask_settled;
cm_question cm_ask_misfit;
cm_question cm_ask_worse;
cm_question cm_ask_slow_roll;
cm_question cm_ask_blind_sensors;
cm_question cm_ask_staying;
cm_question cm_ask_card;
cm_question cm_ask_left_out;
cm_question cm_ask_drift_times;
cm_question cm_ask_order_in_time;

#endif
