/* SPDX-License-Identifier: MIT */
/* Runs, the masses in them and the readings; `now`; slow roll. */
#include "case/arrays.h"
#include "case/csv.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"
#include "model/moment.h"

#include <math.h>
#include <string.h>

/* ---- masses ---- */

void *cm_begin_mass(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    (void)node;
    cm_mass_entry *entry = &reader->mass;
    *entry = (cm_mass_entry){.plane = -1, .mass = NAN, .angle = NAN, .radius = NAN};
    return entry;
}

/* m·r/R: the mass at the plane's radius that has the same unbalance. */
static double reduced(cm_reader *reader, const cm_mass_entry *entry, const cm_node *node)
{
    if (isnan(entry->radius))
        return entry->mass;
    const cm_plane *plane = &reader->c->planes[entry->plane];
    if (isnan(plane->radius)) {
        cm_wrong(reader, &cm_node_get(node, "radius")->place,
                 "this mass has a radius of its own, but the plane '%s' has none to reduce it to; give the "
                 "plane a radius",
                 plane->id ? plane->id : "");
        return entry->mass;
    }
    return entry->mass * (entry->radius / plane->radius);
}

void cm_add_mass(cm_session *session, cm_mass_list *list, cm_mass mass)
{
    list->items = cm_grow(session, list->items, list->count, &list->room, sizeof *list->items);
    list->items[list->count++] = mass;
}

/* A mass of a set: its share on each plane, angle from the reference mark. */
static void add_set(cm_reader *reader, cm_mass_list *list, const cm_mass_entry *entry, const cm_node *node)
{
    const cm_bundle *set = cm_set_of(reader, entry->plane);
    double complex mass = cm_mass_from_user(reader->c, -1, entry->mass, entry->angle);
    if (!isnan(entry->radius))
        cm_wrong(reader, &cm_node_get(node, "radius")->place,
                 "'%s' is a set: its masses sit at the radii of its planes; leave 'radius' out", set->id);
    for (int t = 0; t < set->count; t++)
        cm_add_mass(reader->session, list,
                    (cm_mass){.plane = set->terms[t].plane,
                              .mass = set->terms[t].factor * mass,
                              .stays = entry->stays,
                              .place = node->place});
}

/* A mass at a numbered position has the angle and the radius of the position. */
static void seat(cm_reader *reader, cm_mass_entry *entry)
{
    if (entry->plane < 0 || !entry->sited)
        return;
    const cm_bundle *set = cm_set_of(reader, entry->plane);
    const cm_sites *sites = set ? NULL : &reader->c->planes[entry->plane].sites;
    const char *id = set ? set->id : reader->c->planes[entry->plane].id;
    int index = sites ? cm_site_index(sites, entry->site) : -1;
    if (index < 0) {
        cm_wrong(reader, &entry->site_node->place, "'%s' has no position %d%s", id ? id : "", entry->site,
                 sites && sites->count ? "" : "; give it 'sites', or this mass an 'angle'");
        return;
    }
    entry->angle = cm_site_degrees(reader->c, sites, index);
    if (isnan(entry->radius) && !isnan(reader->c->planes[entry->plane].radius))
        entry->radius = sites->radius;
}

/* Where a mass sits: by angle or by position, not both. */
static bool has_place(cm_reader *reader, const cm_mass_entry *entry, const cm_node *node)
{
    bool angle = cm_node_get(node, "angle") != NULL, site = cm_node_get(node, "site") != NULL;
    if (angle && site)
        cm_wrong(reader, &cm_node_get(node, "site")->key_place,
                 "this mass says twice where it sits: by 'angle' and by 'site'; keep one");
    else if (!angle && !site)
        cm_wrong(reader, &node->place, "masses: the key 'angle' is missing; write, for example, angle: 0");
    return angle != site && entry->plane >= 0 && !isnan(entry->mass);
}

void cm_end_mass(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    cm_mass_entry *entry = record;
    cm_mass_list *list = parent;
    if (!has_place(reader, entry, node))
        return;
    seat(reader, entry);
    if (isnan(entry->angle))
        return;
    if (cm_set_of(reader, entry->plane)) {
        add_set(reader, list, entry, node);
        return;
    }
    double mass = reduced(reader, entry, node);
    cm_add_mass(reader->session, list,
                (cm_mass){.plane = entry->plane,
                          .mass = cm_mass_from_user(reader->c, entry->plane, mass, entry->angle),
                          .stays = entry->stays,
                          .sited = entry->sited,
                          .site = entry->site,
                          .place = node->place});
}

void cm_read_now(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    reader->c->has_now = true;
    cm_read_map(reader, key, node, record);
}

/* ---- runs ---- */

void *cm_begin_run(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->runs = cm_grow(reader->session, c->runs, c->run_count, &c->run_room, sizeof *c->runs);
    cm_run *run = &c->runs[c->run_count++];
    *run = (cm_run){.place = node->place,
                    .after = -1,
                    .load = NAN,
                    .weight = 1,
                    .actual_speed = CM_NEW(reader->session, c->speed_count, double)};
    for (int k = 0; k < c->speed_count; k++)
        run->actual_speed[k] = NAN;
    return run;
}

void cm_end_run(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    cm_run *run = record;
    cm_check_run(reader, node, run);
    cm_leave_out_readings(run);
    cm_file_id(reader, &reader->runs, "run", run->id, reader->c->run_count - 1, node);
}

/* ---- readings ---- */

static bool later_form(cm_reader *reader, const cm_node *node)
{
    bool amplitude_only =
        node->kind == CM_TEXT && !strchr(node->text, '@') && node->text[0] >= '0' && node->text[0] <= '9';
    if (amplitude_only)
        cm_wrong(reader, &node->place,
                 "a reading without a phase is not supported yet; write amplitude @ phase, such as %s @ 143",
                 node->text);
    return amplitude_only;
}

/* {amplitude: 82, phase: 143, overall: 95} */
static bool whole_reading(cm_reader *reader, const cm_node *node, double complex *value, double *overall)
{
    cm_reading_entry entry = {NAN, NAN, NAN};
    cm_read_section(reader, &CM_READING_MAP, node, &entry);
    if (isnan(entry.amplitude) || isnan(entry.phase))
        return false;
    *value = cm_reading_from_user(reader->c, entry.amplitude, entry.phase);
    *overall = entry.overall;
    reader->c->overall_read |= !isnan(entry.overall);
    return true;
}

static bool one_reading(cm_reader *reader, const cm_node *node, double complex *value, double *overall)
{
    cm_polar polar;
    *overall = NAN;
    if (node->kind == CM_MAP)
        return whole_reading(reader, node, value, overall);
    if (later_form(reader, node) || !cm_phasor_of(reader, "a reading", CM_MEASURE_VIBRATION, node, &polar))
        return false;
    *value = cm_reading_from_user(reader->c, polar.size, polar.degrees);
    return true;
}

static void repeated_readings(cm_reader *reader, const cm_node *node, cm_reading *reading)
{
    const cm_node *item = node->kind == CM_LIST ? node->first : node;
    int count = node->kind == CM_LIST ? node->count : 1;
    if (count == 0)
        cm_wrong(reader, &node->place,
                 "this list of readings is empty; leave the sensor out if it was not read");
    reading->values = CM_NEW(reader->session, count, double complex);
    reading->overall = CM_NEW(reader->session, count, double);
    for (int i = 0; i < count; i++, item = item->next)
        reading->count +=
            one_reading(reader, item, &reading->values[reading->count], &reading->overall[reading->count]);
}

static cm_reading *new_reading(cm_reader *reader, cm_run *run)
{
    run->readings = cm_grow(reader->session, run->readings, run->reading_count, &run->reading_room,
                            sizeof *run->readings);
    return &run->readings[run->reading_count++];
}

static void readings_of_speed(cm_reader *reader, const cm_node *node, cm_run *run)
{
    int speed = cm_refer_key(reader, &reader->speeds, "speed", node);
    if (!cm_need_map(reader, node, "the readings of a speed"))
        return;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        int sensor = cm_refer_key(reader, &reader->sensors, "sensor", entry);
        cm_reading reading = {.sensor = sensor, .speed = speed, .place = entry->place};
        reader->unit = sensor < 0 ? NULL : reader->c->sensors[sensor].unit;
        repeated_readings(reader, entry, &reading);
        if (sensor >= 0 && speed >= 0 && reading.count > 0)
            *new_reading(reader, run) = reading;
    }
    reader->unit = NULL;
}

/* ---- readings from a file ---- */

enum { RUN, SPEED, SENSOR, AMPLITUDE, PHASE, OVERALL, COLUMNS };

static const char *const NAMES[COLUMNS] = {"run", "speed", "sensor", "amplitude", "phase", "overall"};
static const cm_csv_form READINGS = {COLUMNS, 1, NAMES, "run, speed, sensor, amplitude, phase"};

/* The reading that a line of the table belongs to: lines of one speed and sensor are repeated readings. */
static cm_reading *reading_for(cm_reader *reader, cm_run *run, int first, int sensor, int speed)
{
    for (int r = first; r < run->reading_count; r++)
        if (run->readings[r].sensor == sensor && run->readings[r].speed == speed)
            return &run->readings[r];
    cm_reading *reading = new_reading(reader, run);
    *reading = (cm_reading){.sensor = sensor, .speed = speed};
    return reading;
}

static void take_line(cm_reader *reader, const cm_node *line, int first, cm_run *run)
{
    double amplitude, phase, overall = NAN;
    int speed = cm_refer_node(reader, &reader->speeds, "speed", &line[SPEED]);
    int sensor = cm_refer_node(reader, &reader->sensors, "sensor", &line[SENSOR]);
    reader->unit = sensor < 0 ? NULL : reader->c->sensors[sensor].unit;
    bool told = cm_number_of(reader, "amplitude", CM_MEASURE_VIBRATION, CM_NOT_NEGATIVE, &line[AMPLITUDE],
                             &amplitude);
    told = cm_number_of(reader, "phase", CM_MEASURE_DEGREES, CM_ANY_VALUE, &line[PHASE], &phase) && told;
    if (*line[OVERALL].text)
        told = cm_number_of(reader, "overall", CM_MEASURE_VIBRATION, CM_NOT_NEGATIVE, &line[OVERALL],
                            &overall) &&
               told;
    reader->unit = NULL;
    if (!told || speed < 0 || sensor < 0)
        return;
    cm_reading *reading = reading_for(reader, run, first, sensor, speed);
    int room = reading->room;
    reading->overall =
        cm_grow(reader->session, reading->overall, reading->count, &room, sizeof *reading->overall);
    reading->overall[reading->count] = overall;
    reader->c->overall_read |= !isnan(overall);
    reading->values =
        cm_grow(reader->session, reading->values, reading->count, &reading->room, sizeof *reading->values);
    reading->values[reading->count++] = cm_reading_from_user(reader->c, amplitude, phase);
    reading->place = line[AMPLITUDE].place;
}

static void readings_of_file(cm_reader *reader, const cm_node *node, cm_run *run)
{
    const cm_csv *csv = cm_csv_of(reader, &READINGS, node);
    int first = run->reading_count, taken = 0;
    for (int i = 0; csv && run->id && i < csv->count; i++)
        if (!strcmp(csv->lines[i][RUN].text, run->id)) {
            take_line(reader, csv->lines[i], first, run);
            taken++;
        }
    if (csv && csv->count && run->id && taken == 0)
        cm_wrong(reader, &node->place, "no line of this file is of the run '%s'", run->id);
}

/* Lines of tables whose run is none of the case. */
static void check_table_runs(cm_reader *reader)
{
    for (const cm_csv *csv = reader->csv; csv; csv = csv->next)
        for (int i = 0; csv->form == &READINGS && i < csv->count; i++)
            if (!*csv->lines[i][RUN].text)
                cm_wrong(reader, &csv->lines[i][RUN].place,
                         "this line names no run; write one in its column 'run'");
            else
                cm_refer(reader, &reader->runs, "run", csv->lines[i][RUN].text, &csv->lines[i][RUN].place);
}

void cm_read_runs(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_list(reader, key, node, record);
    check_table_runs(reader);
    cm_chain_runs(reader);
}

/* A reading must not stand both in a file and in the case. */
static void refuse_repeated(cm_reader *reader, const cm_run *run)
{
    const cm_case *c = reader->c;
    unsigned char *seen = CM_NEW(reader->session, c->sensor_count * c->speed_count, unsigned char);
    for (int r = 0; r < run->reading_count; r++) {
        const cm_reading *reading = &run->readings[r];
        unsigned char *cell = &seen[reading->sensor + c->sensor_count * reading->speed];
        if (*cell)
            cm_wrong(reader, &reading->place,
                     "'%s' at '%s' is read twice in this run: in a file and in the case",
                     c->sensors[reading->sensor].id, c->speeds[reading->speed].id);
        *cell = 1;
    }
}

void cm_read_readings(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_run *run = record;
    if (!cm_need_map(reader, node, key->name))
        return;
    for (const cm_node *speed = node->first; speed; speed = speed->next)
        if (strcmp(speed->key, "csv") != 0)
            readings_of_speed(reader, speed, run);
        else
            readings_of_file(reader, speed, run);
    refuse_repeated(reader, run);
}

/* One phasor per sensor; NAN where the map is silent. */
static double complex *slow_rolls(cm_reader *reader, const cm_key *key, const cm_node *node)
{
    double complex *list = CM_NEW(reader->session, reader->c->sensor_count, double complex);
    for (int s = 0; s < reader->c->sensor_count; s++)
        list[s] = NAN;
    if (!cm_need_map(reader, node, key->name))
        return list;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        cm_polar polar;
        int sensor = cm_refer_key(reader, &reader->sensors, "sensor", entry);
        reader->unit = sensor < 0 ? NULL : reader->c->sensors[sensor].unit;
        if (cm_phasor_of(reader, "slow roll", key->measure, entry, &polar) && sensor >= 0)
            list[sensor] = cm_reading_from_user(reader->c, polar.size, polar.degrees);
    }
    reader->unit = NULL;
    return list;
}

void cm_read_slow_roll(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    const double complex *list = slow_rolls(reader, key, node);
    for (int s = 0; s < reader->c->sensor_count; s++)
        if (!isnan(creal(list[s])))
            reader->c->sensors[s].slow_roll = list[s];
}

void cm_read_run_slow_roll(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    ((cm_run *)record)->slow_roll = slow_rolls(reader, key, node);
}

void cm_read_notes(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_texts(reader, key, node, record);
    ((cm_run *)record)->notes = node;
}

void cm_read_at(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double seconds;
    cm_run *run = record;
    cm_read_text(reader, key, node, record);
    if (cm_moment_of(run->at, &seconds) == CM_MOMENT_IMPOSSIBLE)
        cm_wrong(reader, &node->place,
                 "there is no such day or time as '%s'; write year, month, day, hour and minute such as "
                 "2026-03-14 "
                 "02:40",
                 run->at);
}
