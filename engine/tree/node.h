/* SPDX-License-Identifier: MIT */
/**
 * @file node.h
 * A tree of maps, lists and scalars with places: what a case file is read
 * into and what a result is written from.
 */
#ifndef TREE_NODE_H
#define TREE_NODE_H

#include "base/session.h"

typedef enum cm_kind {
    CM_TEXT,   /* a scalar as written; every scalar of a case file is text until the schema says what it is */
    CM_NUMBER, /* results only */
    CM_BOOLEAN, /* results only */
    CM_NULL,    /* results only; NaN and infinity become this */
    CM_LIST,
    CM_MAP
} cm_kind;

typedef struct cm_node cm_node;
struct cm_node {
    cm_kind kind;
    bool quoted;     /* the scalar stood in quotes or was a block scalar */
    const char *key; /* in a map: the key; NULL in a list */
    cm_place place;  /* of the value */
    cm_place key_place;
    const char *text;      /* CM_TEXT */
    double number;         /* CM_NUMBER */
    bool truth;            /* CM_BOOLEAN */
    int count;             /* children */
    cm_node *first, *last; /* children */
    cm_node *next;         /* sibling */
};

cm_node *cm_node_map(cm_session *session);
cm_node *cm_node_list(cm_session *session);

/** Adds a child: to a map under `key`, to a list with key NULL. Returns the child. Keys and texts are not copied: they
 *  are words of the program or live in the session as the tree does. */
cm_node *cm_node_add(cm_node *parent, const char *key, cm_node *child);
cm_node *cm_node_add_map(cm_session *session, cm_node *parent, const char *key);
cm_node *cm_node_add_list(cm_session *session, cm_node *parent, const char *key);
cm_node *cm_node_add_text(cm_session *session, cm_node *parent, const char *key,
                          const char *text); /* NULL: null */
/** Adds a text to a map right after what stands under the key `before`; at the end when there is none. */
cm_node *cm_node_add_text_after(cm_session *session, cm_node *map, const char *before, const char *key,
                                const char *text);
cm_node *cm_node_add_number(cm_session *session, cm_node *parent, const char *key, double number);
cm_node *cm_node_add_boolean(cm_session *session, cm_node *parent, const char *key, bool truth);

/** The child with this key, or NULL. */
cm_node *cm_node_get(const cm_node *map, const char *key);

/** Reads one YAML document (UTF-8, YAML 1.1 syntax) into a tree. `name` is the file as the user gave it.
 *  Anchors and aliases within bounds (depth 64, a million nodes counted after expansion); tags, merge keys, keys
 *  that are not scalars, a second document, an empty file: leaves with CM_BAD_INPUT and the place. Repeated keys (left
 *  out) and empty values are reported (up to 20, then it leaves) and the tree comes back, so that the caller can report
 *  what else is wrong: see cm_fail_on_errors(). At most 32 MiB, texts at most 64 KiB. Aliases share children: a tree
 *  that was read is not to be changed. */
cm_node *cm_yaml_read(cm_session *session, const char *name, const char *bytes, size_t length);

/** JSON (two-space indent, short containers on one line) and YAML from the same tree; both end with a newline. */
char *cm_json_write(cm_session *session, const cm_node *tree);
char *cm_yaml_write(cm_session *session, const cm_node *tree);

/** The same as a part of a larger text: a value of a JSON list with so many blanks before it and no newline after it,
 *  an entry of a YAML list ("- ...") with its newline. */
char *cm_json_write_inside(cm_session *session, const cm_node *tree, int indent);
char *cm_yaml_write_entry(cm_session *session, const cm_node *tree, int indent);

#endif
