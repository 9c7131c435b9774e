/* SPDX-License-Identifier: MIT */
/* Scalars as JSON and YAML share them. */
#include "tree/scalar_write.h"

#include "base/number.h"

#include <math.h>
#include <string.h>

typedef struct escape {
    const char *bytes;
    const char *written;
} escape;

/* Valid in a JSON text as they are, but YAML folds lines at them or forbids them, or they turn the direction in which a
 * reader sees the text (the last lines). */
/* NOLINTBEGIN(misc-misleading-bidirectional): they are what this table is about. */
static const escape ESCAPES[] = {
    {"\"", "\\\""},
    {"\\", "\\\\"},
    {"\n", "\\n"},
    {"\t", "\\t"},
    {"\r", "\\r"},
    {"\b", "\\b"},
    {"\f", "\\f"},
    {"\x7F", "\\u007f"},
    {"\xE2\x80\xA8", "\\u2028"},
    {"\xE2\x80\xA9", "\\u2029"},
    {"\xEF\xBB\xBF", "\\ufeff"},
    {"\xEF\xBF\xBE", "\\ufffe"},
    {"\xEF\xBF\xBF", "\\uffff"},
    {"\xD8\x9C", "\\u061c"},
    {"\xE2\x80\x8E", "\\u200e"},
    {"\xE2\x80\x8F", "\\u200f"},
    {"\xE2\x80\xAA", "\\u202a"},
    {"\xE2\x80\xAB", "\\u202b"},
    {"\xE2\x80\xAC", "\\u202c"},
    {"\xE2\x80\xAD", "\\u202d"},
    {"\xE2\x80\xAE", "\\u202e"},
    {"\xE2\x81\xA6", "\\u2066"},
    {"\xE2\x81\xA7", "\\u2067"},
    {"\xE2\x81\xA8", "\\u2068"},
    {"\xE2\x81\xA9", "\\u2069"},
};
/* NOLINTEND(misc-misleading-bidirectional) */

static bool is_suspect(unsigned char c)
{
    return c < 0x20 || c >= 0x7F || c == '"' || c == '\\';
}

/* Writes one suspect character and returns its length in bytes. Bytes that are no UTF-8, as names of files may have them,
 * become U+FFFD. */
static size_t write_suspect(cm_text *out, const char *at)
{
    for (size_t i = 0; i < sizeof ESCAPES / sizeof *ESCAPES; i++) {
        size_t length = strlen(ESCAPES[i].bytes);
        if (strncmp(at, ESCAPES[i].bytes, length) == 0) {
            cm_text_add(out, ESCAPES[i].written);
            return length;
        }
    }
    unsigned char first = (unsigned char)at[0], second = (unsigned char)at[1];
    if (first < 0x20) {
        cm_text_print(out, "\\u%04x", (unsigned)first);
        return 1;
    }
    if (first == 0xC2 && second < 0xA0 && second >= 0x80) {
        cm_text_print(out, "\\u%04x", (unsigned)second);
        return 2;
    }
    int bytes;
    unsigned code = cm_character(at, &bytes);
    if (code == 0xFFFD)
        cm_text_add(out, "\xEF\xBF\xBD");
    else
        cm_text_add_bytes(out, at, (size_t)bytes);
    return (size_t)bytes;
}

void cm_write_quoted(cm_text *out, const char *utf8)
{
    cm_text_add_bytes(out, "\"", 1);
    while (*utf8) {
        size_t clean = 0;
        while (!is_suspect((unsigned char)utf8[clean])) /* the end is suspect too */
            clean++;
        cm_text_add_bytes(out, utf8, clean);
        utf8 += clean;
        if (*utf8)
            utf8 += write_suspect(out, utf8);
    }
    cm_text_add_bytes(out, "\"", 1);
}

void cm_write_scalar(cm_text *out, const cm_node *node)
{
    char number[32];
    if (node->kind == CM_TEXT) {
        cm_write_quoted(out, node->text);
    } else if (node->kind == CM_BOOLEAN) {
        cm_text_add(out, node->truth ? "true" : "false");
    } else if (node->kind == CM_NUMBER && isfinite(node->number)) {
        cm_number_round_trip(node->number, number);
        cm_text_add(out, number);
    } else {
        cm_text_add(out, "null");
    }
}

void cm_write_line_break(cm_text *out, int blanks)
{
    cm_text_add_bytes(out, "\n", 1);
    cm_text_add_blanks(out, blanks);
}
