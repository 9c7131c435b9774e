/* SPDX-License-Identifier: MIT */
/* Decimal digits of doubles. Reference: the C library's printf and strtod, over all ways a number can be made. */
#include "suite.h"
#include "base/digits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MANY = 200000 };

static uint64_t state = 20240229;

static uint64_t next_random(void)
{
    state ^= state << 13;
    state ^= state >> 7;
    return state ^= state << 17;
}

/* Any double, a few decimals, short fractions of two (ties), next to a power of ten, a power of two. */
static double next_double(int kind)
{
    uint64_t bits = next_random();
    double any;
    memcpy(&any, &bits, sizeof any);
    double made[] = {isfinite(any) && any != 0 ? any : 1, (double)(bits % 2000001 + 1) / 1000,
                     (double)(bits % 1000000 + 1) / 4096,
                     pow(10, (double)(bits % 40) - 20) * (1 + ((double)(bits >> 8 & 7) - 3) * 0x1p-53),
                     ldexp(1, (int)(bits % 120) - 70)};
    return made[kind % 5];
}

/* "d.ddde±x" without the point and the zeros at the end; returns the exponent. */
static int digits_of_text(const char *text, char digits[40])
{
    int count = 0;
    for (; *text != 'e'; text++)
        if (*text >= '0' && *text <= '9')
            digits[count++] = *text;
    while (count > 1 && digits[count - 1] == '0')
        count--;
    digits[count] = 0;
    return atoi(text + 1);
}

static void test_rounded(void)
{
    int wrong = 0;
    for (int i = 0; i < MANY; i++) {
        double value = next_double(i);
        int count = 1 + i % CM_MOST_DIGITS;
        char text[64], own[20], wanted[40];
        snprintf(text, sizeof text, "%.*e", count - 1, fabs(value));
        int power = digits_of_text(text, wanted);
        wrong += cm_digits_rounded(value, count, own) != power || strcmp(own, wanted) != 0;
    }
    CU_ASSERT_EQUAL(wrong, 0);
}

static void test_whole(void)
{
    int wrong = 0, done = 0;
    for (int i = 0; i < MANY; i++) {
        double value = next_double(i);
        int places = i % 16;
        uint64_t whole;
        if (!cm_digits_whole(value, places, &whole))
            continue;
        char text[400], own[24];
        snprintf(text, sizeof text, "%.*f", places, fabs(value));
        char *point = strchr(text, '.');
        if (point)
            memmove(point, point + 1, strlen(point));
        cm_digits_write(whole, 1, own);
        wrong += strcmp(own, text + strspn(text, "0") - (whole == 0)) != 0;
        done++;
    }
    CU_ASSERT_EQUAL(wrong, 0);
    CU_ASSERT(done > MANY / 2);
    uint64_t whole;
    CU_ASSERT(cm_digits_whole(0.5, 0, &whole) && whole == 0);
    CU_ASSERT(cm_digits_whole(-1.5, 0, &whole) && whole == 2);
    CU_ASSERT(cm_digits_whole(1e-300, 22, &whole) && whole == 0);
    CU_ASSERT(!cm_digits_whole(1e19, 1, &whole) && !cm_digits_whole(1, 23, &whole));
    CU_ASSERT(!cm_digits_whole(NAN, 1, &whole) && !cm_digits_whole(INFINITY, 1, &whole));
}

/* The digits read back, and where 15 of them are enough there are no more. */
static void test_read_back(void)
{
    int wrong = 0;
    for (int i = 0; i < MANY; i++) {
        double value = fabs(next_double(i));
        char digits[20], text[64], fifteen[40];
        snprintf(text, sizeof text, "%.14e", value);
        bool enough = strtod(text, NULL) == value;
        int power_of_fifteen = digits_of_text(text, fifteen);
        int power = cm_digits_read_back(value, digits);
        wrong += enough && (power != power_of_fifteen || strcmp(digits, fifteen) != 0);
        snprintf(text, sizeof text, "%c.%se%d", digits[0], digits + 1, power);
        wrong += strtod(text, NULL) != value;
    }
    CU_ASSERT_EQUAL(wrong, 0);
}

int main(void)
{
    static const cm_test tests[] = {{"rounded like printf", test_rounded},
                                    {"whole numbers", test_whole},
                                    {"read back", test_read_back},
                                    {NULL, NULL}};
    return run_suite("base/digits", tests);
}
