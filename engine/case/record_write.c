/* SPDX-License-Identifier: MIT */
/*
 * Writing influence records.
 *
 * Row i, plane j: the fit's error of the coefficient is line j of F_i times
 * standard normal numbers. A coefficient in the units of the case is
 *
 *     reading of one mass unit at the plane's own angle 0:  A·m·exp(i·zero) / unit
 *
 * (conjugated when phases are lags), and so is each entry of its line of F.
 * Before a record is handed out it is read back by the reader of records and
 * written again: the bytes must be the same.
 */
#include "case/arrays.h"
#include "case/record.h"

#include "base/constants.h"
#include "base/number.h"
#include "countermass/job.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

typedef struct writer {
    cm_session *session;
    const cm_case *c;
    const cm_influence *influence;
    cm_node *root;
} writer;

/* So small a share of an uncertainty is rounding of the fit, and nothing is written for it: correlations and shares of
 * variance are at most 1, and lose less than a hundredth of what double precision keeps of them (1.1e-16). */
static const double ROUNDING = 1e-18;

/* ---- what the record is of ---- */

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static void add_if_given(const writer *w, cm_node *map, const char *key, const char *text)
{
    if (text)
        cm_node_add_text(w->session, map, key, text);
}

static void add_origin(const writer *w)
{
    static const char *const kept[] = {"machine", "serial", "date"};
    cm_node_add_number(w->session, cm_node_add_map(w->session, w->root, "record"), "format", 1);
    cm_node *origin = cm_node_add_map(w->session, w->root, "origin");
    cm_node_add_text(w->session, origin, "title", w->c->title);
    for (size_t k = 0; k < sizeof kept / sizeof *kept; k++) {
        const cm_node *given = w->c->header ? cm_node_get(w->c->header, kept[k]) : NULL;
        add_if_given(w, origin, kept[k], given && given->kind == CM_TEXT ? given->text : NULL);
    }
    cm_node_add_text(w->session, origin, "file", base_name(w->c->file));
}

static void add_conventions(const writer *w)
{
    const cm_case *c = w->c;
    cm_node *map = cm_node_add_map(w->session, w->root, "conventions");
    cm_node_add_text(w->session, map, "phase", c->phase_lag ? "lag" : "lead");
    cm_node_add_text(w->session, map, "mass_angle",
                     c->against_rotation ? "against-rotation" : "with-rotation");
    add_if_given(w, map, "rotation",
                 c->rotation > 0   ? "counter-clockwise"
                 : c->rotation < 0 ? "clockwise"
                                   : NULL);
    add_if_given(w, map, "seen_from", c->seen_from);
    map = cm_node_add_map(w->session, w->root, "units");
    cm_node_add_text(w->session, map, "speed", c->speed_unit->name);
    cm_node_add_text(w->session, map, "mass", c->mass_unit->name);
    cm_node_add_text(w->session, map, "length", c->length_unit->name);
    cm_node_add_text(w->session, map, "vibration", c->vibration_unit->name);
}

/* ---- speeds, sensors, planes ---- */

static void add_number_if_given(const writer *w, cm_node *map, const char *key, double number)
{
    if (!isnan(number))
        cm_node_add_number(w->session, map, key, number);
}

static void add_speeds(const writer *w)
{
    cm_node *list = cm_node_add_list(w->session, w->root, "speeds");
    for (int k = 0; k < w->c->speed_count; k++) {
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        cm_node_add_text(w->session, map, "id", w->c->speeds[k].id);
        cm_node_add_number(w->session, map, "speed", w->c->speeds[k].omega / w->c->speed_unit->factor);
    }
}

static void add_sensors(const writer *w)
{
    static const char *const kinds[] = {NULL, "shaft-relative", "shaft-absolute", "housing"};
    cm_node *list = cm_node_add_list(w->session, w->root, "sensors");
    for (int s = 0; s < w->c->sensor_count; s++) {
        const cm_sensor *sensor = &w->c->sensors[s];
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        cm_node_add_text(w->session, map, "id", sensor->id);
        cm_node_add_text(w->session, map, "unit", sensor->unit->name);
        add_number_if_given(w, map, "angle", sensor->angle * (180 / CM_PI));
        add_if_given(w, map, "kind", kinds[sensor->kind]);
    }
}

static void add_planes(const writer *w)
{
    cm_node *list = cm_node_add_list(w->session, w->root, "planes");
    for (int j = 0; j < w->c->plane_count; j++) {
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        cm_node_add_text(w->session, map, "id", w->c->planes[j].id);
        add_number_if_given(w, map, "radius", w->c->planes[j].radius / w->c->length_unit->factor);
        cm_node_add_number(w->session, map, "zero",
                           cm_mass_angle_to_user(w->c, -1, cm_mass_from_user(w->c, j, 1, 0)));
    }
}

static void add_sets(const writer *w)
{
    if (w->c->set_count == 0)
        return;
    cm_node *list = cm_node_add_list(w->session, w->root, "sets");
    for (int s = 0; s < w->c->set_count; s++) {
        const cm_bundle *set = &w->c->sets[s];
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        cm_node_add_text(w->session, map, "id", set->id);
        cm_node *of = cm_node_add_map(w->session, map, "of");
        for (int t = 0; t < set->count; t++) {
            char size[32], angle[32];
            cm_number_round_trip(cabs(set->terms[t].factor), size);
            cm_number_round_trip(cm_mass_angle_to_user(w->c, -1, set->terms[t].factor), angle);
            cm_node_add_text(w->session, of, w->c->planes[set->terms[t].plane].id,
                             cm_format(w->session, "%s @ %s", size, angle));
        }
    }
}

static void add_left_on(const writer *w)
{
    double complex *total = CM_NEW(w->session, w->c->plane_count, double complex);
    cm_node *list = cm_node_add_list(w->session, w->root, "left_on");
    cm_total(w->c, cm_mass_zero_of(w->c), cm_now_masses(w->c), false, total, 1);
    for (int j = 0; j < w->c->plane_count; j++) {
        if (cabs(total[j]) <= 0)
            continue;
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        cm_node_add_text(w->session, map, "plane", w->c->planes[j].id);
        cm_node_add_number(w->session, map, "mass", cabs(total[j]) / w->c->mass_unit->factor);
        cm_node_add_number(w->session, map, "angle", cm_mass_angle_to_user(w->c, j, total[j]));
    }
}

/* ---- coefficients ---- */

static int root_of(const writer *w, int row)
{
    return w->c->speeds[w->c->row_speed[row]].root;
}

/* The coefficients of an operating state are those of its speed: an earlier row may have told them. */
static bool is_told(const writer *w, int row)
{
    for (int i = 0; i < row; i++)
        if (w->c->row_sensor[i] == w->c->row_sensor[row] && root_of(w, i) == root_of(w, row))
            return true;
    return false;
}

static double unit_of(const writer *w, int row)
{
    return w->c->sensors[w->c->row_sensor[row]].unit->factor;
}

/* "size @ degrees" of a reading per kg in the frame. */
static const char *phasor(const writer *w, int row, int plane, double complex per_kg) /* plane -1: of a set */
{
    double complex reading = per_kg * cm_mass_from_user(w->c, plane, w->c->mass_unit->factor, 0);
    char size[32], angle[32];
    cm_number_round_trip(cabs(reading) / unit_of(w, row), size);
    cm_number_round_trip(cm_phase_to_user(w->c, reading), angle);
    return cm_format(w->session, "%s @ %s", size, angle);
}

static void add_row(const writer *w, cm_node *map, int row)
{
    cm_node_add_text(w->session, map, "speed", w->c->speeds[root_of(w, row)].id);
    cm_node_add_text(w->session, map, "sensor", w->c->sensors[w->c->row_sensor[row]].id);
}

static void add_coefficient(const writer *w, cm_node *list, int row, int plane)
{
    int at = row + plane * w->influence->rows;
    double std = w->influence->std[at] * w->c->mass_unit->factor / unit_of(w, row);
    cm_node *map = cm_node_add_map(w->session, list, NULL);
    cm_node_add_text(w->session, map, "plane", w->c->planes[plane].id);
    add_row(w, map, row);
    cm_node_add_text(w->session, map, "value", phasor(w, row, plane, w->influence->a[at]));
    if (!(std > 0)) {
        cm_node_add_boolean(w->session, map, "exact", true);
        return;
    }
    cm_node_add_number(w->session, map, "uncertainty", std);
    if (w->influence->common[at] > ROUNDING)
        cm_node_add_number(w->session, map, "common", w->influence->common[at]);
    if (!w->influence->std_known[at])
        cm_node_add_boolean(w->session, map, "assumed", true);
}

static void add_set(const writer *w, cm_node *list, int row, int set)
{
    size_t at = (size_t)row + (size_t)set * (size_t)w->influence->rows;
    double std = w->influence->set_std[at] * w->c->mass_unit->factor / unit_of(w, row);
    cm_node *map = cm_node_add_map(w->session, list, NULL);
    cm_node_add_text(w->session, map, "plane", w->c->sets[set].id);
    add_row(w, map, row);
    cm_node_add_text(w->session, map, "value", phasor(w, row, -1, w->influence->set_a[at]));
    if (!(std > 0)) {
        cm_node_add_boolean(w->session, map, "exact", true);
        return;
    }
    cm_node_add_number(w->session, map, "uncertainty", std);
    if (!w->influence->set_std_known[at])
        cm_node_add_boolean(w->session, map, "assumed", true);
}

/* Sets are told where their planes are not, too. */
static int add_set_coefficients(const writer *w, cm_node *list)
{
    int count = 0;
    for (int i = 0; i < w->influence->rows; i++)
        for (int s = 0; !is_told(w, i) && s < w->influence->set_count; s++)
            if (w->influence->set_determined[i + s * w->influence->rows]) {
                add_set(w, list, i, s);
                count++;
            }
    return count;
}

static int add_coefficients(const writer *w)
{
    int count = 0;
    cm_node *list = cm_node_add_list(w->session, w->root, "coefficients");
    for (int i = 0; i < w->influence->rows; i++)
        for (int j = 0; !is_told(w, i) && j < w->influence->planes; j++)
            if (w->influence->determined[i + j * w->influence->rows]) {
                add_coefficient(w, list, i, j);
                count++;
            }
    return count + add_set_coefficients(w, list);
}

/* ---- covariance ---- */

/* A line of the factor, rounding as 0, up to its last entry that is not. */
static void add_line(const writer *w, cm_node *factor, int row, int plane)
{
    size_t lines = (size_t)w->influence->planes + 1;
    const cm_complex *line = w->influence->factor + (size_t)row * lines * lines + (size_t)plane + 1;
    double rounding = ROUNDING * w->influence->std[row + plane * w->influence->rows];
    size_t used = lines;
    while (used > 0 && cabs(line[(used - 1) * lines]) <= rounding)
        used--;
    cm_node *list = cm_node_add_list(w->session, factor, w->c->planes[plane].id);
    for (size_t q = 0; q < used; q++) {
        cm_complex entry = line[q * lines];
        cm_node_add_text(w->session, list, NULL, phasor(w, row, plane, cabs(entry) <= rounding ? 0 : entry));
    }
}

static void add_covariance(const writer *w)
{
    cm_node *list = cm_node_add_list(w->session, w->root, "covariance");
    for (int i = 0; i < w->influence->rows; i++) {
        if (is_told(w, i))
            continue;
        cm_node *map = cm_node_add_map(w->session, list, NULL);
        add_row(w, map, i);
        cm_node *factor = cm_node_add_map(w->session, map, "factor");
        for (int j = 0; j < w->influence->planes; j++)
            if (w->influence->determined[i + j * w->influence->rows] &&
                w->influence->std[i + j * w->influence->rows] > 0)
                add_line(w, factor, i, j);
    }
}

/* ---- reading back ---- */

/* A tree that was read, with plain numbers and booleans as results have them. */
static void copy_typed(cm_session *session, const cm_node *from, cm_node *to)
{
    for (const cm_node *child = from->first; child; child = child->next) {
        double number;
        const char *end =
            child->kind == CM_TEXT && !child->quoted ? cm_number_read(child->text, &number) : NULL;
        if (child->kind == CM_MAP)
            copy_typed(session, child, cm_node_add_map(session, to, child->key));
        else if (child->kind == CM_LIST)
            copy_typed(session, child, cm_node_add_list(session, to, child->key));
        else if (end && !*end)
            cm_node_add_number(session, to, child->key, number);
        else if (!child->quoted && !strcmp(child->text, "true"))
            cm_node_add_boolean(session, to, child->key, true);
        else
            cm_node_add_text(session, to, child->key, child->text);
    }
}

static void read_back(cm_session *session, const char *yaml)
{
    cm_reader *reader = CM_NEW(session, 1, cm_reader);
    reader->session = session;
    cm_node *again = cm_node_map(session);
    if (cm_read_record(reader, "the record", yaml, strlen(yaml)))
        copy_typed(session, cm_yaml_read(session, "the record", yaml, strlen(yaml)), again);
    if (reader->errors.count)
        cm_fail(session, CM_NUMERICS, "the record could not be read back: %s", reader->errors.items[0].text);
    if (strcmp(cm_yaml_write(session, again), yaml) != 0)
        cm_fail(session, CM_NUMERICS, "the record did not read back the same");
}

cm_status cm_record(cm_session *session, const cm_job *theirs, const char **yaml)
{
    static const cm_job_call CALL = {"cm_record", CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    writer w = {session, job->given, job->influence, cm_node_map(session)};
    add_origin(&w);
    add_conventions(&w);
    add_speeds(&w);
    add_sensors(&w);
    add_planes(&w);
    add_sets(&w);
    add_left_on(&w);
    if (add_coefficients(&w) == 0) {
        cm_place whole = {job->given->file, 1, 1};
        cm_report(session, CM_ERROR, &whole,
                  "the runs determine no coefficient by itself: there is nothing to record");
        cm_fail_on_errors(session);
    }
    add_covariance(&w);
    const char *text = cm_yaml_write(session, w.root);
    read_back(session, text);
    *yaml = text;
    return cm_leave(session);
}
