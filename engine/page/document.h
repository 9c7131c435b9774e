/* SPDX-License-Identifier: MIT */
/**
 * @file document.h
 * A page for people before it has a form: a list of titles, paragraphs,
 * items, tables and lines to copy. Renderers give it one.
 */
#ifndef PAGE_DOCUMENT_H
#define PAGE_DOCUMENT_H

#include "base/session.h"
#include "page/draw.h"
#include "tree/node.h"

/** Greatest width of a page of text, in columns. */
#define CM_PAGE_COLUMNS 80

typedef enum cm_tone { CM_PLAIN, CM_GOOD, CM_CAREFUL, CM_BAD } cm_tone;

typedef enum cm_part_kind {
    CM_PART_TITLE,
    CM_PART_SECTION,
    CM_PART_WORDS, /* a paragraph, wrapped */
    CM_PART_ITEM,  /* one point of a list, wrapped with a hanging indent */
    CM_PART_COPY,  /* a line to copy as it stands */
    CM_PART_TABLE,
    CM_PART_HEAD,   /* a heading inside a section */
    CM_PART_BIG,    /* the one line to read from afar */
    CM_PART_FIGURE, /* a drawing; on a page of text its description */
    CM_PART_OPEN,   /* what follows belongs together until CM_PART_CLOSE; the text is how pages lay it out */
    CM_PART_CLOSE,
    CM_PART_SOURCE, /* many lines to be kept as they stand */
    CM_PART_BLANK,  /* something to be filled in by hand */
    CM_PART_TICK,   /* something to be ticked off by hand */
    CM_PART_DATA    /* a tree for the page's script; nothing on a page of text */
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
    const char *calm; /* sections: the text without capitals that shout */
    const cm_table *table;
    const cm_drawing *drawing;
    const cm_node *data;
    struct cm_part *next;
} cm_part;

typedef struct cm_document {
    cm_session *session;
    cm_part *first, *last;
} cm_document;

cm_document *cm_document_new(cm_session *session);

void cm_title(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
/** A line of words right after the title that the document begins with. */
void cm_under_title(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_section(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_say(cm_document *d, cm_tone tone, const char *format, ...) CM_PRINTF(3, 4);
void cm_item(cm_document *d, cm_tone tone, const char *format, ...) CM_PRINTF(3, 4);
void cm_copy_line(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_head(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_big(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_blank(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);
void cm_tick(cm_document *d, const char *format, ...) CM_PRINTF(2, 3);

/** Adds a drawing. */
void cm_figure(cm_document *d, const cm_drawing *drawing);

/** Opens and closes a group; `layout` is one of "cards", "card", "dials", "keep", "screen", "sign". */
void cm_open_group(cm_document *d, const char *layout);
void cm_close_group(cm_document *d);

/** Adds lines as they stand (kept, not copied), or data for the script called `name`. */
void cm_source_lines(cm_document *d, const char *lines);
void cm_data(cm_document *d, const char *name, const cm_node *tree);

/** Opens a table; `columns` (copied) describes its `count` columns. */
cm_table *cm_table_open(cm_document *d, int count, const cm_column *columns);

/** Adds a row of `columns` cells (the texts are kept, not copied; NULL: empty). */
void cm_table_row(cm_document *d, cm_table *table, const char *const *cells);

/** Plain text of at most CM_PAGE_COLUMNS columns; `colour`: with terminal colours. */
const char *cm_document_text(cm_session *session, const cm_document *d, bool colour);

/** HTML elements of the document, without the page around them; `number` counts sections and drawings on through all
 *  documents of a page. */
void cm_document_html(cm_text *out, const cm_document *d, int *number);

/** A whole page around `body`: no network, no other file. */
const char *cm_html_page(cm_session *session, const char *title, const char *body);

#endif
