/* SPDX-License-Identifier: MIT */
/*
 * A document as plain text of at most CM_PAGE_COLUMNS columns. Widths are
 * terminal columns, not bytes; lines are wrapped at blanks, and a word that
 * is longer than a line is cut. Nothing here knows what a page is about.
 */
#include "page/document.h"

#include "base/text.h"
#include "page/columns.h"
#include "page/render_table.h"

#include <limits.h>
#include <string.h>

/* Terminal colours by tone; a title and a section are bold. */
static const char *const TONE[] = {
    [CM_PLAIN] = NULL, [CM_GOOD] = "\033[32m", [CM_CAREFUL] = "\033[33m", [CM_BAD] = "\033[31m"};
static const char BOLD[] = "\033[1m", NORMAL[] = "\033[0m";

/* Bytes of the next word (no blanks), cut at `most` columns. */
static size_t next_word(const char *text, int most, int *columns)
{
    size_t length = 0;
    *columns = 0;
    for (int bytes; text[length] && text[length] != ' ' && text[length] != '\n'; length += (size_t)bytes) {
        bool plain = text[length] > ' ' && text[length] <= '~';
        bytes = 1;
        int wide = plain ? 1 : cm_character_columns(cm_character(text + length, &bytes));
        if (*columns + wide > most)
            break;
        *columns += wide;
    }
    return length;
}

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\n')
        text++;
    return text;
}

/* Wraps words at `indent` columns, words longer than `longest` cut; the caller has written the first line's indent. */
static void wrap(cm_text *out, const char *text, int indent, int longest)
{
    int column = indent;
    bool line_empty = true;
    for (text = skip_blanks(text); *text; text = skip_blanks(text)) {
        int columns;
        size_t length = next_word(text, longest, &columns);
        if (!line_empty && column + 1 + columns > CM_PAGE_COLUMNS) {
            cm_text_add(out, "\n");
            cm_text_add_blanks(out, indent);
            column = indent;
            line_empty = true;
        }
        if (!line_empty)
            cm_text_add(out, " ");
        cm_text_add_bytes(out, text, length);
        column += columns + !line_empty;
        line_empty = false;
        text += length;
    }
    cm_text_add(out, "\n");
}

static void render_words(cm_text *out, const cm_part *part, const char *lead, const char *colour)
{
    int indent = (int)strlen(lead);
    cm_text_add(out, lead);
    if (colour)
        cm_text_add(out, colour);
    wrap(out, cm_harmless(out->session, part->text), indent, CM_PAGE_COLUMNS - indent);
    if (colour) {
        out->length--; /* the colour ends before the line does */
        cm_text_add(out, NORMAL);
        cm_text_add(out, "\n");
    }
}

/* Lines to copy keep their indent. They break at blanks, where the case file takes a line break for one, and go on
 * further in; a longer word stays whole. */
static void render_copy(cm_text *out, const cm_part *part)
{
    int indent = 4 + (int)strspn(part->text, " ");
    cm_text_add_blanks(out, indent);
    wrap(out, part->text, indent + 2, INT_MAX);
}

static void render_part(cm_text *out, const cm_part *part, bool colour)
{
    const char *tone = colour ? TONE[part->tone] : NULL;
    switch (part->kind) {
    case CM_PART_TITLE:
    case CM_PART_SECTION:
        render_words(out, part, "", colour ? BOLD : NULL);
        break;
    case CM_PART_WORDS:
        render_words(out, part, "", tone);
        break;
    case CM_PART_ITEM:
        render_words(out, part, "  - ", tone);
        break;
    case CM_PART_COPY:
        render_copy(out, part);
        break;
    case CM_PART_HEAD:
    case CM_PART_BIG:
    case CM_PART_FIGURE:
    case CM_PART_BLANK:
    case CM_PART_TICK:
        render_words(out, part, "", NULL);
        break;
    case CM_PART_SOURCE:
        cm_text_add(out, part->text);
        break;
    case CM_PART_OPEN:
    case CM_PART_CLOSE:
    case CM_PART_DATA:
        break;
    case CM_PART_TABLE:
        cm_render_table(out, part->table);
        break;
    }
}

/* A blank line between parts, except between the points of one list, lines to copy, and before a section's first part. */
static bool gap_before(const cm_part *part, const cm_part *before)
{
    if (!before)
        return false;
    bool same = part->kind == before->kind && (part->kind == CM_PART_ITEM || part->kind == CM_PART_COPY);
    bool listed = part->kind == CM_PART_ITEM && before->kind == CM_PART_WORDS;
    return !same && !listed && before->kind != CM_PART_SECTION;
}

const char *cm_document_text(cm_session *session, const cm_document *d, bool colour)
{
    cm_text out = {.session = session};
    cm_text_add(&out, "");
    for (const cm_part *part = d->first, *before = NULL; part; before = part, part = part->next) {
        if (gap_before(part, before))
            cm_text_add(&out, "\n");
        render_part(&out, part, colour);
    }
    return out.bytes ? out.bytes : "";
}
