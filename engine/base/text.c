/* SPDX-License-Identifier: MIT */
/* Growing text, width of UTF-8 text, and the nearest word for "did you mean". */
#include "base/text.h"
#include "base/number.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static void make_room(cm_text *text, size_t more)
{
    if (more >= SIZE_MAX / 4 || text->length >= SIZE_MAX / 4)
        cm_fail(text->session, CM_NO_MEMORY, NULL);
    size_t wanted = text->length + more + 1;
    if (wanted <= text->room)
        return;
    size_t room = text->room ? 2 * text->room : 256;
    if (room < wanted)
        room = wanted;
    char *bytes = cm_take(text->session, room, 1);
    if (text->length)
        memcpy(bytes, text->bytes, text->length);
    text->bytes = bytes;
    text->room = room;
}

void cm_text_add_bytes(cm_text *text, const char *bytes, size_t length)
{
    make_room(text, length);
    if (length)
        memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = 0;
}

void cm_text_add(cm_text *text, const char *words)
{
    cm_text_add_bytes(text, words, strlen(words));
}

void cm_text_add_blanks(cm_text *text, int count)
{
    if (count <= 0)
        return;
    make_room(text, (size_t)count);
    memset(text->bytes + text->length, ' ', (size_t)count);
    text->length += (size_t)count;
    text->bytes[text->length] = 0;
}

void cm_text_print(cm_text *text, const char *format, ...)
{
    enum { USUAL = 128 };
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    make_room(text, USUAL);
    size_t room = text->room - text->length;
    int length = cm_number_print(text->bytes + text->length, room, format, again);
    va_end(again);
    if (length > 0 && (size_t)length >= room) {
        make_room(text, (size_t)length);
        cm_number_print(text->bytes + text->length, (size_t)length + 1, format, arguments);
    }
    text->length += length > 0 ? (size_t)length : 0;
    text->bytes[text->length] = 0;
    va_end(arguments);
}

/* UTF-8 has one way to write a character: none longer than needed, no halves of a pair, none beyond the last. */
static bool is_utf8(unsigned code, int more)
{
    static const unsigned least[] = {0, 0x80, 0x800, 0x10000};
    return more && code >= least[more] && code <= 0x10FFFF && (code & ~0x7FFu) != 0xD800;
}

unsigned cm_character(const char *text, int *bytes)
{
    const unsigned char *b = (const unsigned char *)text;
    *bytes = 1;
    if (b[0] < 0x80)
        return b[0];
    int more = b[0] >= 0xF8 ? 0 : b[0] >= 0xF0 ? 3 : b[0] >= 0xE0 ? 2 : b[0] >= 0xC2 ? 1 : 0;
    unsigned code = b[0] & (0x3Fu >> more);
    for (int i = 1; i <= more; i++) {
        if ((b[i] & 0xC0) != 0x80)
            return 0xFFFD;
        code = code << 6 | (b[i] & 0x3Fu);
    }
    if (!is_utf8(code, more))
        return 0xFFFD;
    *bytes = more + 1;
    return code;
}

int cm_text_width(const char *utf8)
{
    int width = 0;
    for (; *utf8; utf8++)
        width += ((unsigned char)*utf8 & 0xC0) != 0x80;
    return width;
}

/* ---- nearest word ---- */

enum { LONGEST_WORD = 63 }; /* beyond this nobody is helped by a suggestion */

static int lower(char letter)
{
    unsigned char c = (unsigned char)letter;
    return c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* Edit distance in which two letters exchanged count once (optimal string alignment),
 * by the usual table of prefixes; three rows of it are alive at a time. */
static int distance(const char *a, int length_a, const char *b, int length_b)
{
    int rows[3][LONGEST_WORD + 1];
    for (int j = 0; j <= length_b; j++)
        rows[0][j] = j;
    for (int i = 1; i <= length_a; i++) {
        int *row = rows[i % 3], *above = rows[(i + 2) % 3], *second = rows[(i + 1) % 3];
        row[0] = i;
        for (int j = 1; j <= length_b; j++) {
            int differs = lower(a[i - 1]) != lower(b[j - 1]);
            row[j] = least(above[j - 1] + differs, 1 + least(above[j], row[j - 1]));
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
                row[j] = least(row[j], second[j - 2] + 1);
        }
    }
    return rows[length_a % 3][length_b];
}

const char *cm_nearest(const char *word, const char *const *candidates, int count)
{
    size_t length = strlen(word);
    if (length == 0 || length > LONGEST_WORD)
        return NULL;
    int best = (int)length / 3 + 2; /* one more than a third of the word and one */
    const char *nearest = NULL;
    for (int i = 0; i < count; i++) {
        size_t other = strlen(candidates[i]);
        if (other == 0 || other > LONGEST_WORD)
            continue;
        int d = distance(word, (int)length, candidates[i], (int)other);
        bool shares_a_letter = d < (int)(length > other ? length : other);
        if (d < best && shares_a_letter) {
            best = d;
            nearest = candidates[i];
        }
    }
    return nearest;
}
