/* SPDX-License-Identifier: MIT */
/* Walking a tree along the table of keys. */
#include "case/reader.h"
#include "case/values.h"

#include "base/text.h"

#include <string.h>

enum { MOST_KEYS = 24 };

void cm_wrong(cm_reader *reader, const cm_place *place, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    cm_errors_add(reader->session, &reader->errors, place, format, arguments);
    va_end(arguments);
}

void *cm_slot(const cm_key *key, void *record)
{
    return key->offset == CM_NOWHERE || !record ? NULL : (char *)record + key->offset;
}

static bool need(cm_reader *reader, const cm_node *node, cm_kind kind, const char *what, const char *form)
{
    if (node->kind == kind)
        return true;
    if (cm_is_nothing(node))
        return false;
    const char *found = node->kind == CM_MAP    ? "a map of keys"
                        : node->kind == CM_LIST ? "a list"
                        : *node->text           ? node->text
                                                : "nothing";
    cm_wrong(reader, &node->place, "%s must be %s, but here stands %s", what, form, found);
    return false;
}

bool cm_need_map(cm_reader *reader, const cm_node *node, const char *what)
{
    return need(reader, node, CM_MAP, what, "a map of keys, such as {key: value}");
}

bool cm_need_list(cm_reader *reader, const cm_node *node, const char *what)
{
    return need(reader, node, CM_LIST, what, "a list, such as [...] or lines that begin with '-'");
}

/* ---- keys ---- */

/* Keys usually stand in the order of the table, so the search goes on where the last one ended. */
static int find_key(const cm_section *section, const char *name, int after)
{
    for (int step = 1; step <= section->count; step++) {
        int k = (after + step) % section->count;
        if (!strcmp(section->keys[k].name, name))
            return k;
    }
    return -1;
}

static bool is_planned(const cm_section *section, const char *name)
{
    for (const char *const *later = section->later; later && *later; later++)
        if (!strcmp(*later, name))
            return true;
    return false;
}

/* The one part of the case file in which a key of this name may stand; NULL: none, or several. */
static const char *home_of(const char *name)
{
    const char *home = NULL;
    for (int k = 0; k < CM_CASE_FILE.count; k++) {
        const cm_section *part = CM_CASE_FILE.keys[k].section;
        if (!part || part == &CM_CASE_FILE || find_key(part, name, -1) < 0)
            continue;
        if (home)
            return NULL;
        home = CM_CASE_FILE.keys[k].name;
    }
    return home;
}

static const char *key_hint(cm_reader *reader, const cm_section *section, const char *name)
{
    const char *names[MOST_KEYS];
    for (int k = 0; k < section->count; k++)
        names[k] = section->keys[k].name;
    const char *nearest = cm_nearest(name, names, section->count);
    if (nearest)
        return cm_format(reader->session, "; did you mean '%s'?", nearest);
    const char *home = home_of(name);
    if (home)
        return cm_format(reader->session, "; it belongs under %s", home);
    cm_text list = {.session = reader->session};
    for (int k = 0; k < section->count; k++)
        cm_text_print(&list, "%s%s", k ? ", " : "; the keys here are ", names[k]);
    return list.bytes ? list.bytes : "";
}

static void unknown_key(cm_reader *reader, const cm_section *section, const cm_node *entry)
{
    if (cm_lacks_blank(entry) || !cm_errors_wanted(&reader->errors, &entry->key_place))
        return;
    if (is_planned(section, entry->key))
        cm_wrong(reader, &entry->key_place, "the key '%s' in %s is not supported yet; take it out",
                 entry->key, section->name);
    else
        cm_wrong(reader, &entry->key_place, "unknown key '%s' in %s%s", entry->key, section->name,
                 key_hint(reader, section, entry->key));
}

static void missing_key(cm_reader *reader, const cm_section *section, const cm_key *key, const cm_node *node)
{
    cm_wrong(reader, &node->place, "%s: the key '%s' is missing%s%s", section->name, key->name,
             key->example ? "; write, for example, " : "",
             key->example ? cm_format(reader->session, "%s: %s", key->name, key->example) : "");
}

void cm_read_section(cm_reader *reader, const cm_section *section, const cm_node *node, void *record)
{
    if (!cm_need_map(reader, node, section->name))
        return;
    const cm_node *given[MOST_KEYS] = {NULL};
    int at = -1;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        int k = find_key(section, entry->key, at);
        if (k < 0)
            unknown_key(reader, section, entry);
        else
            given[at = k] = entry;
    }
    for (int k = 0; k < section->count; k++) {
        const cm_key *key = &section->keys[k];
        if (given[k])
            (key->read ? key->read : CM_SHAPES[key->shape].read)(reader, key, given[k], record);
        else if (key->required)
            missing_key(reader, section, key, node);
    }
}

void cm_read_map(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_section(reader, key->section, node, cm_slot(key, record));
}

void cm_read_list(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    if (!cm_need_list(reader, node, key->name))
        return;
    const cm_section *section = key->section;
    void *parent = cm_slot(key, record);
    for (const cm_node *item = node->first; item; item = item->next) {
        if (item->kind != CM_MAP) {
            cm_need_map(reader, item, cm_format(reader->session, "each entry of %s", key->name));
            continue;
        }
        void *entry = section->begin ? section->begin(reader, parent, item) : parent;
        cm_read_section(reader, section, item, entry);
        if (section->end)
            section->end(reader, parent, item, entry);
    }
}
