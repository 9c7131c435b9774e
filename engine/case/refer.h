/* SPDX-License-Identifier: MIT */
/**
 * @file refer.h
 * Ids: filing them, and finding what an id refers to.
 */
#ifndef CASE_REFER_H
#define CASE_REFER_H

#include "case/reader.h"

/** Files the id of an entry (NULL: missing, already reported); a repeated id is an error. `what`: "plane". */
void cm_file_id(cm_reader *reader, cm_index *index, const char *what, const char *id, int number,
                const cm_node *node);

/** The number behind an id, or -1 after an error that names the nearest valid one. */
int cm_refer(cm_reader *reader, const cm_index *index, const char *what, const char *id,
             const cm_place *place);

/** The same for the key of an entry in a map such as `fixed` or `readings`. */
int cm_refer_key(cm_reader *reader, const cm_index *index, const char *what, const cm_node *entry);

/** The same for a scalar. */
int cm_refer_node(cm_reader *reader, const cm_index *index, const char *what, const cm_node *node);

/** The number of a plane, or plane_count + the number of a set. */
int cm_refer_key_part(cm_reader *reader, const cm_node *entry);
int cm_refer_node_part(cm_reader *reader, const cm_node *node);
cm_read_value cm_read_part;

/** The set behind such a number; NULL: a plane. */
const cm_bundle *cm_set_of(const cm_reader *reader, int part);

/** Readers of references: the number goes to an int. */
cm_read_value cm_read_plane, cm_read_speed, cm_read_sensor, cm_read_run;

#endif
