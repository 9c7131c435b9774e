/* SPDX-License-Identifier: MIT */
/*
 * Names that have to be shortened and must still be told from each other: a mass on the wrong plane is worse than a wide
 * table.
 *
 * Usually a long text loses its middle. Where that makes it look like another one of its list, the part round the first
 * difference is shown instead; where even that is alike, the number in the list ends it.
 */
#include "base/text.h"
#include "page/columns.h"

#include <stdlib.h>
#include <string.h>

typedef struct name {
    const char *text, *shown;
    int number; /* in the list */
} name;

static int by_shown(const void *left, const void *right)
{
    const name *a = left, *b = right;
    int order = strcmp(a->shown, b->shown);
    if (order == 0)
        order = strcmp(a->text, b->text);
    return order ? order : a->number - b->number;
}

static bool look_alike(const name *a, const name *b)
{
    return strcmp(a->shown, b->shown) == 0 && strcmp(a->text, b->text) != 0;
}

static bool continues(const char *at)
{
    return ((unsigned char)*at & 0xC0) == 0x80;
}

/* Byte of the first character that differs. */
static size_t first_difference(const char *a, const char *b)
{
    size_t at = 0;
    while (a[at] && a[at] == b[at])
        at++;
    while (at > 0 && continues(a + at))
        at--;
    return at;
}

/* Byte from which `columns` columns lead up to byte `at`. */
static size_t go_back(const char *text, size_t at, int columns)
{
    int bytes;
    while (at > 0 && columns > 0) {
        do
            at--;
        while (at > 0 && continues(text + at));
        columns -= cm_character_columns(cm_character(text + at, &bytes));
    }
    return at;
}

/* `most` columns of the text with byte `at` in their middle. */
static const char *window(cm_session *session, const char *text, size_t at, int most)
{
    static const char DOTS[] = "\xE2\x80\xA6";
    cm_text out = {.session = session};
    int bytes, room = most - 1;
    at = go_back(text, at, (most - 2) / 2);
    cm_text_add(&out, at > 0 ? DOTS : "");
    if (cm_columns(text + at) > room)
        room--;
    for (int used = 0; text[at]; at += (size_t)bytes) {
        used += cm_character_columns(cm_character(text + at, &bytes));
        if (used > room)
            break;
        cm_text_add_bytes(&out, text + at, (size_t)bytes);
    }
    cm_text_add(&out, text[at] ? DOTS : "");
    return out.bytes;
}

/* Sorted by text, the neighbour is the one that differs last. */
static size_t last_difference(const name *list, int first, int end, int k)
{
    size_t at = 0;
    for (int step = -1; step <= 1; step += 2)
        for (int i = k + step; i >= first && i < end; i += step) {
            size_t here = first_difference(list[k].text, list[i].text);
            if (strcmp(list[i].text, list[k].text) == 0)
                continue;
            at = here > at ? here : at;
            break;
        }
    return at;
}

/* One run of names that look alike, sorted by text; true when there was more than one. */
static bool tell_apart(cm_session *session, name *list, int first, int end, int most)
{
    if (strcmp(list[first].text, list[end - 1].text) == 0)
        return false;
    const char **shown = CM_NEW(session, end - first, const char *);
    for (int k = first; k < end; k++)
        shown[k - first] = window(session, list[k].text, last_difference(list, first, end, k), most);
    for (int k = first; k < end; k++)
        list[k].shown = shown[k - first];
    return true;
}

static bool tell_all_apart(cm_session *session, name *list, int count, int most)
{
    bool any = false;
    for (int first = 0, end; first < count; first = end) {
        for (end = first + 1; end < count && strcmp(list[end].shown, list[first].shown) == 0;)
            end++;
        any |= tell_apart(session, list, first, end, most);
    }
    return any;
}

/* What is alike even so is numbered by its first place in the list. */
static void number_the_rest(cm_session *session, name *list, int count, int most)
{
    qsort(list, (size_t)count, sizeof *list, by_shown);
    bool *doubtful = CM_NEW(session, count, bool);
    for (int k = 1; k < count; k++)
        if (look_alike(&list[k - 1], &list[k]))
            for (int i = 0; i < count; i++)
                doubtful[i] |= strcmp(list[i].shown, list[k].shown) == 0;
    for (int k = 0, first = 0; k < count; k++) {
        if (k > 0 && strcmp(list[k].text, list[k - 1].text) != 0)
            first = k;
        if (!doubtful[k])
            continue;
        const char *end = cm_format(session, "(%d)", list[first].number + 1);
        int room = most - cm_columns(end);
        list[k].shown =
            cm_format(session, "%s%s", cm_shorten(session, list[k].text, room > 1 ? room : 1), end);
    }
}

const char **cm_shorten_apart(cm_session *session, int count, const char *const *texts, int most)
{
    name *list = CM_NEW(session, count, name);
    const char **shown = CM_NEW(session, count, const char *);
    for (int k = 0; k < count; k++) {
        const char *clean = cm_harmless(session, texts[k] ? texts[k] : "");
        list[k] = (name){clean, cm_shorten(session, clean, most), k};
    }
    qsort(list, (size_t)count, sizeof *list, by_shown);
    if (tell_all_apart(session, list, count, most))
        number_the_rest(session, list, count, most);
    for (int k = 0; k < count; k++)
        shown[list[k].number] = list[k].shown;
    return shown;
}
