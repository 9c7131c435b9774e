/* SPDX-License-Identifier: MIT */
/*
 * Known influence coefficients.
 *
 * A value is what one mass unit at the plane's own angle 0 does to the
 * reading. That mass is exp(i·zero) in the frame, so the coefficient in the
 * frame is the reading divided by it.
 */
#include "case/refer.h"
#include "base/constants.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>
#include <string.h>

void *cm_begin_known(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    (void)node;
    cm_known_entry *entry = &reader->known;
    *entry = (cm_known_entry){.plane = -1, .speed = -1, .sensor = -1, .value = {NAN, 0}};
    reader->unit = NULL;
    return entry;
}

void cm_read_entry_sensor(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_sensor(reader, key, node, record);
    int sensor = ((cm_known_entry *)record)->sensor;
    reader->unit = sensor < 0 ? NULL : reader->c->sensors[sensor].unit;
}

/* ---- uncertainty ---- */

/* u² = |A|²·(size² + phase²), phase in radians. */
static void relative(cm_reader *reader, const cm_node *node, cm_known_entry *entry, double size, double phase)
{
    if (isnan(entry->value.size))
        return;
    entry->uncertainty = entry->value.size * hypot(size, phase);
    if (!(entry->uncertainty > 0))
        cm_wrong(reader, &node->place, "this uncertainty is 0; it must be above 0%s",
                 entry->value.size > 0 ? ", or left out when the coefficient is exact"
                                       : ": give it as a number, since the coefficient is 0");
}

void cm_read_uncertainty(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_known_entry *entry = record;
    double share;
    if (entry->record) {
        entry->widen = node;
        entry->widen_key = key;
    } else if (node->kind == CM_MAP) {
        cm_read_section(reader, key->section, node, entry);
        relative(reader, node, entry, entry->size, entry->phase * (CM_PI / 180));
    } else if (node->kind == CM_TEXT && strchr(node->text, '%')) {
        if (cm_number_of(reader, key->name, CM_MEASURE_SHARE, key->range, node, &share))
            relative(reader, node, entry, share, 0);
    } else {
        cm_read_number(reader, key, node, record);
    }
}

/* ---- filing ---- */

const char *cm_triple_name(cm_session *session, int plane, int speed, int sensor)
{
    char name[40];
    unsigned number[3] = {(unsigned)plane, (unsigned)speed, (unsigned)sensor};
    int length = 0;
    for (int k = 0; k < 3; k++, name[length++] = ':')
        for (unsigned rest = number[k] + 1; rest; rest /= 64)
            name[length++] = (char)('@' + rest % 64);
    return cm_copy_text(session, name, (size_t)length);
}

static bool is_repeated(cm_reader *reader, const cm_known_entry *entry, const cm_node *node)
{
    const char *name = cm_triple_name(reader->session, entry->plane, entry->speed, entry->sensor);
    int earlier = cm_index_entry(&reader->coefficients, name);
    if (earlier < 0) {
        cm_index_add(reader->session, &reader->coefficients, name, reader->c->known_count, node->place);
        return false;
    }
    cm_wrong(reader, &node->place,
             "the coefficient of this plane, speed and sensor is already given at line %d",
             reader->coefficients.places[earlier].line);
    return true;
}

void cm_read_record_name(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    if (cm_scalar(reader, node, "the name of a record file"))
        ((cm_known_entry *)record)->record = node;
}

/* An entry is a record or one coefficient: the keys of the other are wrong, or missing. */
static bool is_whole(cm_reader *reader, const cm_node *node, bool is_record)
{
    static const char *const keys[][2] = {
        {"plane", "P1"}, {"speed", "service"}, {"sensor", "DE-x"}, {"value", "0.42 @ 210"}};
    bool whole = true;
    for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
        const cm_node *given = cm_node_get(node, keys[k][0]);
        if (is_record == (given == NULL))
            continue;
        whole = false;
        if (is_record)
            cm_wrong(reader, &given->key_place, "an entry with 'record' takes 'uncertainty' only, not '%s'",
                     keys[k][0]);
        else
            cm_wrong(reader, &node->place, "influence: the key '%s' is missing; write, for example, %s: %s",
                     keys[k][0], keys[k][0], keys[k][1]);
    }
    return whole;
}

void cm_end_known(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    cm_known_entry *entry = record;
    bool is_record = cm_node_get(node, "record") != NULL;
    if (!is_whole(reader, node, is_record))
        return;
    if (!is_record)
        cm_file_known(reader, entry, node);
    else if (entry->record)
        cm_add_record(reader, entry);
}

void cm_file_known(cm_reader *reader, cm_known_entry *entry, const cm_node *node)
{
    cm_case *c = reader->c;
    reader->unit = NULL;
    if (entry->speed >= 0)
        entry->speed = c->speeds[entry->speed].root; /* coefficients belong to all states of a speed */
    if (entry->plane < 0 || entry->speed < 0 || entry->sensor < 0 || isnan(entry->value.size) ||
        is_repeated(reader, entry, node))
        return;
    double complex reading = cm_reading_from_user(c, entry->value.size, entry->value.degrees);
    int plane =
        entry->plane < c->plane_count ? entry->plane : -1; /* masses of sets count from the reference mark */
    double complex mass = cm_mass_from_user(c, plane, c->mass_unit->factor, 0);
    c->known = cm_grow(reader->session, c->known, c->known_count, &c->known_room, sizeof *c->known);
    c->known[c->known_count++] = (cm_coefficient){.plane = entry->plane,
                                                  .speed = entry->speed,
                                                  .sensor = entry->sensor,
                                                  .value = reading / mass,
                                                  .uncertainty = entry->uncertainty / c->mass_unit->factor,
                                                  .common = entry->common,
                                                  .place = node->place};
}
