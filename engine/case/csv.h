/* SPDX-License-Identifier: MIT */
/**
 * @file csv.h
 * Tables beside the case as comma-separated values, whatever their columns.
 */
#ifndef CASE_CSV_H
#define CASE_CSV_H

#include "case/reader.h"

/** What a table is read as: the columns its first line must name, in any order. Compared by address. */
typedef struct cm_csv_form {
    int count;    /* columns, the optional ones last */
    int optional; /* cells of those that are not there are empty */
    const char *const *names;
    const char *list; /* the names in words, for messages */
} cm_csv_form;

struct cm_csv {
    const cm_csv_form *form;
    const char *path;
    int count, room;
    cm_node **lines; /* form->count scalars each, with file, line and column */
    cm_csv *next;
};

/** Reads a file named in the case, once however often it is named; wrong lines are reported. NULL after an error of the
 *  name itself: the file must lie in the folder of the case, links followed. */
const cm_csv *cm_csv_of(cm_reader *reader, const cm_csv_form *form, const cm_node *name);

#endif
