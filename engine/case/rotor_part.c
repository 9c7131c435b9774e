/* SPDX-License-Identifier: MIT */
/* Rotor, bearings, and limits that come from a standard's table. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include "base/text.h"
#include "standards/bearings.h"
#include "standards/permissible.h"
#include "standards/zones.h"

#include <math.h>

/* "; did you mean 'G2.5'?", or the names there are. `name_at` gives them one by one, then NULL. */
static const char *hint(cm_reader *reader, const char *word, const char *(*name_at)(int))
{
    const char *names[32];
    int count = 0;
    while (count < 32 && name_at(count)) {
        names[count] = name_at(count);
        count++;
    }
    const char *nearest = cm_nearest(word, names, count);
    if (nearest)
        return cm_format(reader->session, "; did you mean '%s'?", nearest);
    cm_text list = {.session = reader->session};
    for (int i = 0; i < count; i++)
        cm_text_print(&list, "%s%s", i ? ", " : "; there are ", names[i]);
    return list.bytes;
}

static const char *grade_at(int i)
{
    return CM_GRADES[i].name;
}

static const char *zone_at(int i)
{
    return CM_ZONES[i].name;
}

void cm_read_grade(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *text = cm_scalar(reader, node, "a balance quality grade, such as G2.5");
    if (!text)
        return;
    const cm_grade *grade = cm_grade_find(text);
    if (grade)
        *(double *)cm_slot(key, record) = grade->value;
    else
        cm_wrong(reader, &node->place, "unknown balance quality grade '%s'%s", text,
                 hint(reader, text, grade_at));
}

void *cm_begin_bearing(cm_reader *reader, void *parent, const cm_node *node)
{
    cm_rotor *rotor = parent;
    rotor->bearings = cm_grow(reader->session, rotor->bearings, rotor->bearing_count, &rotor->bearing_room,
                              sizeof *rotor->bearings);
    cm_bearing *bearing = &rotor->bearings[rotor->bearing_count++];
    *bearing = (cm_bearing){.place = node->place, .position = NAN, .static_load = NAN};
    return bearing;
}

void cm_end_bearing(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    cm_file_id(reader, &reader->bearings, "bearing", ((cm_bearing *)record)->id,
               ((cm_rotor *)parent)->bearing_count - 1, node);
}

void cm_read_zone(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    (void)record;
    const char *text = cm_scalar(reader, node, "the name of a table of vibration zones");
    if (!text)
        return;
    reader->c->zone = cm_zone_find(text);
    reader->c->zone_place = node->place;
    if (!reader->c->zone)
        cm_wrong(reader, &node->place, "unknown standard '%s'%s", text, hint(reader, text, zone_at));
}

/* ---- zones as limits ---- */

static bool measures(const cm_sensor *sensor, const cm_zone *zone)
{
    return sensor->unit->quantity == cm_unit_find(zone->unit)->quantity &&
           (sensor->kind == CM_KIND_UNSAID || sensor->kind == zone->kind);
}

static void fill(double *list, int count, double value)
{
    for (int i = 0; i < count; i++)
        if (isinf(list[i]))
            list[i] = value;
}

/* The boundaries of service speed hold at every speed: at others they are on the careful side. */
void cm_apply_zone(cm_reader *reader)
{
    cm_case *c = reader->c;
    double boundary[3];
    int count = 0;
    if (!c->zone)
        return;
    if (!cm_zone_boundaries(c->zone, isnan(c->service_speed) ? cm_running_speed(c) : c->service_speed,
                            boundary)) {
        cm_wrong(reader, &c->zone_place,
                 "'%s' has no figures for the service speed of this case ('rotor: {service_speed}')",
                 c->zone->name);
        return;
    }
    for (int i = 0; i < c->sensor_count; i++)
        if (measures(&c->sensors[i], c->zone)) {
            fill(c->sensors[i].limit, c->speed_count, boundary[0]);
            fill(c->sensors[i].alarm, c->speed_count, boundary[1]);
            fill(c->sensors[i].trip, c->speed_count, boundary[2]);
            count++;
        }
    if (!count && c->sensor_count)
        cm_wrong(reader, &c->zone_place, "'%s' is about %s in %s; no sensor of this case measures that",
                 c->zone->name,
                 c->zone->kind == CM_HOUSING ? "bearing housings" : "the shaft against its bearing",
                 c->zone->unit);
}
