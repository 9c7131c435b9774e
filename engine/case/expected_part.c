/* SPDX-License-Identifier: MIT */
/* Results that a case promises: checked for shape, kept as written. */
#include "case/sections.h"
#include "case/values.h"

void cm_read_expected(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_map(reader, key, node, record);
    reader->c->expected = node;
}

void cm_read_tolerance(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    double value;
    if (node->kind == CM_MAP)
        cm_read_section(reader, key->section, node, NULL);
    else
        cm_number_of(reader, key->name, CM_MEASURE_ANY, CM_NOT_NEGATIVE, node, &value);
}

void cm_read_expected_value(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    cm_polar polar;
    if (node->kind == CM_MAP)
        cm_read_section(reader, key->section, node, NULL);
    else
        cm_phasor_of(reader, key->name, key->measure, node, &polar);
}
