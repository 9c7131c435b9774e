/* SPDX-License-Identifier: MIT */
/**
 * @file csv.h
 * Tables of readings beside the case: run, speed, sensor, amplitude, phase.
 */
#ifndef CASE_CSV_H
#define CASE_CSV_H

#include "case/reader.h"

enum { CM_CSV_RUN, CM_CSV_SPEED, CM_CSV_SENSOR, CM_CSV_AMPLITUDE, CM_CSV_PHASE, CM_CSV_COLUMNS };

typedef struct cm_csv_line {
    cm_node cell[CM_CSV_COLUMNS]; /* scalars with file, line and column */
} cm_csv_line;

struct cm_csv {
    const char *path;
    int count, room;
    cm_csv_line *lines;
    cm_csv *next;
};

/** Reads a file named in the case, once however often it is named; wrong lines are reported. NULL after an error of the
 *  name itself. */
const cm_csv *cm_csv_of(cm_reader *reader, const cm_node *name);

/** Reports lines of tables whose run is none of the case. */
void cm_csv_check_runs(cm_reader *reader);

#endif
