/* SPDX-License-Identifier: MIT */
/**
 * @file index.h
 * Names and their numbers: a hash table, so that large cases are read in one pass.
 */
#ifndef CASE_INDEX_H
#define CASE_INDEX_H

#include "base/session.h"

typedef struct cm_index {
    int count, room;
    const char **names;
    cm_place *places;
    int *numbers;
    int slot_count; /* a power of two */
    int *slots;     /* entry + 1; 0: free */
} cm_index;

/** The entry with this name, or -1. */
int cm_index_entry(const cm_index *index, const char *name);

/** The number filed under this name, or -1. */
int cm_index_find(const cm_index *index, const char *name);

/** Files `number` under a name that is not there yet. The name is not copied. */
void cm_index_add(cm_session *session, cm_index *index, const char *name, int number, cm_place place);

#endif
