/* SPDX-License-Identifier: MIT */
/* Results of several cases in one text. Every part is written without knowing the others, so that parts can be made at
 * the same time and need not be kept as trees. */
#include "base/given.h"
#include "page/page.h"
#include "page/rows.h"

#include <string.h>

/* What stands before, between and after the parts. */
typedef struct frame {
    const char *head, *between, *tail;
} frame;

#define FORMATS (CM_FORMAT_HTML + 1)
/* Ids of one page in an HTML text of several. */
enum { MOST_IDS = 10000 };

static const char RULER[] =
    "\n--------------------------------------------------------------------------------\n\n";
static const frame FRAMES[][FORMATS] = {
    [CM_JOIN_LIST] = {[CM_FORMAT_TEXT] = {"", RULER, ""},
                      [CM_FORMAT_JSON] = {"[\n", ",\n", "\n]\n"},
                      [CM_FORMAT_YAML] = {"---\n", "---\n", ""},
                      [CM_FORMAT_CSV] = {"", "", ""},
                      [CM_FORMAT_HTML] = {"", "", ""}},
    [CM_JOIN_VERIFIED] = {[CM_FORMAT_TEXT] = {"\n", "\n", ""},
                          [CM_FORMAT_JSON] = {"{\n  \"result\": \"verify\",\n  \"cases\": [\n", ",\n",
                                              "\n  ]\n}\n"},
                          [CM_FORMAT_YAML] = {"result: verify\ncases:\n", "", ""},
                          [CM_FORMAT_CSV] = {"", "", ""}},
    [CM_JOIN_ROWS] = {[CM_FORMAT_TEXT] = {"", "", ""},
                      [CM_FORMAT_JSON] = {"[\n", ",\n", "\n]\n"},
                      [CM_FORMAT_YAML] = {"", "", ""},
                      [CM_FORMAT_CSV] = {"", "", ""}},
};

static const char *list_part(cm_session *session, cm_page *page, const cm_together *how, int index,
                             const char *file)
{
    page->file = file;
    if (how->format == CM_FORMAT_HTML)
        return cm_page_article(session, page, index * MOST_IDS);
    if (how->format == CM_FORMAT_CSV)
        return cm_csv_part(session, cm_page_tree(session, page), file);
    return how->format == CM_FORMAT_JSON ? cm_json_write_inside(session, cm_page_tree(session, page), 2)
                                         : cm_page_text(session, page, how->format, how->colour != 0);
}

static const char *verified_part(cm_session *session, cm_page *page, const cm_together *how, int index,
                                 const char *file)
{
    (void)file, (void)index;
    if (how->format == CM_FORMAT_TEXT)
        return cm_page_text(session, page, how->format, how->colour != 0);
    if (how->format == CM_FORMAT_CSV)
        return cm_csv_part(session, cm_page_tree(session, page), NULL); /* its case is the file */
    cm_node *entry = cm_verified_entry(session, cm_page_tree(session, page));
    return how->format == CM_FORMAT_JSON ? cm_json_write_inside(session, entry, 4)
                                         : cm_yaml_write_entry(session, entry, 2);
}

static const char *row_part(cm_session *session, cm_page *page, const cm_together *how, int index,
                            const char *file)
{
    (void)index;
    cm_node *row = cm_row_of(session, how->result, cm_page_tree(session, page), file);
    cm_text line = {.session = session};
    if (how->format == CM_FORMAT_JSON)
        return cm_json_write_inside(session, row, 2);
    if (how->format == CM_FORMAT_YAML)
        return cm_yaml_write_entry(session, row, 0);
    if (how->format == CM_FORMAT_CSV)
        return cm_csv_row(session, row);
    cm_row_line(&line, how->result, row);
    return line.bytes;
}

/* How parts are joined, once that is known to be possible. */
static const cm_together *given_form(cm_session *session, const cm_together *given)
{
    const cm_together *how = CM_GIVEN(session, cm_together, result, given);
    if ((unsigned)how->join > CM_JOIN_ROWS)
        cm_fail(session, CM_BAD_INPUT, "cm_together.join is %d: there is no such way", (int)how->join);
    if ((unsigned)how->format >= FORMATS)
        cm_fail(session, CM_BAD_INPUT, "cm_together.format is %d: there is no such format", (int)how->format);
    if (!FRAMES[how->join][how->format].head)
        cm_fail(session, CM_BAD_INPUT, "results cannot be joined like this in this format");
    if (how->join == CM_JOIN_ROWS && (!how->result || !cm_has_row(how->result)))
        cm_fail(session, CM_BAD_INPUT, "a result of this kind has no row in a table");
    return how;
}

cm_status cm_page_part(cm_session *session, cm_page *page, const cm_together *asked, int index,
                       const char *file, const char **text)
{
    static const char *(*const part[])(cm_session *, cm_page *, const cm_together *, int, const char *) = {
        [CM_JOIN_LIST] = list_part, [CM_JOIN_VERIFIED] = verified_part, [CM_JOIN_ROWS] = row_part};
    CM_ENTER(session);
    const cm_together *how = given_form(session, asked);
    *text = part[how->join](session, page, how, index, file);
    return cm_leave(session);
}

/* In texts: the verdict over all cases, or the headings of the columns. */
static void add_title(cm_text *out, const cm_together *how, int count, int passed)
{
    if (how->format != CM_FORMAT_TEXT)
        return;
    if (how->join == CM_JOIN_VERIFIED)
        cm_text_add(out, cm_verified_title(out->session, count, passed, how->colour != 0));
    if (how->join == CM_JOIN_ROWS)
        cm_row_head(out, how->result);
}

/* A text with room for all parts, so that it is not copied while it grows. */
static cm_text roomy(cm_session *session, const frame *around, int count, const char *const *parts)
{
    size_t room = 4096;
    for (int i = 0; i < count; i++)
        room += strlen(parts[i]) + strlen(around->between);
    return (cm_text){.session = session, .bytes = cm_alloc(session, room, 1), .room = room};
}

cm_status cm_page_join(cm_session *session, const cm_together *asked, int count, const char *const *parts,
                       int passed, const char **text)
{
    CM_ENTER(session);
    const cm_together *how = given_form(session, asked);
    if (how->format == CM_FORMAT_CSV) {
        *text = cm_csv_join(session, count, parts);
        return cm_leave(session);
    }
    const frame *around = &FRAMES[how->join][how->format];
    cm_text out = roomy(session, around, count, parts);
    add_title(&out, how, count, passed);
    cm_text_add(&out, around->head);
    for (int i = 0; i < count; i++) {
        if (i)
            cm_text_add(&out, around->between);
        cm_text_add(&out, parts[i]);
    }
    cm_text_add(&out, around->tail);
    *text = how->format == CM_FORMAT_HTML ? cm_html_page(session, "countermass", out.bytes) : out.bytes;
    return cm_leave(session);
}
