/* SPDX-License-Identifier: MIT */
/**
 * @file names.h
 * A table from names to anything, for maps and anchors too large to search one by one.
 */
#ifndef TREE_NAMES_H
#define TREE_NAMES_H

#include "base/session.h"

typedef struct cm_name {
    const char *name;
    void *what;
} cm_name;

typedef struct cm_names {
    size_t count, room; /* room: a power of two, 0 at first */
    cm_name *slots;
} cm_names;

/** What the name stands for, or NULL. */
void *cm_names_get(const cm_names *names, const char *name);

/** Adds the name or gives it a new meaning; the text is not copied. */
void cm_names_set(cm_session *session, cm_names *names, const char *name, void *what);

#endif
