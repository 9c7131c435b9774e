/* SPDX-License-Identifier: MIT */
/* Text pages stay within 80 columns and aligned, whatever the names look like. */
#include "suite.h"
#include "page/columns.h"
#include "page/document.h"

#include <string.h>

static const char *const NAMES[] = {
    "P1",
    ("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
     "aaaaa"
     "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"
     "b"),
    "軸受軸受軸受軸受軸受軸受軸受軸受軸受軸受軸受",
    "e\xCC\x81t\xC3\xA9",
    "turned \xE2\x80\xAE round",
};

enum { NAME_COUNT = sizeof NAMES / sizeof *NAMES };

static void test_columns(void)
{
    CU_ASSERT_EQUAL(cm_columns("abc"), 3);
    CU_ASSERT_EQUAL(cm_columns("µm"), 2);
    CU_ASSERT_EQUAL(cm_columns("軸受"), 4);
    CU_ASSERT_EQUAL(cm_columns("e\xCC\x81"), 1);
    CU_ASSERT_EQUAL(cm_columns("\xFF\xFE"), 2);
    CU_ASSERT_EQUAL(cm_columns("\xF0\x9F\x98\x80"), 2);
}

static void test_shorten(void)
{
    cm_session *s = cm_open(NULL);
    CU_ASSERT_STRING_EQUAL(cm_shorten(s, "abcdefghij", 10), "abcdefghij");
    CU_ASSERT_STRING_EQUAL(cm_shorten(s, "abcdefghijk", 7), "abcd…jk");
    CU_ASSERT_STRING_EQUAL(cm_shorten(s, "abc", 1), "…");
    for (int most = 1; most < 30; most++)
        for (int k = 0; k < NAME_COUNT; k++)
            CU_ASSERT(cm_columns(cm_shorten(s, NAMES[k], most)) <= most);
    CU_ASSERT_PTR_NULL(strstr(cm_harmless(s, NAMES[4]), "\xE2\x80\xAE"));
    cm_close(s);
}

/* The columns at which `mark` stands in each line that holds it must all be the same: returns it, -1 when they differ. */
static int common_column(const char *text, const char *mark, int *lines)
{
    int column = -2;
    *lines = 0;
    for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
        char copy[1024];
        snprintf(copy, sizeof copy, "%.*s", (int)strcspn(line, "\n"), line);
        CU_ASSERT(cm_columns(copy) <= CM_PAGE_COLUMNS);
        char *found = strstr(copy, mark);
        if (!found)
            continue;
        *found = '\0';
        column = column == -2 || column == cm_columns(copy) ? cm_columns(copy) : -1;
        ++*lines;
    }
    return column;
}

static void test_table_aligned(void)
{
    cm_session *s = cm_open(NULL);
    cm_document *d = cm_document_new(s);
    const cm_column columns[] = {
        {.head = "plane", .key = true}, {.head = "mass", .unit = "g", .right = true}, {.head = "words"}};
    cm_table *table = cm_table_open(d, 3, columns);
    for (int k = 0; k < NAME_COUNT; k++)
        cm_table_row(d, table, (const char *const[]){NAMES[k], "12.5", "#"});
    int lines;
    CU_ASSERT(common_column(cm_document_text(s, d, false), "#", &lines) > 0);
    CU_ASSERT_EQUAL(lines, NAME_COUNT);
    cm_close(s);
}

static void test_wide_table_broken(void)
{
    cm_session *s = cm_open(NULL);
    cm_document *d = cm_document_new(s);
    cm_column columns[13] = {{.head = "sensor", .key = true}};
    const char *cells[13] = {"DE-x"};
    for (int k = 1; k < 13; k++) {
        columns[k] = (cm_column){.head = cm_format(s, "P%d", k), .right = true};
        cells[k] = cm_format(s, "0.42 @ 1%02d", k);
    }
    cm_table_row(d, cm_table_open(d, 13, columns), cells);
    const char *text = cm_document_text(s, d, false);
    int lines;
    CU_ASSERT_EQUAL(common_column(text, "DE-x", &lines), 2);
    CU_ASSERT(lines > 1);
    for (int k = 1; k < 13; k++)
        CU_ASSERT_PTR_NOT_NULL(strstr(text, cells[k]));
    cm_close(s);
}

static void test_words_wrapped(void)
{
    cm_session *s = cm_open(NULL);
    cm_document *d = cm_document_new(s);
    cm_title(d, "%s", NAMES[1]);
    for (int k = 0; k < 3; k++)
        cm_item(d, CM_BAD, "%s %s and %s, which is %d words longer than it has to be", NAMES[k], NAMES[2],
                NAMES[3], 7);
    int lines;
    common_column(cm_document_text(s, d, false), "@", &lines); /* asserts the width of every line */
    CU_ASSERT_PTR_NULL(strstr(cm_document_text(s, d, false), "\033"));
    CU_ASSERT_PTR_NOT_NULL(strstr(cm_document_text(s, d, true), "\033[31m"));
    cm_close(s);
}

int main(void)
{
    static const cm_test tests[] = {
        {"columns of characters", test_columns},
        {"shortened to any width", test_shorten},
        {"a table stays aligned", test_table_aligned},
        {"a wide table is broken into several", test_wide_table_broken},
        {"words are wrapped at 80 columns", test_words_wrapped},
        {NULL, NULL},
    };
    return run_suite("page/render", tests);
}
