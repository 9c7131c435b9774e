/* SPDX-License-Identifier: MIT */
/* The table of keys as a document: one table per section. */
#include "case/keys.h"

#include "base/text.h"
#include "countermass/case.h"

static const char INTRODUCTION[] =
    "# The case file\n\n"
    "This document is made from the table of keys that the program reads case files by.\n"
    "`countermass schema` prints the same table as a JSON Schema.\n\n"
    "A case file is YAML 1.1, UTF-8, one document. Every value is text until the table says what it is.\n\n"
    "* Numbers are written `12`, `0.5` or `1.2e3`, with a decimal point. A bare number takes the unit of "
    "`units`;\n"
    "  a number may carry its own: `120 g`, `8.5 mil pp`, `50 Hz`, `0.5 %`. `p-p` and `r/min` are accepted "
    "too.\n"
    "* Readings, limit, alarm, trip, repeatability, slow roll, coefficients and their uncertainty take the "
    "unit of\n"
    "  their sensor. Displacement, velocity and acceleration are never converted into each other.\n"
    "* Sizes are 0 or lie between 1e-30 and 1e30, angles between -1e6 and 1e6 degrees.\n"
    "* A phasor is `number [unit] @ degrees`: `82 @ 143`.\n"
    "* Booleans are `true` and `false`. A key without a value is an error.\n"
    "* Ids are any text without control characters. Ids that contain a colon, `#`, or begin with `@`, `*`, "
    "`&` or `!`\n"
    "  need quotes.\n"
    "* The parts may stand in any order; unknown and repeated keys are errors.\n";

/* A bar would end the cell. */
static void add_cell(cm_text *text, const char *words)
{
    cm_text_add(text, "| ");
    for (; words && *words; words++) {
        cm_text_add(text, *words == '|' ? "\\" : "");
        cm_text_add_bytes(text, words, 1);
    }
    cm_text_add(text, " ");
}

static const char *kind_of(cm_session *session, const cm_key *key)
{
    cm_text text = {.session = session};
    if (key->shape == CM_SHAPE_CHOICES)
        cm_text_add(&text, "list of ");
    if (key->shape == CM_SHAPE_CHOICE || key->shape == CM_SHAPE_CHOICES)
        for (const char *const *choice = key->choices; *choice; choice++)
            cm_text_print(&text, "%s`%s`", choice == key->choices ? "" : ", ", *choice);
    else
        cm_text_add(&text, CM_SHAPES[key->shape].words);
    if (key->range != CM_ANY_VALUE)
        cm_text_print(&text, ", %s", CM_RANGES[key->range].words);
    return text.bytes;
}

static void add_key(cm_text *text, const cm_key *key)
{
    add_cell(text, cm_format(text->session, "`%s`", key->name));
    add_cell(text, kind_of(text->session, key));
    add_cell(text, key->required ? "required" : key->fallback ? key->fallback : "");
    add_cell(text, key->about);
    add_cell(text, key->example ? cm_format(text->session, "`%s: %s`", key->name, key->example) : "");
    cm_text_add(text, "|\n");
}

static void add_section(cm_text *text, const cm_section *section)
{
    cm_text_print(text, "\n## %s\n\n%s\n\n", section->name, section->about);
    cm_text_add(text, "| key | value | default | meaning | example |\n| --- | --- | --- | --- | --- |\n");
    for (int k = 0; k < section->count; k++)
        add_key(text, &section->keys[k]);
    for (const char *const *later = section->later; later && *later; later++)
        cm_text_print(text, "%s`%s`%s", later == section->later ? "\nNot supported yet: " : ", ", *later,
                      later[1] ? "" : ".\n");
}

/* Sections that several keys share are printed where they are met first. */
static void add_below(cm_text *text, const cm_section *section, const cm_section **met, int *count)
{
    for (int k = 0; k < *count; k++)
        if (met[k] == section)
            return;
    met[(*count)++] = section;
    add_section(text, section);
    for (int k = 0; k < section->count; k++)
        if (section->keys[k].section)
            add_below(text, section->keys[k].section, met, count);
}

cm_status cm_case_reference(cm_session *session, const char **markdown)
{
    CM_ENTER(session);
    enum { MOST_SECTIONS = 64 };
    const cm_section *met[MOST_SECTIONS] = {NULL};
    int count = 0;
    cm_text text = {.session = session};
    cm_text_add(&text, INTRODUCTION);
    add_below(&text, &CM_CASE_FILE, met, &count);
    *markdown = text.bytes;
    return cm_leave(session);
}
