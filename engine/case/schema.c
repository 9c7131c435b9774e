/* SPDX-License-Identifier: MIT */
/* The table of keys as a JSON Schema (draft 2020-12): one definition per section and per shape. */
#include "case/keys.h"

#include "base/text.h"
#include "countermass/case.h"

#include <math.h>
#include <string.h>

typedef struct schema {
    cm_session *session;
    cm_node *definitions;
} schema;

static const char *pointer(schema *s, const char *name)
{
    char *text = cm_format(s->session, "#/$defs/%s", name);
    for (char *at = text; *at; at++)
        if (*at == ' ')
            *at = '_';
    return text;
}

/* Which units a number may carry: one definition for each measure that such a shape is used with. Shapes and sections
 * share $defs, hence the prefix. */
static const char *shape_name(schema *s, cm_shape shape, cm_measure measure)
{
    const cm_shape_row *row = &CM_SHAPES[shape];
    bool of_measure = (row->pattern && strstr(row->pattern, CM_UNIT_MARK)) ||
                      row->list_of != CM_SHAPE_COUNT || row->map_of != CM_SHAPE_COUNT;
    return of_measure ? cm_format(s->session, "value_%s_%d", row->name, (int)measure)
                      : cm_format(s->session, "value_%s", row->name);
}

static bool carries(cm_shape shape, cm_measure measure, cm_quantity quantity)
{
    if (shape == CM_SHAPE_UNCERTAINTY || shape == CM_SHAPE_TOLERANCE || measure == CM_MEASURE_ANY)
        return true; /* a share of the value, or what the value is measured in */
    if (measure == CM_MEASURE_VIBRATION)
        return quantity == CM_DISPLACEMENT || quantity == CM_VELOCITY || quantity == CM_ACCELERATION;
    return CM_MEASURES[measure].quantity != CM_ANGLE && CM_MEASURES[measure].quantity == quantity;
}

/* "um pp" as a pattern: blanks where you like, and p-p. */
static void add_unit_pattern(cm_text *out, const char *name)
{
    cm_text_add(out, out->length ? "|" : "( *(");
    for (; *name; name++)
        if (*name == ' ')
            cm_text_add(out, " *");
        else if (strcmp(name, "pp") == 0)
            cm_text_add(out, "p-?");
        else if (*name == 'u')
            cm_text_add(out, "[uµμ]");
        else
            cm_text_add_bytes(out, name, 1);
}

static const char *units_pattern(schema *s, cm_shape shape, cm_measure measure)
{
    cm_text out = {.session = s->session};
    for (const cm_unit *unit = CM_UNITS; unit->name; unit++)
        if (carries(shape, measure, unit->quantity))
            add_unit_pattern(&out, unit->name);
    if (!out.length)
        return "";
    cm_text_add(&out, "))?");
    return out.bytes;
}

static const char *pattern_of(schema *s, cm_shape shape, cm_measure measure)
{
    const char *pattern = CM_SHAPES[shape].pattern ? CM_SHAPES[shape].pattern : "^.";
    const char *mark = strstr(pattern, CM_UNIT_MARK);
    if (!mark)
        return pattern;
    return cm_format(s->session, "%.*s%s%s", (int)(mark - pattern), pattern, units_pattern(s, shape, measure),
                     mark + strlen(CM_UNIT_MARK));
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

static cm_node *add_shape(schema *s, cm_node *to, const char *key, cm_shape which, cm_measure measure);

static void add_scalar_form(schema *s, cm_node *forms, cm_shape which, cm_measure measure)
{
    cm_node *form = cm_node_add_map(s->session, forms, NULL);
    add_types(s, form, CM_SHAPES[which].types);
    cm_node_add_text(s->session, form, "pattern", pattern_of(s, which, measure));
}

static void fill_shape(schema *s, cm_node *map, cm_shape which, cm_measure measure)
{
    const cm_shape_row *shape = &CM_SHAPES[which];
    cm_node_add_text(s->session, map, "description", shape->words);
    cm_node *forms = cm_node_add_list(s->session, map, "anyOf");
    if (shape->types)
        add_scalar_form(s, forms, which, measure);
    if (shape->list_of != CM_SHAPE_COUNT) {
        cm_node *form = cm_node_add_map(s->session, forms, NULL);
        cm_node_add_text(s->session, form, "type", "array");
        add_shape(s, form, "items", shape->list_of, measure);
    }
    if (shape->section) {
        add_reference(s, forms, NULL, shape->section->name);
        define_section(s, shape->section);
    }
    if (shape->map_of != CM_SHAPE_COUNT) {
        cm_node *form = cm_node_add_map(s->session, forms, NULL);
        cm_node_add_text(s->session, form, "type", "object");
        add_shape(s, form, "additionalProperties", shape->map_of, measure);
    }
}

/* A reference to a shape, which is defined when it is met first. */
static cm_node *add_shape(schema *s, cm_node *to, const char *key, cm_shape which, cm_measure measure)
{
    const char *name = shape_name(s, which, measure);
    if (!cm_node_get(s->definitions, name))
        fill_shape(s, cm_node_add_map(s->session, s->definitions, name), which, measure);
    return add_reference(s, to, key, name);
}

/* ---- keys and sections ---- */

static void add_choices(schema *s, cm_node *to, const char *const *choices)
{
    cm_node *list = cm_node_add_list(s->session, to, "enum");
    for (; *choices; choices++)
        cm_node_add_text(s->session, list, NULL, *choices);
}

static void refer_to_shape(schema *s, cm_node *to, const cm_key *key)
{
    cm_node *reference = add_shape(s, cm_node_map(s->session), "form", key->shape, key->measure);
    cm_node_add_text(s->session, to, "$ref", cm_node_get(reference, "$ref")->text);
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
        add_shape(s, forms, NULL, key->shape, key->measure);
        add_reference(s, forms, NULL, key->section->name);
    } else {
        refer_to_shape(s, to, key);
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
    if (range->most < HUGE_VAL)
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
    cm_node_add(root, "$defs", s.definitions);
    *json = cm_json_write(session, root);
    return cm_leave(session);
}
