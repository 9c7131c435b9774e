/* SPDX-License-Identifier: MIT */
/* Shortened names stay different where the names are. */
#include "suite.h"
#include "page/columns.h"

#include <string.h>

static cm_session *session;

static void test_as_usual(void)
{
    const char *const names[] = {"P1", "the plane beside the coupling", NULL, "P1",
                                 "\xC3\x9C"
                                 "bergabe am Getriebe, innen"};
    const char **shown = cm_shorten_apart(session, 5, names, 14);
    CU_ASSERT_STRING_EQUAL(shown[0], "P1");
    CU_ASSERT_STRING_EQUAL(shown[1], cm_shorten(session, names[1], 14));
    CU_ASSERT_STRING_EQUAL(shown[2], "");
    CU_ASSERT_STRING_EQUAL(shown[3], "P1");
    CU_ASSERT_EQUAL(cm_columns(shown[4]), 14);
}

static void test_difference_is_shown(void)
{
    const char *const names[] = {"Generator rotor coupling A inner groove",
                                 "Generator rotor coupling B inner groove",
                                 "Generator rotor coupling A inner groove", "exciter"};
    const char **shown = cm_shorten_apart(session, 4, names, 20);
    CU_ASSERT_PTR_NOT_NULL_FATAL(strstr(shown[0], "coupling A"));
    CU_ASSERT_PTR_NOT_NULL_FATAL(strstr(shown[1], "coupling B"));
    CU_ASSERT_STRING_EQUAL(shown[2], shown[0]);
    CU_ASSERT_STRING_EQUAL(shown[3], "exciter");
}

/* A difference at both ends of a long middle: no window shows both, numbers tell them apart. */
static void test_numbers(void)
{
    const char *const names[] = {
        "first part 1 ........................................ second part 1, end of it",
        "first part 1 ........................................ second part 2, end of it",
        "first part 2 ........................................ second part 1, end of it",
        "first part 2 ........................................ second part 2, end of it"};
    const char **shown = cm_shorten_apart(session, 4, names, 16);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < i; k++)
            CU_ASSERT_STRING_NOT_EQUAL(shown[i], shown[k]);
    for (int i = 0; i < 4; i++)
        CU_ASSERT(cm_columns(shown[i]) <= 16);
}

/* Random names of few letters, one, two and no columns wide: alike exactly when the names are. */
static void test_any_names(void)
{
    static const char *const letters[] = {"a", "b", " ", "\xC3\xA4", "\xE8\xBB\xB8", "e\xCC\x81"};
    enum { NAMES = 24, LETTERS = 40 };
    unsigned state = 3;
    for (int round = 0; round < 300; round++) {
        char text[NAMES][LETTERS * 4 + 1];
        const char *names[NAMES];
        for (int i = 0; i < NAMES; i++) {
            text[i][0] = 0;
            if (i > 0 && i % 2)
                strcpy(text[i], text[i - 1]);
            state = state * 1664525u + 1013904223u;
            size_t keep = strlen(text[i]) ? (state >> 16) % LETTERS : 0,
                   length = 12 + (state >> 8) % (LETTERS - 12);
            if (keep == 0)
                text[i][0] = 0;
            while (strlen(text[i]) < length) {
                state = state * 1664525u + 1013904223u;
                strcat(text[i], letters[(state >> 16) % (round % 2 ? 6 : 2)]);
            }
            names[i] = text[i];
        }
        const char **shown = cm_shorten_apart(session, NAMES, names, 12);
        for (int i = 0; i < NAMES; i++) {
            CU_ASSERT(cm_columns(shown[i]) <= 12);
            for (int k = 0; k < i; k++)
                CU_ASSERT_EQUAL(strcmp(shown[i], shown[k]) == 0, strcmp(names[i], names[k]) == 0);
        }
    }
}

int main(void)
{
    static const cm_test tests[] = {
        {"usually the middle is lost", test_as_usual},
        {"where that makes two alike their difference is shown", test_difference_is_shown},
        {"numbers where no part shows it", test_numbers},
        {"any names", test_any_names},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int failed = run_suite("page/apart", tests);
    cm_close(session);
    return failed;
}
