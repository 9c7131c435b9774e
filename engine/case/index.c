/* SPDX-License-Identifier: MIT */
/* Open addressing with linear steps over an FNV-1a hash; at most half full. */
#include "case/index.h"

#include <string.h>

static unsigned hash(const char *name)
{
    unsigned h = 2166136261u;
    for (; *name; name++)
        h = (h ^ (unsigned char)*name) * 16777619u;
    return h;
}

static int slot_of(const cm_index *index, const char *name)
{
    unsigned mask = (unsigned)index->slot_count - 1;
    unsigned at = hash(name) & mask;
    while (index->slots[at] && strcmp(index->names[index->slots[at] - 1], name) != 0)
        at = (at + 1) & mask;
    return (int)at;
}

int cm_index_entry(const cm_index *index, const char *name)
{
    return index->slot_count ? index->slots[slot_of(index, name)] - 1 : -1;
}

int cm_index_find(const cm_index *index, const char *name)
{
    int entry = cm_index_entry(index, name);
    return entry < 0 ? -1 : index->numbers[entry];
}

static void grow(cm_session *session, cm_index *index)
{
    int room = index->room, same = index->room;
    index->names = cm_grow(session, index->names, index->count, &same, sizeof *index->names);
    same = room;
    index->places = cm_grow(session, index->places, index->count, &same, sizeof *index->places);
    index->numbers = cm_grow(session, index->numbers, index->count, &index->room, sizeof *index->numbers);
    index->slot_count = 4 * index->room;
    index->slots = CM_NEW(session, index->slot_count, int);
    for (int i = 0; i < index->count; i++)
        index->slots[slot_of(index, index->names[i])] = i + 1;
}

void cm_index_add(cm_session *session, cm_index *index, const char *name, int number, cm_place place)
{
    if (index->count == index->room)
        grow(session, index);
    index->names[index->count] = name;
    index->places[index->count] = place;
    index->numbers[index->count] = number;
    int slot = slot_of(index, name);
    index->slots[slot] = ++index->count;
}
