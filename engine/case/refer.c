/* SPDX-License-Identifier: MIT */
/* Ids and references between the parts of a case. */
#include "case/refer.h"
#include "case/values.h"

#include "base/text.h"

void cm_file_id(cm_reader *reader, cm_index *index, const char *what, const char *id, int number,
                const cm_node *node)
{
    if (!id)
        return;
    int entry = cm_index_entry(index, id);
    const cm_node *place = cm_node_get(node, "id");
    if (entry >= 0)
        cm_wrong(reader, &place->place, "the %s id '%s' is already used at line %d; give each %s its own id",
                 what, id, index->places[entry].line, what);
    else
        cm_index_add(reader->session, index, id, number, place->place);
}

/* "; did you mean 'P1'?", "; there are P1, P2, P3", or "; the case has no planes". */
static const char *hint(cm_reader *reader, const cm_index *index, const char *what, const char *id)
{
    enum { MOST_LISTED = 8 };
    const char *nearest = cm_nearest(id, index->names, index->count);
    if (nearest)
        return cm_format(reader->session, "; did you mean '%s'?", nearest);
    if (index->count == 0)
        return cm_format(reader->session, "; the case has no %ss", what);
    cm_text text = {.session = reader->session};
    for (int i = 0; i < index->count && i < MOST_LISTED; i++)
        cm_text_print(&text, "%s%s", i ? ", " : "; there are ", index->names[i]);
    cm_text_add(&text, index->count > MOST_LISTED ? ", ..." : "");
    return text.bytes;
}

int cm_refer(cm_reader *reader, const cm_index *index, const char *what, const char *id,
             const cm_place *place)
{
    int number = cm_index_find(index, id);
    if (number < 0)
        cm_wrong(reader, place, "there is no %s '%s'%s", what, id, hint(reader, index, what, id));
    return number;
}

int cm_refer_key(cm_reader *reader, const cm_index *index, const char *what, const cm_node *entry)
{
    return cm_lacks_blank(entry) ? -1 : cm_refer(reader, index, what, entry->key, &entry->key_place);
}

int cm_refer_node(cm_reader *reader, const cm_index *index, const char *what, const cm_node *node)
{
    int known = node->kind == CM_TEXT ? cm_index_find(index, node->text) : -1;
    if (known >= 0)
        return known;
    const char *id = cm_scalar(reader, node, cm_format(reader->session, "the id of a %s", what));
    return id ? cm_refer(reader, index, what, id, &node->place) : -1;
}

static void refer_to(cm_reader *reader, const cm_key *key, const cm_node *node, void *record,
                     const cm_index *index, const char *what)
{
    int number = cm_refer_node(reader, index, what, node);
    int *slot = cm_slot(key, record);
    if (slot)
        *slot = number;
}

void cm_read_plane(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    refer_to(reader, key, node, record, &reader->planes, "plane");
}

void cm_read_speed(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    refer_to(reader, key, node, record, &reader->speeds, "speed");
}

void cm_read_sensor(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    refer_to(reader, key, node, record, &reader->sensors, "sensor");
}

void cm_read_run(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    refer_to(reader, key, node, record, &reader->runs, "run");
}
