/* SPDX-License-Identifier: MIT */
/**
 * @file document.h
 * A page for people before it has a form: a list of titles, paragraphs,
 * items, tables and lines to copy. Renderers give it one.
 */
#ifndef PAGE_DOCUMENT_H
#define PAGE_DOCUMENT_H

#include "base/session.h"

/** Greatest width of a page of text, in columns. */
#define CM_PAGE_COLUMNS 80

typedef enum cm_tone { CM_PLAIN, CM_GOOD, CM_CAREFUL, CM_BAD } cm_tone;

typedef enum cm_part_kind {
    CM_PART_TITLE,
    CM_PART_SECTION,
    CM_PART_WORDS, /* a paragraph, wrapped */
    CM_PART_ITEM,  /* one point of a list, wrapped with a hanging indent */
    CM_PART_COPY,  /* a line to copy as it stands */
    CM_PART_TABLE
} cm_part_kind;

/** One column of a table; `key` columns come first and repeat when a wide table is broken into several. */
typedef struct cm_column {
    const char *head;
    const char *unit; /* second line of the head; NULL: none */
    bool right;       /* numbers stand to the right */
    bool key;
    int most; /* greatest width, beyond which a cell is shortened; 0: as usual */
} cm_column;

typedef struct cm_table {
    int columns, rows, room;
    const cm_column *column;
    const char **cells; /* row by row */
} cm_table;

typedef struct cm_part {
    cm_part_kind kind;
    cm_tone tone;
    const char *text;
    const cm_table *table;
    struct cm_part *next;
} cm_part;

typedef struct cm_document {
    cm_session *session;
    cm_part *first, *last;
} cm_document;

cm_document *cm_document_new(cm_session *session);

void cm_title(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_section(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_say(cm_document *d, cm_tone tone, const char *format, ...) CM_PRINTF(3, 4);
void cm_item(cm_document *d, cm_tone tone, const char *format, ...) CM_PRINTF(3, 4);
void cm_copy_line(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);

/** Opens a table; `columns` (copied) describes its `count` columns. */
cm_table *cm_table_open(cm_document *d, int count, const cm_column *columns);

/** Adds a row of `columns` cells (the texts are kept, not copied; NULL: empty). */
void cm_table_row(cm_document *d, cm_table *table, const char *const *cells);

/** Plain text of at most CM_PAGE_COLUMNS columns; `colour`: with terminal colours. */
const char *cm_document_text(cm_session *session, const cm_document *d, bool colour);

#endif
