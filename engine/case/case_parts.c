/* SPDX-License-Identifier: MIT */
/* Header, conventions, speeds, sensors and planes. */
#include "case/refer.h"
#include "base/constants.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>
#include <string.h>

enum { MOST_ROWS = 100000, MOST_PLANES = 2000, MOST_RUNS = 10000 };

static const double MOST_CELLS = 2e7; /* numbers in the largest array that a case may ask for */

/* ---- defaults ---- */

static double *filled(cm_session *session, int count, double value)
{
    double *list = CM_NEW(session, count, double);
    for (int i = 0; i < count; i++)
        list[i] = value;
    return list;
}

void cm_start_case(cm_reader *reader)
{
    cm_case *c = reader->c;
    c->speed_unit = cm_unit_find("rpm");
    c->mass_unit = cm_unit_find("g");
    c->length_unit = cm_unit_find("mm");
    c->vibration_unit = cm_unit_find("um pp");
    c->service_speed = c->overspeed = NAN;
    c->rotor.mass = c->rotor.grade = c->rotor.mass_centre = NAN;
    c->rotor.first_resonance = c->rotor.amplification = NAN;
    c->goal.influence_error = NAN;
    c->goal.base_run = -1;
}

static int entries(const cm_reader *reader, const char *key)
{
    const cm_node *node = cm_node_get(reader->root, key);
    return node && node->kind == CM_LIST ? node->count : 0;
}

/* Arrays are speeds × sensors, rows × planes, rows × runs: these are bounded before memory is asked for. */
void cm_check_sizes(cm_reader *reader)
{
    double speeds = entries(reader, "speeds"), rows = speeds * entries(reader, "sensors");
    double planes = entries(reader, "planes"), runs = entries(reader, "runs");
    bool fits = rows <= MOST_ROWS && planes <= MOST_PLANES && runs <= MOST_RUNS &&
                fmax(fmax(rows, runs) * planes, fmax(rows, speeds) * runs) <= MOST_CELLS;
    if (fits)
        return;
    cm_wrong(reader, &reader->root->place,
             "the case is too large: at most %d readings (sensors times speeds), %d planes and %d runs",
             MOST_ROWS, MOST_PLANES, MOST_RUNS);
    cm_errors_fail(reader->session, &reader->errors);
}

/* ---- case, conventions ---- */

void cm_read_format(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    (void)record;
    const char *text = cm_scalar(reader, node, "the number of the format, 1,");
    if (text && strcmp(text, "1") != 0)
        cm_wrong(reader, &node->place, "this program reads format 1, not '%s'", text);
}

void cm_read_header(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    if (node->kind == CM_MAP)
        reader->c->header = node;
    cm_read_map(reader, key, node, record);
}

void cm_read_rotation(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    int found = -1;
    cm_key choice = *key;
    choice.offset = 0;
    cm_read_choice(reader, &choice, node, &found);
    reader->c->rotation = found < 0 ? 0 : found ? 1 : -1;
}

void cm_read_direction(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int found = 0;
    cm_key choice = *key;
    choice.offset = 0;
    cm_read_choice(reader, &choice, node, &found);
    *(bool *)cm_slot(key, record) = found == 1;
}

/* ---- speeds ---- */

void *cm_begin_speed(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->speeds = cm_grow(reader->session, c->speeds, c->speed_count, &c->speed_room, sizeof *c->speeds);
    cm_speed *speed = &c->speeds[c->speed_count++];
    *speed =
        (cm_speed){.place = node->place, .omega = NAN, .weight = 1, .load = NAN, .root = c->speed_count - 1};
    return speed;
}

void cm_end_speed(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const cm_speed *speed = record;
    if (speed->id && !strcmp(speed->id, "csv"))
        cm_wrong(reader, &cm_node_get(node, "id")->place,
                 "the speed id 'csv' is reserved; choose another name");
    cm_file_id(reader, &reader->speeds, "speed", speed->id, reader->c->speed_count - 1, node);
}

/* ---- sensors ---- */

void *cm_begin_sensor(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    int speeds = c->speed_count;
    c->sensors = cm_grow(reader->session, c->sensors, c->sensor_count, &c->sensor_room, sizeof *c->sensors);
    cm_sensor *sensor = &c->sensors[c->sensor_count++];
    *sensor = (cm_sensor){.place = node->place, .position = NAN, .angle = NAN, .unit = c->vibration_unit};
    sensor->limit = filled(reader->session, speeds, INFINITY);
    sensor->weight = filled(reader->session, speeds, 1);
    sensor->alarm = filled(reader->session, speeds, INFINITY);
    sensor->trip = filled(reader->session, speeds, INFINITY);
    sensor->repeatability = filled(reader->session, speeds, NAN);
    reader->unit = sensor->unit;
    return sensor;
}

void cm_read_sensor_unit(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_unit(reader, key, node, record);
    reader->unit = ((cm_sensor *)record)->unit;
}

void cm_end_sensor(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const cm_sensor *sensor = record;
    if (sensor->limit_is == CM_LIMIT_OVERALL && sensor->judge == CM_JUDGE_COMPENSATED)
        cm_wrong(reader, &cm_node_get(node, "judge")->place,
                 "an overall level cannot be compensated for slow roll; with limit_is: overall leave 'judge' "
                 "out or "
                 "write as-read");
    cm_file_id(reader, &reader->sensors, "sensor", sensor->id, reader->c->sensor_count - 1, node);
    reader->unit = NULL;
}

void cm_read_turn(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double degrees;
    if (cm_number_of(reader, key->name, CM_MEASURE_DEGREES, CM_ANY_VALUE, node, &degrees))
        *(double *)cm_slot(key, record) = fmod(degrees, 360) * (CM_PI / 180);
}

void cm_read_per_speed(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double *list = *(double **)cm_slot(key, record);
    double value;
    if (node->kind == CM_MAP)
        cm_read_by_speed(reader, key, node, record);
    else if (cm_number_of(reader, key->name, key->measure, key->range, node, &value))
        for (int k = 0; k < reader->c->speed_count; k++)
            list[k] = value;
}

void cm_read_by_speed(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double *list = *(double **)cm_slot(key, record);
    if (!cm_need_map(reader, node, key->name))
        return;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        double value;
        int speed = cm_refer_key(reader, &reader->speeds, "speed", entry);
        if (cm_number_of(reader, key->name, key->measure, key->range, entry, &value) && speed >= 0)
            list[speed] = value;
    }
}

/* ---- planes ---- */

void *cm_begin_plane(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->planes = cm_grow(reader->session, c->planes, c->plane_count, &c->plane_room, sizeof *c->planes);
    cm_plane *plane = &c->planes[c->plane_count++];
    *plane =
        (cm_plane){.place = node->place,
                   .position = NAN,
                   .radius = NAN,
                   .cap = INFINITY,
                   .cap_force = INFINITY,
                   .change_cap = INFINITY,
                   .cap_place = node->place,
                   .sites = cm_no_sites(),
                   .groove = {.piece_length = NAN, .radius = NAN},
                   .drill = {.diameter = NAN, .density = NAN, .deepest = NAN, .point = 118, .step = 1e-3}};
    return plane;
}

void cm_end_plane(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const cm_node *action = cm_node_get(node, "action");
    ((cm_plane *)record)->action_place = action ? action->place : node->place;
    cm_check_sites(reader, record);
    cm_file_id(reader, &reader->planes, "plane", ((cm_plane *)record)->id, reader->c->plane_count - 1, node);
}

void cm_read_zero(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_turn(reader, key, node, record);
    double *zero = cm_slot(key, record);
    *zero = reader->c->against_rotation ? -*zero : *zero;
}

void cm_read_cap(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    ((cm_plane *)record)->cap_place = node->place;
    cm_read_number(reader, key, node, record);
}
