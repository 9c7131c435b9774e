/* SPDX-License-Identifier: MIT */
/**
 * @file values.h
 * Scalars of the case file: texts, numbers with units, phasors, choices.
 */
#ifndef CASE_VALUES_H
#define CASE_VALUES_H

#include "case/reader.h"

/** True for a value that was left out (or ~, null): the YAML reader has reported it already. */
bool cm_is_nothing(const cm_node *node);

/** True for `{P1:1}`: YAML takes it for a key without a value; reported already as well. */
bool cm_lacks_blank(const cm_node *entry);

/** The text of a scalar; NULL after an error for a map, a list, or an empty value. `what`: what is needed. */
const char *cm_scalar(cm_reader *reader, const cm_node *node, const char *what);

/** A number in SI. `name` is the key for messages. False after an error. */
bool cm_number_of(cm_reader *reader, const char *name, cm_measure measure, cm_range range,
                  const cm_node *node, double *value);

/** A phasor `number [unit] @ degrees` with a size ≥ 0. False after an error. */
bool cm_phasor_of(cm_reader *reader, const char *name, cm_measure measure, const cm_node *node,
                  cm_polar *polar);

/** Texts go to a const char *, numbers to a double, phasors to a cm_polar, booleans to a bool, choices to an
 * int, units to a const cm_unit *. */
cm_read_value cm_read_text, cm_read_texts, cm_read_id, cm_read_number, cm_read_phasor, cm_read_boolean,
    cm_read_choice, cm_read_unit;

#endif
