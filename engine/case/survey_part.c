/* SPDX-License-Identifier: MIT */
/* The survey: vibration of bearings in three directions. Each number keeps its kind, for they are never converted. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

void *cm_begin_survey(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->surveys = cm_grow(reader->session, c->surveys, c->survey_count, &c->survey_room, sizeof *c->surveys);
    cm_survey *survey = &c->surveys[c->survey_count++];
    *survey = (cm_survey){.place = node->place, .speed = -1};
    for (int w = 0; w < CM_WAYS; w++)
        survey->way[w] = (cm_survey_way){NAN, NAN, 0, -1, -1, -1};
    return survey;
}

void cm_read_survey_bearing(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_text(reader, key, node, record);
    const char *bearing = ((cm_survey *)record)->bearing;
    if (bearing && reader->c->rotor.bearing_count > 0)
        cm_refer(reader, &reader->bearings, "bearing", bearing, &node->place);
}

/* Kind of a number that has been read without error: of its own unit, else of `units.vibration`. */
static int quantity_of(cm_reader *reader, const cm_node *node)
{
    const char *unit = node->text + strspn(node->text, "+-0123456789.eE ");
    size_t length = strcspn(unit, "@");
    while (length > 0 && unit[length - 1] == ' ')
        length--;
    const cm_unit *own = length ? cm_unit_find(cm_copy_text(reader->session, unit, length)) : NULL;
    return own ? (int)own->quantity : (int)reader->c->vibration_unit->quantity;
}

void cm_read_survey_size(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_survey_way *way = record;
    double value;
    if (!cm_number_of(reader, key->name, key->measure, key->range, node, &value))
        return;
    *(double *)cm_slot(key, record) = value;
    bool overall = key->offset == offsetof(cm_survey_way, overall);
    *(overall ? &way->overall_quantity : &way->twice_quantity) = quantity_of(reader, node);
}

void cm_read_survey_once(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_survey_way *way = record;
    cm_polar polar;
    if (!cm_phasor_of(reader, key->name, key->measure, node, &polar))
        return;
    way->once = cm_reading_from_user(reader->c, polar.size, polar.degrees);
    way->once_quantity = quantity_of(reader, node);
}

void cm_end_survey(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const cm_survey *survey = record;
    bool any = cm_node_get(node, "horizontal") || cm_node_get(node, "vertical") || cm_node_get(node, "axial");
    if (!any && survey->bearing)
        cm_wrong(reader, &node->place,
                 "this entry of the survey holds no vibration; give horizontal, vertical or axial, such as "
                 "horizontal: "
                 "{overall: 7.1 mm/s rms, once: 6.6 mm/s rms @ 40}");
}
