/* SPDX-License-Identifier: MIT */
/* Results that a case promises: checked for shape, kept as written. */
#include "case/sections.h"
#include "case/values.h"

#include <string.h>

void cm_read_expected(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_map(reader, key, node, record);
    reader->c->expected = node;
}

static void one_tolerance(cm_reader *reader, const cm_node *node)
{
    double value;
    cm_number_of(reader, "tolerance", CM_MEASURE_ANY, CM_NOT_NEGATIVE, node, &value);
}

void cm_read_tolerance(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    (void)record;
    if (node->kind != CM_MAP)
        one_tolerance(reader, node);
    else
        for (const cm_node *entry = node->first; entry; entry = entry->next)
            one_tolerance(reader, entry);
}

void cm_read_expected_value(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    cm_polar polar;
    if (node->kind == CM_MAP)
        cm_read_section(reader, key->section, node, NULL);
    else if (strcmp(node->kind == CM_TEXT ? node->text : "", "null") != 0)
        cm_phasor_of(reader, key->name, key->measure, node, &polar);
}
