/* SPDX-License-Identifier: MIT */
/*
 * Lists of a result as one table for spreadsheets (RFC 4180: a header, lines that end in CR LF, the same number of
 * fields in each, quotes doubled).
 *
 * A map inside an entry becomes columns of its own ("after" with "amplitude": after_amplitude); a list of texts or
 * numbers becomes one cell with semicolons. A result with several lists puts them below each other, told apart by the
 * column "table". Cases are written by themselves and joined later, under the columns of all. Text that a spreadsheet would
 * take for a formula gets an apostrophe before it, also where one that separates cells by semicolons or tabs would begin
 * a cell.
 */
#include "page/page.h"

#include "base/number.h"
#include "base/text.h"
#include "page/columns.h"

#include <math.h>
#include <string.h>

enum { MOST_LISTS = 4 };
static const char FIELD = '\x1f', RECORD = '\x1e';
static const char SPLITS[] = ";\t\r\n"; /* separate cells or lines in some spreadsheet, quoted or not */

/* Which lists of a result are tables, or a map that makes one line; a name with a point lies in a map. Where the list
 * `answer` is empty, a line with the status says why. */
static const struct {
    const char *result, *answer;
    struct {
        const char *list, *table;
    } lists[MOST_LISTS];
} TABLES[] = {
    {"solve", "corrections", {{"corrections", "corrections"}, {"predicted", "predicted"}}},
    {"influence", NULL, {{"coefficients", NULL}}},
    {"planes", NULL, {{"sets", NULL}}},
    {"place", "placements", {{"placements", "placements"}, {"predicted", "predicted"}}},
    {"check", NULL, {{"findings", NULL}, {"so_far", "so_far"}}},
    {"tolerance",
     NULL,
     {{"permissible.bearings", "bearings"},
      {"permissible.planes", "planes"},
      {"reached.bearings", "reached"}}},
    {"trial", NULL, {{"planes", NULL}}},
    {"verify", NULL, {{"checks", NULL}}},
    {"error", NULL, {{"messages", "error"}}},
};

typedef struct sheet {
    cm_session *session;
    const char *file; /* NULL: no column for it */
    cm_text out;
    const char **columns;
    int count, room;
    const char **cells; /* of the entry being written; NULL while columns are collected */
} sheet;

/* Blanks (general category Zs of the Unicode character database, version 15.0). */
static bool is_blank(unsigned code)
{
    return code == ' ' || code == 0xA0 || code == 0x1680 || (code >= 0x2000 && code <= 0x200A) ||
           code == 0x202F || code == 0x205F || code == 0x3000;
}

/* Behind blanks, quotes and what is not shown: some programs skip these before they look for a formula. */
static const char *first_shown(const char *text)
{
    for (int bytes; *text; text += bytes)
        if (!cm_steers(text, &bytes) && *text != '"' && !is_blank(cm_character(text, &bytes)))
            break;
    return text;
}

static bool starts_formula(const char *text)
{
    static const char *const wide[] = {"\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d",
                                       "\xef\xbc\xa0"}; /* = + - @ */
    const char *first = first_shown(text);
    for (size_t k = 0; k < sizeof wide / sizeof *wide; k++)
        if (strncmp(first, wide[k], strlen(wide[k])) == 0)
            return true;
    return *first && (strchr("=+-@|%", *first) || *text == '\t' || *text == '\r');
}

/* Text without what would steer a reader, and with an apostrophe wherever a cell that begins would be a formula: at its
 * start, and behind what separates cells elsewhere, since quotes inside a cell of theirs do not protect it. */
static const char *safe(cm_session *session, const char *text)
{
    cm_text out = {.session = session};
    if (starts_formula(text))
        cm_text_add(&out, "'");
    for (const char *rest = text; *rest;) {
        size_t length = strcspn(rest, SPLITS);
        cm_text_add(&out, cm_harmless(session, cm_copy_text(session, rest, length)));
        rest += length;
        if (!*rest)
            break;
        cm_text_add_bytes(&out, rest++, 1);
        if (starts_formula(rest))
            cm_text_add(&out, "'");
    }
    return out.bytes ? out.bytes : "";
}

static const char *scalar(cm_session *session, const cm_node *node)
{
    char number[32];
    switch (node->kind) {
    case CM_TEXT:
        return safe(session, node->text);
    case CM_NUMBER:
        if (!isfinite(node->number))
            return "";
        cm_number_round_trip(node->number, number);
        return cm_copy_text(session, number, strlen(number));
    case CM_BOOLEAN:
        return node->truth ? "true" : "false";
    default:
        return "";
    }
}

/* "20; 30", or "mass 20, count 2; mass 50, count 1". */
static const char *list_words(cm_session *session, const cm_node *list)
{
    const char *words = "";
    for (const cm_node *entry = list->first; entry; entry = entry->next) {
        const char *own = scalar(session, entry);
        for (const cm_node *field = entry->kind == CM_MAP ? entry->first : NULL; field; field = field->next)
            own = cm_format(session, "%s%s%s %s", own, *own ? ", " : "", field->key,
                            field->kind == CM_MAP || field->kind == CM_LIST ? list_words(session, field)
                                                                            : scalar(session, field));
        words = cm_format(session, "%s%s%s", words, *words ? "; " : "", own);
    }
    return starts_formula(words) ? cm_format(session, "'%s", words) : words; /* its texts are safe already */
}

static int column_of(sheet *s, const char *name)
{
    for (int c = 0; c < s->count; c++)
        if (strcmp(s->columns[c], name) == 0)
            return c;
    s->columns = cm_grow(s->session, s->columns, s->count, &s->room, sizeof *s->columns);
    s->columns[s->count] = name;
    return s->count++;
}

static void put(sheet *s, const char *name, const char *text)
{
    int c = column_of(s, name);
    if (s->cells)
        s->cells[c] = text;
}

static void put_fields(sheet *s, const char *before, const cm_node *map)
{
    for (const cm_node *field = map->first; field; field = field->next) {
        const char *name = *before ? cm_format(s->session, "%s_%s", before, field->key) : field->key;
        if (field->kind == CM_MAP)
            put_fields(s, name, field);
        else
            put(s, name, field->kind == CM_LIST ? list_words(s->session, field) : scalar(s->session, field));
    }
}

/* ---- parts: one case by itself, with separators that no text holds ---- */

static void add_record(cm_text *out, int count, const char *const *cells)
{
    for (int c = 0; c < count; c++) {
        for (const char *text = cells[c] ? cells[c] : ""; *text; text++)
            cm_text_add_bytes(out, *text == FIELD || *text == RECORD ? " " : text, 1);
        cm_text_add_bytes(out, c + 1 < count ? &FIELD : &RECORD, 1);
    }
}

static const cm_node *find(const cm_node *tree, const char *path)
{
    const char *point = strchr(path, '.');
    for (const cm_node *child = tree->kind == CM_MAP ? tree->first : NULL; child; child = child->next)
        if (strlen(child->key) == strcspn(path, ".") && strncmp(child->key, path, strlen(child->key)) == 0)
            return point ? find(child, point + 1) : child;
    return NULL;
}

/* Collects the columns of an entry, or writes it. */
static void put_entry(sheet *s, const char *title, const char *table, const cm_node *entry, bool collecting)
{
    s->cells = collecting ? NULL : CM_NEW(s->session, s->count, const char *);
    if (title)
        put(s, "case", safe(s->session, title));
    if (s->file)
        put(s, "file", safe(s->session, s->file));
    if (table)
        put(s, "table", table);
    put_fields(s, "", entry);
    if (!collecting)
        add_record(&s->out, s->count, s->cells);
}

/* What a result calls its case; the single cases of `verify` carry no name of a result. */
static const char *text_of(const cm_node *tree, const char *key, const char *otherwise)
{
    const cm_node *node = cm_node_get(tree, key);
    return node && node->text ? node->text : otherwise;
}

/* One line a list's entry, one for a map. */
static void put_table(sheet *s, const char *title, const char *table, const cm_node *list, bool collecting)
{
    if (list && list->kind == CM_MAP)
        put_entry(s, title, table, list, collecting);
    for (const cm_node *entry = list && list->kind == CM_LIST ? list->first : NULL; entry;
         entry = entry->next)
        put_entry(s, title, table, entry, collecting);
}

/* Without an answer a result has no lines of its own: its status stands for them. */
static void put_status(sheet *s, const char *title, const cm_node *tree, bool collecting)
{
    cm_node *only = cm_node_map(s->session);
    cm_node_add_text(s->session, only, "status", text_of(tree, "status", NULL));
    put_entry(s, title, "status", only, collecting);
}

static void put_result(sheet *s, const cm_node *tree, bool collecting)
{
    const char *result = text_of(tree, "result", "verify"),
               *title = text_of(tree, "case", text_of(tree, "file", ""));
    put(s, "case", "");
    for (size_t t = 0; t < sizeof TABLES / sizeof *TABLES; t++) {
        if (strcmp(TABLES[t].result, result) != 0)
            continue;
        if (TABLES[t].answer && !find(tree, TABLES[t].answer)->first)
            put_status(s, title, tree, collecting);
        for (int l = 0; l < MOST_LISTS && TABLES[t].lists[l].list; l++)
            put_table(s, title, TABLES[t].lists[l].table, find(tree, TABLES[t].lists[l].list), collecting);
    }
}

const char *cm_csv_part(cm_session *session, const cm_node *tree, const char *file)
{
    sheet s = {.session = session, .file = file, .out = {.session = session}};
    put_result(&s, tree, true);
    add_record(&s.out, s.count, s.columns);
    put_result(&s, tree, false);
    return s.out.bytes;
}

const char *cm_csv_row(cm_session *session, const cm_node *row)
{
    sheet s = {.session = session, .out = {.session = session}};
    put_entry(&s, NULL, NULL, row, true);
    add_record(&s.out, s.count, s.columns);
    put_entry(&s, NULL, NULL, row, false);
    return s.out.bytes;
}

/* ---- the sheet: parts below each other under the columns of all ---- */

static void add_field(cm_text *out, const char *text, bool last)
{
    const char *quote = strpbrk(text, ",\";\t\r\n") ? "\"" : "";
    cm_text_add(out, quote);
    for (const char *c = text; *c; c++)
        cm_text_add_bytes(out, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
    cm_text_add(out, quote);
    cm_text_add(out, last ? "\r\n" : ",");
}

static void add_line(sheet *s, const char *const *cells)
{
    for (int c = 0; c < s->count; c++)
        add_field(&s->out, cells[c] ? cells[c] : "", c + 1 == s->count);
}

/* Cuts the next field off `*rest`; `last`: it ends its record. */
static const char *next_field(cm_session *session, const char **rest, bool *last)
{
    size_t length = strcspn(*rest, (const char[]){FIELD, RECORD, '\0'});
    const char *field = cm_copy_text(session, *rest, length);
    *last = (*rest)[length] == RECORD;
    *rest += length + 1;
    return field;
}

/* Which columns of the sheet the fields of a part belong to; leaves `*rest` after the part's header. */
static int *columns_of(sheet *s, const char **rest)
{
    int *columns = NULL, count = 0, room = 0;
    for (bool last = false; !last; count++) {
        const char *name = next_field(s->session, rest, &last);
        columns = cm_grow(s->session, columns, count, &room, sizeof *columns);
        columns[count] = column_of(s, name);
    }
    return columns;
}

static void add_part(sheet *s, const char *part)
{
    const int *columns = columns_of(s, &part);
    while (*part) {
        const char **cells = CM_NEW(s->session, s->count, const char *);
        bool last = false;
        for (int c = 0; !last; c++)
            cells[columns[c]] = next_field(s->session, &part, &last);
        add_line(s, cells);
    }
}

const char *cm_csv_join(cm_session *session, int count, const char *const *parts)
{
    sheet s = {.session = session, .out = {.session = session}};
    for (int i = 0; i < count; i++) {
        const char *head = parts[i];
        columns_of(&s, &head);
    }
    add_line(&s, s.columns);
    for (int i = 0; i < count; i++)
        add_part(&s, parts[i]);
    return s.out.bytes;
}
