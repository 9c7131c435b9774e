/* SPDX-License-Identifier: MIT */
/* The table of keys as a JSON Schema (draft 2020-12): one definition per section and per shape. */
#include "case/keys.h"

#include "countermass/case.h"

#include <string.h>

typedef struct schema {
    cm_session *session;
    cm_node *definitions;
} schema;

static const char *pointer(schema *s, const char *name)
{
    char *text = cm_format(s->session, "#/$defs/%s", name);
    for (char *at = text; *at; at++)
        *at = *at == ' ' ? '_' : *at;
    return text;
}

/* Shapes and sections share $defs; some have the same name. */
static const char *shape_name(schema *s, cm_shape shape)
{
    return cm_format(s->session, "value_%s", CM_SHAPES[shape].name);
}

static void define_section(schema *s, const cm_section *section);

/* "string number" -> ["string", "number"] */
static void add_types(schema *s, cm_node *to, const char *types)
{
    cm_node *list = cm_node_add_list(s->session, to, "type");
    while (*types) {
        size_t length = strcspn(types, " ");
        cm_node_add_text(s->session, list, NULL, cm_copy_text(s->session, types, length));
        types += length + (types[length] == ' ');
    }
}

static cm_node *add_reference(schema *s, cm_node *to, const char *key, const char *name)
{
    cm_node *map = cm_node_add_map(s->session, to, key);
    cm_node_add_text(s->session, map, "$ref", pointer(s, name));
    return map;
}

/* ---- shapes ---- */

static void define_shape(schema *s, cm_shape which)
{
    const cm_shape_row *shape = &CM_SHAPES[which];
    cm_node *map = cm_node_add_map(s->session, s->definitions, shape_name(s, which));
    cm_node_add_text(s->session, map, "description", shape->words);
    cm_node *forms = cm_node_add_list(s->session, map, "anyOf");
    if (shape->types) {
        cm_node *form = cm_node_add_map(s->session, forms, NULL);
        add_types(s, form, shape->types);
        cm_node_add_text(s->session, form, "pattern", shape->pattern ? shape->pattern : "^.");
    }
    if (shape->list_of != CM_SHAPE_COUNT) {
        cm_node *form = cm_node_add_map(s->session, forms, NULL);
        cm_node_add_text(s->session, form, "type", "array");
        add_reference(s, form, "items", shape_name(s, shape->list_of));
    }
    if (shape->map_of != CM_SHAPE_COUNT) {
        cm_node *form = cm_node_add_map(s->session, forms, NULL);
        cm_node_add_text(s->session, form, "type", "object");
        add_reference(s, form, "additionalProperties", shape_name(s, shape->map_of));
    }
}

/* ---- keys and sections ---- */

static void add_choices(schema *s, cm_node *to, const char *const *choices)
{
    cm_node *list = cm_node_add_list(s->session, to, "enum");
    for (; *choices; choices++)
        cm_node_add_text(s->session, list, NULL, *choices);
}

static void add_form(schema *s, cm_node *to, const cm_key *key)
{
    if (key->shape == CM_SHAPE_CHOICE) {
        add_choices(s, to, key->choices);
    } else if (key->shape == CM_SHAPE_CHOICES) {
        cm_node_add_text(s->session, to, "type", "array");
        add_choices(s, cm_node_add_map(s->session, to, "items"), key->choices);
    } else if (key->shape == CM_SHAPE_MAP) {
        cm_node_add_text(s->session, to, "$ref", pointer(s, key->section->name));
    } else if (key->shape == CM_SHAPE_LIST) {
        cm_node_add_text(s->session, to, "type", "array");
        add_reference(s, to, "items", key->section->name);
    } else if (key->section) {
        cm_node *forms = cm_node_add_list(s->session, to, "anyOf");
        add_reference(s, forms, NULL, shape_name(s, key->shape));
        add_reference(s, forms, NULL, key->section->name);
    } else {
        cm_node_add_text(s->session, to, "$ref", pointer(s, shape_name(s, key->shape)));
    }
    if (key->section)
        define_section(s, key->section);
}

static void add_range(schema *s, cm_node *to, const cm_key *key)
{
    const cm_range_row *range = &CM_RANGES[key->range];
    if (key->range == CM_ANY_VALUE)
        return;
    cm_node_add_number(s->session, to, range->open ? "exclusiveMinimum" : "minimum", range->least);
    if (range->most == 1)
        cm_node_add_number(s->session, to, "maximum", range->most);
}

static void add_key(schema *s, cm_node *properties, const cm_key *key)
{
    cm_node *map = cm_node_add_map(s->session, properties, key->name);
    cm_node_add_text(s->session, map, "description",
                     key->fallback ? cm_format(s->session, "%s (default: %s)", key->about, key->fallback)
                                   : key->about);
    add_form(s, map, key);
    add_range(s, map, key);
}

static void fill_section(schema *s, cm_node *map, const cm_section *section)
{
    cm_node_add_text(s->session, map, "description", section->about);
    cm_node_add_text(s->session, map, "type", "object");
    cm_node_add_boolean(s->session, map, "additionalProperties", false);
    cm_node *properties = cm_node_add_map(s->session, map, "properties");
    cm_node *required = cm_node_add_list(s->session, map, "required");
    for (int k = 0; k < section->count; k++) {
        add_key(s, properties, &section->keys[k]);
        if (section->keys[k].required)
            cm_node_add_text(s->session, required, NULL, section->keys[k].name);
    }
}

static void define_section(schema *s, const cm_section *section)
{
    const char *name = pointer(s, section->name) + strlen("#/$defs/");
    if (!cm_node_get(s->definitions, name))
        fill_section(s, cm_node_add_map(s->session, s->definitions, name), section);
}

cm_status cm_case_schema(cm_session *session, const char **json)
{
    CM_ENTER(session);
    schema s = {session, cm_node_map(session)};
    cm_node *root = cm_node_map(session);
    cm_node_add_text(session, root, "$schema", "https://json-schema.org/draft/2020-12/schema");
    cm_node_add_text(session, root, "title", "countermass case file, format 1");
    fill_section(&s, root, &CM_CASE_FILE);
    for (int k = 0; k < CM_SHAPE_COUNT; k++)
        if (k != CM_SHAPE_MAP && k != CM_SHAPE_LIST && k != CM_SHAPE_CHOICE && k != CM_SHAPE_CHOICES)
            define_shape(&s, (cm_shape)k);
    cm_node_add(session, root, "$defs", s.definitions);
    *json = cm_json_write(session, root);
    return cm_leave(session);
}
