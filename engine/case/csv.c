/* SPDX-License-Identifier: MIT */
/* Tables as comma-separated values: a header with the names of the columns in any order, then one entry a line. Cells may
 * stand in double quotes (a quote inside is doubled). Blank lines, lines of empty cells and a byte order mark are skipped. */
#include "case/csv.h"
#include "case/refer.h"
#include "case/values.h"

#include "base/file.h"

#include <string.h>

enum { MOST_BYTES = 32 * 1024 * 1024, MOST_CELLS = 64 };

/* One line of the file, cut into cells in place. */
typedef struct cut_line {
    int count;
    bool broken; /* an error has been told of it */
    cm_node cell[MOST_CELLS];
} cut_line;

typedef struct scanner {
    cm_reader *reader;
    const char *path;
    char *at;
    int line;
} scanner;

static bool is_continuation(char byte)
{
    return ((unsigned char)byte & 0xC0) == 0x80;
}

static char *trim(char *from, char *to)
{
    while (to > from && (to[-1] == ' ' || to[-1] == '\t' || to[-1] == '\r'))
        to--;
    *to = '\0';
    return from + strspn(from, " \t");
}

/* A quoted cell from behind its first quote; returns where the cell ends, or NULL when no quote closes it. */
static char *unquote(char *from)
{
    char *to = from;
    for (char *at = from; *at && *at != '\n'; at++) {
        if (*at == '"' && at[1] != '"') {
            *to = '\0';
            return at + 1;
        }
        at += *at == '"';
        *to++ = *at;
    }
    return NULL;
}

static int column_of(const char *start, const char *at)
{
    int column = 1;
    for (; start < at; start++)
        column += !is_continuation(*start);
    return column;
}

/* Cuts the next cell; returns what stands behind it: a comma, a line end, or the end of the file. */
static char take_cell(scanner *s, const char *start, cut_line *line)
{
    s->at += strspn(s->at, " \t");
    bool quoted = *s->at == '"';
    char *from = s->at + quoted, *end = quoted ? unquote(from) : NULL;
    cm_place place = {s->path, s->line, column_of(start, s->at)};
    char *stop = end ? end : from;
    stop += strcspn(stop, ",\n");
    char behind = *stop;
    if (quoted && (!end || *trim(end, stop))) {
        cm_wrong(s->reader, &place, "the quotes of this cell are not closed where the cell ends");
        line->broken = true;
    } else if (!quoted)
        from = trim(from, stop);
    if (line->count < MOST_CELLS)
        line->cell[line->count] =
            (cm_node){.kind = CM_TEXT, .place = place, .key_place = place, .text = from};
    line->count++;
    s->at = stop + (behind != '\0');
    return behind;
}

static bool is_blank(const cut_line *line)
{
    for (int k = 0; k < line->count && k < MOST_CELLS; k++)
        if (*line->cell[k].text)
            return false;
    return line->count <= MOST_CELLS;
}

/* The next line that is not blank. */
static bool next_line(scanner *s, cut_line *line)
{
    while (*s->at) {
        const char *start = s->at;
        line->count = 0;
        line->broken = false;
        s->line++;
        while (take_cell(s, start, line) == ',')
            continue;
        if (line->broken || !is_blank(line))
            return true;
    }
    return false;
}

/* ---- header and lines ---- */

static int column_named(const cut_line *header, const char *name)
{
    for (int k = 0; k < header->count && k < MOST_CELLS; k++)
        if (!strcmp(header->cell[k].text, name))
            return k;
    return -1;
}

/* What a spreadsheet may have put between cells in place of commas; NULL: nothing that is known. */
static const char *other_separator(const cut_line *header)
{
    const char *text = header->count == 1 ? header->cell[0].text : "";
    return strchr(text, ';') ? "semicolons" : strchr(text, '\t') ? "tabs" : NULL;
}

static void miss_column(scanner *s, const cm_csv_form *form, const cut_line *header, const char *name)
{
    cm_place top = {s->path, 1, 1};
    const char *between = s->line ? other_separator(header) : NULL;
    if (between)
        cm_wrong(s->reader, &top,
                 "the cells of this table are separated by %s; save it with commas between cells, and with "
                 "points as "
                 "decimal marks",
                 between);
    else
        cm_wrong(s->reader, &top, "the first line has no column '%s'; it must name %s", name, form->list);
}

static bool stands_once(scanner *s, const cut_line *header, int column)
{
    for (int k = column + 1; k < header->count && k < MOST_CELLS; k++)
        if (!strcmp(header->cell[k].text, header->cell[column].text)) {
            cm_wrong(s->reader, &header->cell[k].place, "the column '%s' stands in the first line twice",
                     header->cell[k].text);
            return false;
        }
    return true;
}

/* Where each of the columns stands; false after an error. */
static bool read_header(scanner *s, const cm_csv_form *form, cut_line *header, int *column)
{
    bool complete = next_line(s, header);
    for (int k = 0; k < form->count; k++) {
        column[k] = complete ? column_named(header, form->names[k]) : -1;
        if (column[k] >= 0 && !stands_once(s, header, column[k]))
            return false;
        if (column[k] >= 0 || (complete && k >= form->count - form->optional))
            continue;
        if (!header->broken)
            miss_column(s, form, header, form->names[k]);
        return false;
    }
    return !header->broken;
}

static void keep_line(cm_reader *reader, cm_csv *csv, const cut_line *line, const int *column)
{
    /* an array of pointers: NOLINTNEXTLINE(bugprone-sizeof-expression) */
    csv->lines = cm_grow(reader->session, csv->lines, csv->count, &csv->room, sizeof *csv->lines);
    cm_node *cells = csv->lines[csv->count++] = CM_NEW(reader->session, csv->form->count, cm_node);
    for (int k = 0; k < csv->form->count; k++)
        cells[k] = column[k] < 0 ? (cm_node){.kind = CM_TEXT, .text = ""} : line->cell[column[k]];
}

static void read_lines(scanner *s, cm_csv *csv, const cut_line *header, cut_line *line, const int *column)
{
    while (next_line(s, line)) {
        cm_place place = {s->path, s->line, 1};
        if (line->count == header->count && !line->broken)
            keep_line(s->reader, csv, line, column);
        else if (!line->broken)
            cm_wrong(s->reader, &place, "this line has %d cells, but the first line has %d", line->count,
                     header->count);
    }
}

/* A line end of carriage returns alone, as some spreadsheets write it; NULL: there is none. */
static const char *lone_return(const char *bytes)
{
    for (const char *at = bytes; (at = strchr(at, '\r')); at++)
        if (at[1] && at[1] != '\r' && at[1] != '\n')
            return at;
    return NULL;
}

/* False after an error that makes nonsense of the rest. */
static bool is_table(cm_reader *reader, const char *path, const char *bytes, size_t length)
{
    const char *lone = lone_return(bytes);
    cm_place place = {path, 1, 1};
    if (strlen(bytes) < length) {
        cm_wrong(reader, &place, "the file contains a zero byte; it is not text");
        return false;
    }
    if (!lone)
        return true;
    const char *start = bytes;
    for (const char *at = bytes; at < lone; at++)
        if (*at == '\n') {
            place.line++;
            start = at + 1;
        }
    place.column = column_of(start, lone);
    cm_wrong(reader, &place,
             "a line ends in a carriage return alone here; save the table with line ends of LF or CR LF");
    return false;
}

static cm_csv *read_file(cm_reader *reader, const cm_csv_form *form, const char *path)
{
    size_t length;
    char *bytes = cm_file_read(reader->session, path, MOST_BYTES, &length);
    bool marked = !strncmp(bytes, "\xEF\xBB\xBF", 3);
    scanner s = {reader, path, bytes + (marked ? 3 : 0), 0};
    cm_csv *csv = CM_NEW(reader->session, 1, cm_csv);
    cut_line *header = CM_NEW(reader->session, 2, cut_line), *line = header + 1;
    int *column = CM_NEW(reader->session, form->count, int);
    csv->form = form;
    csv->path = path;
    if (is_table(reader, path, s.at, length - (size_t)(s.at - bytes)) &&
        read_header(&s, form, header, column))
        read_lines(&s, csv, header, line, column);
    return csv;
}

/* The path of a table in the folder of the case, or NULL after an error. */
static const char *path_of(cm_reader *reader, const cm_node *name)
{
    const char *text = cm_scalar(reader, name, "the name of a file");
    const char *path = text ? cm_path_beside(reader->session, reader->c->file, text) : NULL;
    if (!text)
        return NULL;
    if (!path || cm_path_strays(reader->c->file, path))
        cm_wrong(reader, &name->place, "'%s' is outside the folder of the case; name a file in it", text);
    else if (!cm_file_is_there(path)) /* nor is it a pipe, which might never end */
        cm_wrong(reader, &name->place,
                 "the table '%s' cannot be opened: there is no file %s that may be read", text, path);
    else
        return path;
    return NULL;
}

const cm_csv *cm_csv_of(cm_reader *reader, const cm_csv_form *form, const cm_node *name)
{
    const char *path = path_of(reader, name);
    if (!path)
        return NULL;
    for (const cm_csv *known = reader->csv; known; known = known->next)
        if (known->form == form && !strcmp(known->path, path))
            return known;
    cm_csv *csv = read_file(reader, form, path);
    csv->next = reader->csv;
    reader->csv = csv;
    return csv;
}
