/* SPDX-License-Identifier: MIT */
/* Numbers to and from text. Reference: the C library's own strtod and printf in the "C" locale. */
#include "suite.h"
#include "base/number.h"

#include <locale.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool reads(const char *text, double wanted, const char *rest)
{
    double value = -77;
    const char *end = cm_number_read(text, &value);
    return end && value == wanted && strcmp(end, rest) == 0;
}

static void test_reading(void)
{
    CU_ASSERT(reads("0", 0, ""));
    CU_ASSERT(reads("82 @ 143", 82, " @ 143"));
    CU_ASSERT(reads("-0.5e-3g", -0.5e-3, "g"));
    CU_ASSERT(reads("+1E+2", 100, ""));
    CU_ASSERT(reads("1e", 1, "e"));
    CU_ASSERT(reads("1e+", 1, "e+"));
    CU_ASSERT(reads("12.", 12, "."));
    CU_ASSERT(reads("1,5", 1, ",5"));
    CU_ASSERT(reads("0x10", 0, "x10"));
    CU_ASSERT(reads("12345678901234567890.e5", 12345678901234567890.0, ".e5"));
    CU_ASSERT(reads("000000000000000000000000000001.50", 1.5, ""));
    CU_ASSERT(reads("1e400", HUGE_VAL, ""));
    CU_ASSERT(reads("-1e99999999999999999999999", -HUGE_VAL, ""));
    CU_ASSERT(reads("1e-99999999999999999999999", 0, ""));
    CU_ASSERT(reads("0e99999999999999999999999", 0, ""));
}

static void test_no_numbers(void)
{
    static const char *const texts[] = {"",     "-",  "+",  ".5",  "-.5", "nan", "inf",
                                        "-inf", "e5", " 1", "--1", "+-1", "x"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        double value;
        CU_ASSERT_PTR_NULL(cm_number_read(texts[i], &value));
    }
}

/* Numbers halfway between two doubles, and a digit more after more digits than are kept. */
static void test_ties(void)
{
    CU_ASSERT(reads("9007199254740993", 9007199254740992.0, ""));
    CU_ASSERT(reads("9007199254740993.00000000000000000000000000000000000000000001", 9007199254740994.0, ""));
    char text[2000];
    snprintf(text, sizeof text, "9007199254740993.%01500d1", 0);
    CU_ASSERT(reads(text, 9007199254740994.0, ""));
    snprintf(text, sizeof text, "0.%01500d1e1501", 0);
    CU_ASSERT(reads(text, 1, ""));
    snprintf(text, sizeof text, "1%01500de-1500", 0);
    CU_ASSERT(reads(text, 1, ""));
}

static uint64_t next_random(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    return *state ^= *state << 17;
}

static double random_double(uint64_t *state)
{
    double value;
    do {
        uint64_t bits = next_random(state);
        memcpy(&value, &bits, sizeof value);
    } while (!isfinite(value));
    return value;
}

static void test_same_as_strtod(void)
{
    uint64_t state = 12345;
    int wrong = 0;
    for (int i = 0; i < 30000; i++) {
        char text[64];
        double value = i % 2 ? random_double(&state)
                             : (double)(next_random(&state) % 1000000007u) * pow(10, i % 50 - 25);
        snprintf(text, sizeof text, "%.*e", (int)(next_random(&state) % 25), value);
        wrong += !reads(text, strtod(text, NULL), "");
    }
    CU_ASSERT_EQUAL(wrong, 0);
}

static void check_round_trip(double value, const char *wanted)
{
    char text[32];
    cm_number_round_trip(value, text);
    if (strcmp(text, wanted) != 0)
        printf("\n%s instead of %s", text, wanted);
    CU_ASSERT_STRING_EQUAL(text, wanted);
}

static void test_round_trip(void)
{
    check_round_trip(82, "82");
    check_round_trip(-0.0, "0");
    check_round_trip(0.1, "0.1");
    check_round_trip(0.1 + 0.2, "0.30000000000000004");
    check_round_trip(-123456789012345, "-123456789012345");
    check_round_trip(1e15, "1.0e+15");
    check_round_trip(1e300, "1.0e+300");
    check_round_trip(1.5e-12, "1.5e-12");
    check_round_trip(0.00012, "0.00012");
    check_round_trip(-5e-324, "-4.94065645841247e-324");
    check_round_trip(123456.75, "123456.75");
    uint64_t state = 99;
    int wrong = 0;
    for (int i = 0; i < 30000; i++) {
        char text[32];
        double value = i % 2 ? random_double(&state) : (double)(int64_t)next_random(&state) * 1e-12;
        cm_number_round_trip(value, text);
        wrong += strtod(text, NULL) != value || !reads(text, value, "");
    }
    CU_ASSERT_EQUAL(wrong, 0);
}

static void check_short(double value, int digits, const char *wanted)
{
    char text[32];
    cm_number_short(value, digits, text);
    CU_ASSERT_STRING_EQUAL(text, wanted);
}

static void check_fixed(double value, int decimals, const char *wanted)
{
    char text[64];
    cm_number_fixed(value, decimals, text);
    CU_ASSERT_STRING_EQUAL(text, wanted);
}

static void test_for_people(void)
{
    check_short(82.000000000000014, 4, "82");
    check_short(123456.4, 3, "123456");
    check_short(9999999.6, 3, "1.0e+07");
    check_short(999.96, 4, "1000");
    check_short(0.0001234, 2, "0.00012");
    check_short(0.00001234, 2, "1.2e-05");
    check_short(-3.14159, 3, "-3.14");
    check_short(0, 3, "0");
    check_short(NAN, 3, "-");
    check_fixed(1.005, 1, "1.0");
    check_fixed(-0.04, 1, "0.0");
    check_fixed(-0.06, 1, "-0.1");
    check_fixed(-0.4, 0, "0");
    check_fixed(12345.678, 2, "12345.68");
    check_fixed(10, 3, "10.000");
    check_fixed(1e300, 2, "1.0e+300");
    check_fixed(INFINITY, 2, "-");
}

/* A locale with a decimal comma changes nothing; where none is installed the C locale must pass as well. */
static void test_locale(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "pl_PL.UTF-8", "C"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (setlocale(LC_NUMERIC, names[i]))
            break;
    CU_ASSERT(reads("1234567890.12345678901", 1234567890.12345678901, ""));
    CU_ASSERT(reads("2.5", 2.5, ""));
    check_round_trip(0.1 + 0.2, "0.30000000000000004");
    check_short(3.14159, 3, "3.14");
    check_fixed(2.5, 2, "2.50");
    setlocale(LC_NUMERIC, "C");
}

int main(void)
{
    static const cm_test tests[] = {
        {"reading", test_reading},
        {"what is no number", test_no_numbers},
        {"ties", test_ties},
        {"same as strtod", test_same_as_strtod},
        {"round trip", test_round_trip},
        {"numbers for people", test_for_people},
        {"locale", test_locale},
        {NULL, NULL},
    };
    return run_suite("base/number", tests);
}
