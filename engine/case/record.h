/* SPDX-License-Identifier: MIT */
/**
 * @file record.h
 * Influence records: what one job learned, as a file that later cases read as priors.
 */
#ifndef CASE_RECORD_H
#define CASE_RECORD_H

#include "case/reader.h"

/** A record as a case of its own: conventions, ids, and its coefficients as `known`. Errors go to `reader` with their
 *  place in the record; then NULL. */
const cm_case *cm_read_record(cm_reader *reader, const char *path, const char *bytes, size_t length);

/** Appends what the case can use of a record to its known coefficients, in the case's planes and radii. */
void cm_match_record(cm_reader *reader, const cm_case *record, const cm_known_entry *entry, int number);

#endif
