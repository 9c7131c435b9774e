/* SPDX-License-Identifier: MIT */
/*
 * A document as HTML. Every text of the user passes page/markup.c; class names
 * and ids are the page's own. A table that is wider than a sheet of paper goes
 * on in further tables under the same key columns.
 */
#include "page/document.h"

#include "page/columns.h"
#include "page/markup.h"

#include <string.h>

enum {
    LONGEST_CELL = 44,
    LONGEST_KEY = 30,
    LONGEST_HEAD = 20,
    LONG = 12,
    SHEET_COLUMNS = 106,
    LEAST_COLUMN = 4,
    BETWEEN = 3
};

static const char *const TONE[] = {
    [CM_PLAIN] = "plain", [CM_GOOD] = "good", [CM_CAREFUL] = "careful", [CM_BAD] = "bad"};

typedef struct page_state {
    cm_text *out;
    int *number;
    bool in_section, in_list;
} page_state;

static void add(page_state *page, const char *markup)
{
    cm_text_add(page->out, markup);
}

static void element(page_state *page, const char *name, const char *looks, const char *text)
{
    cm_text_print(page->out, "<%s class=\"%s\">", name, looks);
    cm_markup_add(page->out, text);
    cm_text_print(page->out, "</%s>\n", name);
}

static void close_section(page_state *page)
{
    if (page->in_section)
        add(page, "</section>\n");
    page->in_section = false;
}

static void open_section(page_state *page, const cm_part *part)
{
    close_section(page);
    cm_text_print(page->out, "<section id=\"s%d\">\n<h2>", ++*page->number);
    cm_markup_add(page->out, part->calm);
    add(page, "</h2>\n");
    page->in_section = true;
}

static const char *cell_of(const cm_table *table, int row, int column)
{
    const char *text = table->cells[(size_t)row * (size_t)table->columns + (size_t)column];
    return text ? text : "";
}

/* A text and its shortened form; the whole stands where a pointer asks for it. */
static void add_shortened(page_state *page, const char *text, const char *shown)
{
    bool cut = strcmp(shown, cm_harmless(page->out->session, text)) != 0;
    if (cut) {
        add(page, "<abbr title=\"");
        cm_markup_add(page->out, text);
        add(page, "\">");
    }
    cm_markup_add(page->out, shown);
    if (cut)
        add(page, "</abbr>");
}

static int width_of(const char *text, int most)
{
    int columns = text ? cm_columns(text) : 0;
    return columns > most ? most : columns;
}

static int longest(const cm_table *table, int column)
{
    return table->column[column].key ? LONGEST_KEY : LONGEST_CELL;
}

static int column_width(const cm_table *table, int column)
{
    int head = width_of(table->column[column].head, LONGEST_HEAD),
        unit = width_of(table->column[column].unit, LONGEST_HEAD);
    int most = head > unit ? head : unit;
    for (int r = 0; r < table->rows; r++) {
        int width = width_of(cell_of(table, r, column), longest(table, column));
        most = width > most ? width : most;
    }
    return (most > LEAST_COLUMN ? most : LEAST_COLUMN) + BETWEEN;
}

/* A column without a word in it takes no room. */
static bool is_empty(const cm_table *table, int column)
{
    for (int r = 0; r < table->rows; r++)
        if (*cell_of(table, r, column))
            return false;
    return true;
}

/* Marks the columns of the table that starts with column `from`; returns the first that does not fit. */
static int choose_columns(const cm_table *table, int from, bool *chosen)
{
    int used = 0, c;
    for (c = 0; c < table->columns; c++) {
        chosen[c] = c < from && table->column[c].key && !is_empty(table, c);
        used += chosen[c] ? column_width(table, c) : 0;
    }
    for (c = from; c < table->columns; c++) {
        int width = is_empty(table, c) ? 0 : column_width(table, c);
        if (used + width > SHEET_COLUMNS && c > from)
            break;
        used += width;
        chosen[c] = width > 0;
    }
    return c;
}

/* The cells of the table as they are shown: long ones shortened, names that differ still different. */
static const char **shown_cells(cm_session *session, const cm_table *table)
{
    size_t columns = (size_t)table->columns;
    const char **all = CM_NEW(session, columns * (size_t)table->rows, const char *);
    const char **column = CM_NEW(session, table->rows, const char *);
    for (int c = 0; c < table->columns; c++) {
        for (int r = 0; r < table->rows; r++)
            column[r] = cell_of(table, r, c);
        const char **shown = cm_shorten_apart(session, table->rows, column, longest(table, c));
        for (int r = 0; r < table->rows; r++)
            all[(size_t)r * columns + (size_t)c] = shown[r];
    }
    return all;
}

static void add_head(page_state *page, const cm_table *table, const bool *chosen)
{
    add(page, "<thead><tr>");
    for (int c = 0; c < table->columns; c++) {
        if (!chosen[c])
            continue;
        const cm_column *column = &table->column[c];
        cm_text_print(page->out, "<th scope=\"col\"%s>", column->right ? " class=\"right\"" : "");
        const char *head = column->head && *column->head ? column->head : column->unit ? column->unit : "";
        add_shortened(page, head, cm_shorten(page->out->session, head, LONGEST_HEAD));
        if (column->unit && column->head && *column->head) {
            add(page, " <span class=\"unit\">");
            cm_markup_add(page->out, column->unit);
            add(page, "</span>");
        }
        add(page, "</th>");
    }
    add(page, "</tr></thead>\n<tbody>\n");
}

static void add_row(page_state *page, const cm_table *table, const bool *chosen, const char *const *shown,
                    int row)
{
    add(page, "<tr>");
    for (int c = 0; c < table->columns; c++) {
        if (!chosen[c])
            continue;
        bool key = table->column[c].key;
        bool wide = key && cm_columns(cell_of(table, row, c)) > LONG;
        add(page, wide                     ? "<th scope=\"row\" class=\"long\">"
                  : key                    ? "<th scope=\"row\">"
                  : table->column[c].right ? "<td class=\"right\">"
                                           : "<td>");
        add_shortened(page, cell_of(table, row, c), shown[(size_t)row * (size_t)table->columns + (size_t)c]);
        add(page, key ? "</th>" : "</td>");
    }
    add(page, "</tr>\n");
}

static void add_columns(page_state *page, const cm_table *table, const bool *chosen, const char *const *shown)
{
    add(page, "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"table\">\n<table>\n");
    add_head(page, table, chosen);
    for (int r = 0; r < table->rows; r++)
        add_row(page, table, chosen, shown, r);
    add(page, "</tbody>\n</table>\n</div>\n");
}

static void add_table(page_state *page, const cm_part *part)
{
    const cm_table *table = part->table;
    bool *chosen = CM_NEW(page->out->session, table->columns, bool);
    const char **shown = shown_cells(page->out->session, table);
    int from = 0;
    while (from < table->columns && table->column[from].key)
        from++;
    do {
        from = choose_columns(table, from, chosen);
        add_columns(page, table, chosen, shown);
    } while (from < table->columns);
}

static void add_figure(page_state *page, const cm_part *part)
{
    bool wide = part->drawing->wide;
    add(page, wide ? "<figure class=\"scroll\" tabindex=\"0\">\n" : "<figure>\n");
    cm_drawing_inside(page->out, part->drawing, ++*page->number);
    element(page, "figcaption", "caption", part->drawing->title);
    add(page, "</figure>\n");
}

static void add_source(page_state *page, const cm_part *part)
{
    add(page,
        "<pre class=\"source\" tabindex=\"0\">\n"); /* the first line break after <pre> does not count */
    cm_markup_add_lines(page->out, part->text);
    add(page, "</pre>\n");
}

static void add_data(page_state *page, const cm_part *part)
{
    cm_text_print(page->out, "<script type=\"application/json\" class=\"%s\">\n", part->text);
    cm_markup_add_data(page->out, part->data);
    add(page, "</script>\n");
}

static void add_blank(page_state *page, const cm_part *part)
{
    add(page, "<p class=\"blank\"><span>");
    cm_markup_add(page->out, part->text);
    add(page, "</span></p>\n");
}

static void add_open(page_state *page, const cm_part *part)
{
    cm_text_print(page->out, "<div class=\"%s\">\n", part->text);
}

static void add_close(page_state *page, const cm_part *part)
{
    (void)part;
    add(page, "</div>\n");
}

static void add_title(page_state *page, const cm_part *part)
{
    element(page, "h1", "title", part->text);
}

static void add_words(page_state *page, const cm_part *part)
{
    element(page, "p", TONE[part->tone], part->text);
}

static void add_item(page_state *page, const cm_part *part)
{
    element(page, "li", TONE[part->tone], part->text);
}

static void add_copy(page_state *page, const cm_part *part)
{
    element(page, "pre", "copy", part->text);
}

static void add_heading(page_state *page, const cm_part *part)
{
    element(page, "h3", "head", part->text);
}

static void add_big(page_state *page, const cm_part *part)
{
    element(page, "p", "big", part->text);
}

static void add_tick(page_state *page, const cm_part *part)
{
    element(page, "p", "tick", part->text);
}

static void (*const ADD[])(page_state *, const cm_part *) = {
    [CM_PART_TITLE] = add_title,  [CM_PART_SECTION] = open_section, [CM_PART_WORDS] = add_words,
    [CM_PART_ITEM] = add_item,    [CM_PART_COPY] = add_copy,        [CM_PART_TABLE] = add_table,
    [CM_PART_HEAD] = add_heading, [CM_PART_BIG] = add_big,          [CM_PART_FIGURE] = add_figure,
    [CM_PART_OPEN] = add_open,    [CM_PART_CLOSE] = add_close,      [CM_PART_SOURCE] = add_source,
    [CM_PART_BLANK] = add_blank,  [CM_PART_TICK] = add_tick,        [CM_PART_DATA] = add_data,
};

/* Points that follow each other make one list. */
static void turn_list(page_state *page, bool item)
{
    if (item != page->in_list)
        add(page, item ? "<ul>\n" : "</ul>\n");
    page->in_list = item;
}

/* Where to go from the top of a long page. */
static void add_contents(page_state *page, const cm_document *d)
{
    int number = *page->number;
    add(page, "<nav><details><summary>Contents</summary>\n<ul>\n");
    for (const cm_part *part = d->first; part; part = part->next) {
        number += part->kind == CM_PART_SECTION || part->kind == CM_PART_FIGURE;
        if (part->kind != CM_PART_SECTION)
            continue;
        cm_text_print(page->out, "<li><a href=\"#s%d\">", number);
        cm_markup_add(page->out, part->calm);
        add(page, "</a></li>\n");
    }
    add(page, "</ul>\n</details></nav>\n");
}

void cm_document_html(cm_text *out, const cm_document *d, int *number)
{
    page_state page = {.out = out, .number = number};
    add(&page, "<article>\n");
    for (const cm_part *part = d->first; part; part = part->next) {
        turn_list(&page, part->kind == CM_PART_ITEM);
        ADD[part->kind](&page, part);
        if (part->kind == CM_PART_TITLE)
            add_contents(&page, d);
    }
    turn_list(&page, false);
    close_section(&page);
    add(&page, "</article>\n");
}
