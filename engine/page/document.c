/* SPDX-License-Identifier: MIT */
/* Building a document part by part. */
#include "page/document.h"

#include <ctype.h>
#include <string.h>

cm_document *cm_document_new(cm_session *session)
{
    cm_document *d = CM_NEW(session, 1, cm_document);
    d->session = session;
    return d;
}

static cm_part *new_part(cm_document *d, cm_part_kind kind, cm_tone tone, const char *text)
{
    cm_part *part = CM_NEW(d->session, 1, cm_part);
    *part = (cm_part){.kind = kind, .tone = tone, .text = text};
    return part;
}

static cm_part *add_part(cm_document *d, cm_part_kind kind, cm_tone tone, const char *text)
{
    cm_part *part = new_part(d, kind, tone, text);
    if (d->last)
        d->last->next = part;
    else
        d->first = part;
    d->last = part;
    return part;
}

static void add_list(cm_document *d, cm_part_kind kind, cm_tone tone, const char *format, va_list arguments)
{
    add_part(d, kind, tone, cm_format_list(d->session, format, arguments));
}

void cm_title(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_TITLE, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_under_title(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    cm_part *part = new_part(d, CM_PART_WORDS, CM_PLAIN, cm_format_list(d->session, format, arguments));
    va_end(arguments);
    part->next = d->first->next;
    d->first->next = part;
    if (d->last == d->first)
        d->last = part;
}

/* The format's own words without their capitals but the first; what is put in keeps its own. */
static const char *calm_format(cm_session *session, const char *format)
{
    char *calm = cm_copy_text(session, format, strlen(format));
    for (char *c = calm; *c; c++)
        if (c > calm)
            *c = (char)tolower((unsigned char)*c);
    return calm;
}

void cm_section(cm_document *d, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    add_list(d, CM_PART_SECTION, CM_PLAIN, format, arguments);
    d->last->calm = cm_format_list(d->session, calm_format(d->session, format), again);
    va_end(again);
    va_end(arguments);
}

void cm_say(cm_document *d, cm_tone tone, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_WORDS, tone, format, arguments);
    va_end(arguments);
}

void cm_item(cm_document *d, cm_tone tone, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_ITEM, tone, format, arguments);
    va_end(arguments);
}

void cm_copy_line(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_COPY, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_head(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_HEAD, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_big(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_BIG, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_blank(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_BLANK, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_tick(cm_document *d, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_list(d, CM_PART_TICK, CM_PLAIN, format, arguments);
    va_end(arguments);
}

void cm_figure(cm_document *d, const cm_drawing *drawing)
{
    add_part(d, CM_PART_FIGURE, CM_PLAIN, drawing->description)->drawing = drawing;
}

void cm_open_group(cm_document *d, const char *layout)
{
    add_part(d, CM_PART_OPEN, CM_PLAIN, layout);
}

void cm_close_group(cm_document *d)
{
    add_part(d, CM_PART_CLOSE, CM_PLAIN, NULL);
}

void cm_source_lines(cm_document *d, const char *lines)
{
    add_part(d, CM_PART_SOURCE, CM_PLAIN, lines);
}

void cm_data(cm_document *d, const char *name, const cm_node *tree)
{
    add_part(d, CM_PART_DATA, CM_PLAIN, name)->data = tree;
}

cm_table *cm_table_open(cm_document *d, int count, const cm_column *columns)
{
    cm_table *table = CM_NEW(d->session, 1, cm_table);
    cm_column *copy = CM_NEW(d->session, count, cm_column);
    memcpy(copy, columns, (size_t)count * sizeof *copy);
    *table = (cm_table){.columns = count, .column = copy};
    add_part(d, CM_PART_TABLE, CM_PLAIN, NULL)->table = table;
    return table;
}

void cm_table_row(cm_document *d, cm_table *table, const char *const *cells)
{
    size_t row = (size_t)table->columns * sizeof *table->cells;
    table->cells = cm_grow(d->session, table->cells, table->rows, &table->room, row);
    memcpy(table->cells + (size_t)table->rows * (size_t)table->columns, cells, row);
    table->rows++;
}
