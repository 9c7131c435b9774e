/* SPDX-License-Identifier: MIT */
/* Growing text, widths and suggestions. */
#include "suite.h"
#include "base/text.h"

#include <string.h>

static cm_session *session;

static void test_growing(void)
{
    cm_text text = {.session = session};
    cm_text_add(&text, "");
    CU_ASSERT_STRING_EQUAL(text.bytes, "");
    for (int i = 0; i < 10000; i++)
        cm_text_print(&text, "%04d", i);
    cm_text_add_bytes(&text, "a\0b", 3);
    CU_ASSERT_EQUAL(text.length, 40003);
    CU_ASSERT(memcmp(text.bytes + 39996, "9999a\0b", 8) == 0);
    CU_ASSERT(memcmp(text.bytes, "000000010002", 12) == 0);
}

static void test_width(void)
{
    CU_ASSERT_EQUAL(cm_text_width(""), 0);
    CU_ASSERT_EQUAL(cm_text_width("K\xC3\xBChl \xF0\x9F\x98\x80"), 6);
}

static const char *nearest(const char *word)
{
    static const char *const words[] = {
        "minimise", "within_limits", "use_planes", "fixed", "ties", "P1", "P2", ""};
    const char *found = cm_nearest(word, words, 8);
    return found ? found : "(none)";
}

static void test_nearest(void)
{
    CU_ASSERT_STRING_EQUAL(nearest("minimize"), "minimise");
    CU_ASSERT_STRING_EQUAL(nearest("MINIMISE"), "minimise");
    CU_ASSERT_STRING_EQUAL(nearest("fxied"), "fixed");
    CU_ASSERT_STRING_EQUAL(nearest("use_plane"), "use_planes");
    CU_ASSERT_STRING_EQUAL(nearest("p2"), "P2");
    CU_ASSERT_STRING_EQUAL(nearest("P3"), "P1");
    CU_ASSERT_STRING_EQUAL(nearest("tie"), "ties");
    CU_ASSERT_STRING_EQUAL(nearest("XY"), "(none)");
    CU_ASSERT_STRING_EQUAL(nearest("rotation"), "(none)");
    CU_ASSERT_STRING_EQUAL(nearest(""), "(none)");
    CU_ASSERT_STRING_EQUAL(nearest("a word so long that no suggestion can help whoever has written it down"),
                           "(none)");
    CU_ASSERT_PTR_NULL(cm_nearest("x", NULL, 0));
}

int main(void)
{
    static const cm_test tests[] = {
        {"growing", test_growing}, {"width", test_width}, {"nearest word", test_nearest}, {NULL, NULL}};
    session = cm_open(NULL);
    int status = run_suite("base/text", tests);
    cm_close(session);
    return status;
}
