/* SPDX-License-Identifier: MIT */
/**
 * @file sections.h
 * The functions behind rows of the key table that are more than plain values,
 * and the beginning and end of the entries of lists.
 */
#ifndef CASE_SECTIONS_H
#define CASE_SECTIONS_H

#include "case/reader.h"

/* case_parts.c: header, conventions, speeds, sensors, planes */
cm_read_value cm_read_format, cm_read_header, cm_read_rotation, cm_read_sensor_unit, cm_read_zero,
    cm_read_cap, cm_read_turn, cm_read_direction, cm_read_per_speed;
void *cm_begin_speed(cm_reader *, void *, const cm_node *);
void *cm_begin_sensor(cm_reader *, void *, const cm_node *);
void *cm_begin_plane(cm_reader *, void *, const cm_node *);
void cm_end_speed(cm_reader *, void *, const cm_node *, void *);
void cm_end_sensor(cm_reader *, void *, const cm_node *, void *);
void cm_end_plane(cm_reader *, void *, const cm_node *, void *);

/* turned_part.c: parts that can be refitted in steps */
cm_read_value cm_read_turns_by, cm_read_turned;

/* sites_part.c: positions, grooves, drilling, installed pieces */
cm_read_value cm_read_whole, cm_read_sites, cm_read_site_angles, cm_read_blocked_sites, cm_read_blocked_arcs,
    cm_read_mass_site;
void *cm_begin_piece(cm_reader *, void *, const cm_node *);
void *cm_begin_installed(cm_reader *, void *, const cm_node *);
void cm_end_installed(cm_reader *, void *, const cm_node *, void *);
cm_sites cm_no_sites(void);
void cm_check_sites(cm_reader *reader, const cm_plane *plane);

/* sets_part.c */
cm_read_value cm_read_ratios;
void *cm_begin_set(cm_reader *, void *, const cm_node *);
void cm_end_set(cm_reader *, void *, const cm_node *, void *);

/* pairs_part.c: probe pairs */
cm_read_value cm_read_pair_sensors, cm_read_pair_rows;
void *cm_begin_pair(cm_reader *, void *, const cm_node *);
void cm_end_pair(cm_reader *, void *, const cm_node *, void *);
void cm_number_orbits(cm_session *session, cm_case *c);

/* state_part.c: operating states */
cm_read_value cm_read_state_of, cm_read_speeds;

/* rotor_part.c: rotor, bearings, limits by a standard */
cm_read_value cm_read_grade, cm_read_zone;
void *cm_begin_bearing(cm_reader *, void *, const cm_node *);
void cm_end_bearing(cm_reader *, void *, const cm_node *, void *);
void *cm_begin_piece(cm_reader *, void *, const cm_node *);
void cm_apply_zone(cm_reader *reader);

/* runs_part.c: runs, masses, readings, now, slow_roll */
cm_read_value cm_read_now, cm_read_by_speed, cm_read_readings, cm_read_slow_roll, cm_read_run_slow_roll,
    cm_read_notes, cm_read_at, cm_read_runs;
void *cm_begin_run(cm_reader *, void *, const cm_node *);
void *cm_begin_mass(cm_reader *, void *, const cm_node *);
void cm_end_run(cm_reader *, void *, const cm_node *, void *);
void cm_end_mass(cm_reader *, void *, const cm_node *, void *);
void cm_add_mass(cm_session *, cm_mass_list *, cm_mass);

/* run_chain.c: runs told by what was added */
cm_read_value cm_read_phase_shift, cm_read_after, cm_read_sensors, cm_read_speed_list;
void cm_chain_runs(cm_reader *reader);
void cm_check_run(cm_reader *reader, const cm_node *node, cm_run *run);
void cm_leave_out_readings(cm_run *run);

/* survey_part.c */
cm_read_value cm_read_survey_size, cm_read_survey_once, cm_read_survey_bearing;
void *cm_begin_survey(cm_reader *, void *, const cm_node *);
void cm_end_survey(cm_reader *, void *, const cm_node *, void *);

/* sweep_part.c */
cm_read_value cm_read_sweep_table, cm_read_sweep_time;
void *cm_begin_sweep(cm_reader *, void *, const cm_node *);
void cm_end_sweep(cm_reader *, void *, const cm_node *, void *);

/* influence_part.c */
cm_read_value cm_read_entry_sensor, cm_read_uncertainty, cm_read_record_name;
const char *cm_triple_name(cm_session *session, int plane, int speed, int sensor);
void cm_file_known(cm_reader *reader, cm_known_entry *entry, const cm_node *node);
void *cm_begin_known(cm_reader *, void *, const cm_node *);
void cm_end_known(cm_reader *, void *, const cm_node *, void *);

/* objective_part.c */
cm_read_value cm_read_then, cm_read_second, cm_read_objective, cm_read_minimise, cm_read_within,
    cm_read_use_planes, cm_read_fixed, cm_read_terms, cm_read_equals, cm_read_drop_rows,
    cm_read_influence_error;
void *cm_begin_tie(cm_reader *, void *, const cm_node *);
void cm_end_tie(cm_reader *, void *, const cm_node *, void *);

/* record_read.c, record_match.c: earlier influence records */
cm_read_value cm_read_factor;
void cm_end_recorded(cm_reader *, void *, const cm_node *, void *);
void cm_end_covariance(cm_reader *, void *, const cm_node *, void *);
void cm_add_record(cm_reader *reader, const cm_known_entry *entry);
void cm_settle_records(cm_reader *reader);

/* expected_part.c */
cm_read_value cm_read_expected, cm_read_tolerance, cm_read_expected_value;

/* expected_units.c: after the whole case was read */
void cm_check_expected(cm_reader *reader);

/** Leaves with an error when the case is too large to be held in memory. */
void cm_check_sizes(cm_reader *reader);

/** Defaults of a case before anything is read, and its goal once the planes are known. */
void cm_start_case(cm_reader *reader);
void cm_start_goal(cm_reader *reader);

#endif
