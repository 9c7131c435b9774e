/* SPDX-License-Identifier: MIT */
/* Hash table with open addressing, never more than half full. */
#include "tree/names.h"

#include <stdint.h>
#include <string.h>

/* FNV-1a, 64 bits (value from memory of its published constants). */
static uint64_t hash(const char *name)
{
    uint64_t h = 14695981039346656037u;
    for (; *name; name++)
        h = (h ^ (unsigned char)*name) * 1099511628211u;
    return h ^ h >> 29;
}

static cm_name *slot_of(const cm_names *names, const char *name)
{
    size_t at = (size_t)hash(name) & (names->room - 1);
    while (names->slots[at].name && strcmp(names->slots[at].name, name) != 0)
        at = (at + 1) & (names->room - 1);
    return &names->slots[at];
}

static void enlarge(cm_session *session, cm_names *names)
{
    size_t room = names->room ? 2 * names->room : 64;
    cm_names larger = {names->count, room, CM_NEW(session, room, cm_name)};
    for (size_t i = 0; i < names->room; i++)
        if (names->slots[i].name)
            *slot_of(&larger, names->slots[i].name) = names->slots[i];
    *names = larger;
}

void *cm_names_get(const cm_names *names, const char *name)
{
    return names->room ? slot_of(names, name)->what : NULL;
}

void cm_names_set(cm_session *session, cm_names *names, const char *name, void *what)
{
    if (2 * (names->count + 1) > names->room)
        enlarge(session, names);
    cm_name *slot = slot_of(names, name);
    names->count += !slot->name;
    *slot = (cm_name){name, what};
}
