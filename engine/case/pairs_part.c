/* SPDX-License-Identifier: MIT */
/* Probe pairs: two sensors that see one orbit from two angles, and what is asked of the orbit. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>

#define SAME_DIRECTION 1e-6 /* |sin| of the angle between probes below which they see one direction */

void *cm_begin_pair(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->pairs = cm_grow(reader->session, c->pairs, c->pair_count, &c->pair_room, sizeof *c->pairs);
    cm_probe_pair *pair = &c->pairs[c->pair_count++];
    *pair = (cm_probe_pair){.place = node->place, .sensor = {-1, -1}, .asked = {false, true}};
    pair->limit = CM_NEW(reader->session, c->speed_count, double);
    for (int s = 0; s < c->speed_count; s++)
        pair->limit[s] = INFINITY;
    return pair;
}

static void check_sensor(cm_reader *reader, const cm_sensor *sensor, const cm_node *item)
{
    if (isnan(sensor->angle))
        cm_wrong(reader, &item->place,
                 "the sensor '%s' of this pair has no 'angle'; give both sensors the angle they stand at",
                 sensor->id);
}

static void check_both(cm_reader *reader, const cm_sensor *a, const cm_sensor *b, const cm_node *node)
{
    if (a->unit->quantity != b->unit->quantity)
        cm_wrong(reader, &node->place,
                 "the sensors '%s' and '%s' of this pair read in %s and %s; an orbit needs two of one kind",
                 a->id, b->id, a->unit->name, b->unit->name);
    if (fabs(sin(a->angle - b->angle)) < SAME_DIRECTION)
        cm_wrong(
            reader, &node->place,
            "the sensors '%s' and '%s' of this pair see the same direction (sensors.angle is the same, or "
            "opposite): an orbit needs two directions",
            a->id, b->id);
}

void cm_read_pair_sensors(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_probe_pair *pair = record;
    cm_case *c = reader->c;
    if (!cm_need_list(reader, node, key->name))
        return;
    if (node->count != 2) {
        cm_wrong(reader, &node->place, "a pair needs exactly two sensors, such as [3x, 3y]");
        return;
    }
    const cm_node *item[2] = {node->first, node->last};
    for (int k = 0; k < 2; k++) {
        pair->sensor[k] = cm_refer_node(reader, &reader->sensors, "sensor", item[k]);
        if (pair->sensor[k] >= 0)
            check_sensor(reader, &c->sensors[pair->sensor[k]], item[k]);
    }
    if (pair->sensor[0] < 0 || pair->sensor[1] < 0)
        return;
    const cm_sensor *a = &c->sensors[pair->sensor[0]], *b = &c->sensors[pair->sensor[1]];
    reader->unit = a->unit;
    if (a == b)
        cm_wrong(reader, &item[1]->place, "the sensor '%s' stands in this pair twice", a->id);
    else if (!isnan(a->angle) && !isnan(b->angle))
        check_both(reader, a, b, node);
}

void cm_read_pair_rows(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_probe_pair *pair = record;
    if (!cm_need_list(reader, node, key->name))
        return;
    pair->asked[0] = pair->asked[1] = false;
    cm_key choice = *key;
    choice.offset = 0;
    for (const cm_node *item = node->first; item; item = item->next) {
        int found = -1;
        cm_read_choice(reader, &choice, item, &found);
        if (found < 0)
            continue;
        if (pair->asked[found])
            cm_wrong(reader, &item->place, "'%s' stands in this list twice", item->text);
        pair->asked[found] = true;
    }
    if (node->count == 0)
        cm_wrong(reader, &node->place, "this pair asks for nothing; name forward, major-axis or both");
}

void cm_end_pair(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    cm_file_id(reader, &reader->pairs, "pair", ((cm_probe_pair *)record)->id, reader->c->pair_count - 1,
               node);
    reader->unit = NULL;
}

static void add_orbit(cm_case *c, int pair, int axis, int speed)
{
    const cm_probe_pair *p = &c->pairs[pair];
    bool read = c->row_of[p->sensor[0] + c->sensor_count * speed] >= 0 &&
                c->row_of[p->sensor[1] + c->sensor_count * speed] >= 0;
    if (p->asked[axis] && read)
        c->orbits[c->orbit_count++] = (cm_orbit_row){pair, axis, speed};
}

void cm_number_orbits(cm_session *session, cm_case *c)
{
    c->orbits = CM_NEW(session, 2 * c->pair_count * c->speed_count, cm_orbit_row);
    for (int s = 0; s < c->speed_count; s++)
        for (int p = 0; p < c->pair_count; p++)
            for (int axis = 0; axis < 2; axis++)
                add_orbit(c, p, axis, s);
}
