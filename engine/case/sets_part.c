/* SPDX-License-Identifier: MIT */
/* Sets of planes: fixed ratios between the masses of several planes. One unit of a set is the mass `ratio` on each of
 * its planes; ratios and the masses of sets count their angles from the reference mark. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include "base/text.h"

void *cm_begin_set(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->sets = cm_grow(reader->session, c->sets, c->set_count, &c->set_room, sizeof *c->sets);
    cm_bundle *set = &c->sets[c->set_count++];
    *set = (cm_bundle){.place = node->place};
    return set;
}

void cm_read_ratios(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_bundle *set = record;
    if (!cm_need_map(reader, node, key->name))
        return;
    set->terms = CM_NEW(reader->session, node->count, cm_tie_term);
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        cm_polar polar;
        int plane = cm_refer_key(reader, &reader->planes, "plane", entry);
        if (!cm_phasor_of(reader, "a ratio", CM_MEASURE_PLAIN, entry, &polar) || plane < 0)
            continue;
        if (polar.size > 0)
            set->terms[set->count++] =
                (cm_tie_term){plane, cm_mass_from_user(reader->c, -1, polar.size, polar.degrees)};
        else
            cm_wrong(reader, &entry->place, "the ratio of '%s' is 0; leave the plane out of the set",
                     entry->key);
    }
    if (node->count == 0)
        cm_wrong(reader, &node->place, "this set has no planes; name at least one, such as {P1: 1 @ 0}");
}

void cm_end_set(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const char *id = ((cm_bundle *)record)->id;
    int plane = id ? cm_index_entry(&reader->planes, id) : -1;
    if (plane >= 0)
        cm_wrong(reader, &cm_node_get(node, "id")->place,
                 "the id '%s' is already used by the plane at line %d; sets and planes share their names", id,
                 reader->planes.places[plane].line);
    else
        cm_file_id(reader, &reader->sets, "set", id, reader->c->set_count - 1, node);
}

/* ---- references to a plane or a set ---- */

static int known_set(const cm_reader *reader, const char *id)
{
    int set = id ? cm_index_find(&reader->sets, id) : -1;
    return set < 0 ? -1 : reader->c->plane_count + set;
}

int cm_refer_key_part(cm_reader *reader, const cm_node *entry)
{
    int set = known_set(reader, entry->key);
    return set >= 0 ? set : cm_refer_key(reader, &reader->planes, "plane", entry);
}

int cm_refer_node_part(cm_reader *reader, const cm_node *node)
{
    int set = node->kind == CM_TEXT ? known_set(reader, node->text) : -1;
    return set >= 0 ? set : cm_refer_node(reader, &reader->planes, "plane", node);
}

void cm_read_part(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int number = cm_refer_node_part(reader, node);
    int *slot = cm_slot(key, record);
    if (slot)
        *slot = number;
}

const cm_bundle *cm_set_of(const cm_reader *reader, int part)
{
    return part < reader->c->plane_count ? NULL : &reader->c->sets[part - reader->c->plane_count];
}
