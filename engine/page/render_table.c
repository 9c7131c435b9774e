/* SPDX-License-Identifier: MIT */
/*
 * Tables as aligned text. Every column is as wide as its widest cell, but at
 * most what the column says, else MOST_KEY columns (key) or MOST_OTHER (others):
 * longer texts lose their middle to an ellipsis. Columns are put on a line while they fit; what is
 * left goes into further tables under the same key columns.
 */
#include "page/render_table.h"

#include "page/columns.h"

enum { INDENT = 2, BETWEEN = 2, MOST_KEY = 20, MOST_OTHER = 28 };

static const char *cell(const cm_table *table, int row, int column)
{
    const char *text = table->cells[(size_t)row * (size_t)table->columns + (size_t)column];
    return text ? text : "";
}

static int wider(int width, const char *text)
{
    int columns = text ? cm_columns(text) : 0;
    return columns > width ? columns : width;
}

/* Puts cells that are too long in their shortened form; names that differ stay different. */
static void shorten_column(cm_session *session, cm_table *table, int column, int most)
{
    const char **cells = CM_NEW(session, table->rows, const char *);
    for (int r = 0; r < table->rows; r++)
        cells[r] = cell(table, r, column);
    cells = cm_shorten_apart(session, table->rows, cells, most);
    for (int r = 0; r < table->rows; r++)
        table->cells[(size_t)r * (size_t)table->columns + (size_t)column] = cells[r];
}

/* Widths of the columns; cells that are wider are shortened. */
static int *column_widths(cm_session *session, cm_table *table)
{
    int *width = CM_NEW(session, table->columns, int);
    for (int c = 0; c < table->columns; c++) {
        width[c] = wider(wider(0, table->column[c].head), table->column[c].unit);
        for (int r = 0; r < table->rows; r++)
            width[c] = wider(width[c], cell(table, r, c));
        int most = table->column[c].most  ? table->column[c].most
                   : table->column[c].key ? MOST_KEY
                                          : MOST_OTHER;
        if (width[c] <= most)
            continue;
        width[c] = most;
        shorten_column(session, table, c, most);
    }
    return width;
}

/* A column that is empty throughout takes no room. */
static int room_for(int width)
{
    return width ? BETWEEN + width : 0;
}

/* Which columns stand in the table that starts with column `from` (not a key); returns the first that does not fit. */
static int choose_columns(const cm_table *table, const int *width, int from, bool *chosen)
{
    int used = INDENT - BETWEEN, c = 0;
    for (; c < table->columns && table->column[c].key; c++) {
        chosen[c] = true;
        used += room_for(width[c]);
    }
    for (int k = c; k < table->columns; k++)
        chosen[k] = false;
    for (c = from; c < table->columns; c++) {
        used += room_for(width[c]);
        if (used > CM_PAGE_COLUMNS && c > from)
            break;
        chosen[c] = true;
    }
    return c;
}

static void add_cell(cm_text *line, const char *text, int width, bool right, int *owed)
{
    const char *shown = cm_shorten(line->session, text, width);
    int space = width - cm_columns(shown);
    cm_text_add_blanks(line, *owed + (right ? space : 0));
    cm_text_add(line, shown);
    *owed = BETWEEN + (right ? 0 : space); /* blanks are written with the next cell: no line ends in blanks */
}

typedef const char *(*cell_source)(const cm_table *table, int row, int column);

static const char *head_of(const cm_table *table, int row, int column)
{
    const char *text = row ? table->column[column].unit : table->column[column].head;
    return text ? text : "";
}

static void add_line(cm_text *out, const cm_table *table, const int *width, const bool *chosen,
                     cell_source source, int row)
{
    int owed = INDENT;
    for (int c = 0; c < table->columns; c++) {
        const char *text = chosen[c] ? source(table, row, c) : NULL;
        if (text && *text)
            add_cell(out, text, width[c], table->column[c].right, &owed);
        else if (chosen[c])
            owed += room_for(width[c]);
    }
    cm_text_add(out, "\n");
}

static bool has_units(const cm_table *table, const bool *chosen)
{
    for (int c = 0; c < table->columns; c++)
        if (chosen[c] && table->column[c].unit)
            return true;
    return false;
}

static void add_lines(cm_text *out, const cm_table *table, const int *width, const bool *chosen)
{
    add_line(out, table, width, chosen, head_of, 0);
    if (has_units(table, chosen))
        add_line(out, table, width, chosen, head_of, 1);
    for (int r = 0; r < table->rows; r++)
        add_line(out, table, width, chosen, cell, r);
}

void cm_render_table(cm_text *out, const cm_table *given)
{
    cm_table own = *given, *table = &own;
    size_t cells = (size_t)table->rows * (size_t)table->columns;
    own.cells = CM_NEW(out->session, cells, const char *);
    for (size_t i = 0; i < cells; i++)
        own.cells[i] = given->cells[i];
    int *width = column_widths(out->session, table);
    bool *chosen = CM_NEW(out->session, table->columns, bool);
    int from = 0;
    while (from < table->columns && table->column[from].key)
        from++;
    for (bool more = false; from < table->columns || !more; more = true) {
        if (more)
            cm_text_add(out, "\n");
        from = choose_columns(table, width, from, chosen);
        add_lines(out, table, width, chosen);
    }
}
