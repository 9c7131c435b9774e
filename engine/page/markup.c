/* SPDX-License-Identifier: MIT */
/* The only place where text of the user becomes markup. */
#include "page/markup.h"

#include "base/number.h"
#include "page/columns.h"

#include <string.h>

static const char *entity_of(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

/* The last two code points of the first plane are no characters in XML. */
static bool forbidden(const char *text)
{
    return (unsigned char)text[0] == 0xef && (unsigned char)text[1] == 0xbf && (unsigned char)text[2] >= 0xbe;
}

/* `text` holds valid UTF-8 without controls. */
static void add_harmless(cm_text *out, const char *text)
{
    for (const char *rest = text; *rest;) {
        int bytes;
        cm_character(rest, &bytes);
        const char *entity = bytes == 1                      ? entity_of(*rest)
                             : bytes == 3 && forbidden(rest) ? "\xef\xbf\xbd"
                                                             : NULL;
        if (entity)
            cm_text_add(out, entity);
        else
            cm_text_add_bytes(out, rest, (size_t)bytes);
        rest += bytes;
    }
}

void cm_markup_add(cm_text *out, const char *text)
{
    add_harmless(out, cm_harmless(out->session, text));
}

void cm_markup_add_lines(cm_text *out, const char *text)
{
    for (const char *rest = text; *rest;) {
        size_t length = strcspn(rest, "\n\t");
        if (length > 0)
            cm_markup_add(out, cm_copy_text(out->session, rest, length));
        rest += length;
        if (*rest)
            cm_text_add_bytes(out, rest++, 1);
    }
}

void cm_markup_add_data(cm_text *out, const cm_node *tree)
{
    for (const char *rest = cm_json_write(out->session, tree); *rest;) {
        size_t length = strcspn(rest, "<>&");
        cm_text_add_bytes(out, rest, length);
        rest += length;
        if (*rest)
            cm_text_print(out, "\\u%04x", (unsigned)*rest++);
    }
}

void cm_markup_add_number(cm_text *out, double value)
{
    char text[64];
    cm_number_fixed(value, 2, text);
    char *point = strchr(text, '.');
    size_t length = strlen(text);
    while (point && text[length - 1] == '0')
        length--;
    if (point && text[length - 1] == '.')
        length--;
    cm_text_add_bytes(out, text, length);
}
