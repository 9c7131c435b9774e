/* SPDX-License-Identifier: MIT */
/*
 * A double is m·2^-s, m < 2^53. With 0 <= s and 0 <= k <= 22 the product p = m·10^k fits 128 bits, so value·10^k = p/2^s is
 * rounded to a whole number n exactly. A decimal d·10^-k reads back as the value when it is nearer to it than half the
 * distance of two doubles:
 *
 *     |d·2^s - p| < 10^k / 2           (equal: when m is even)
 *
 * Above a power of two that distance halves on one side; but powers of two in the range used have at most 16 digits and
 * are met exactly. Other numbers, very large and very small ones, take the C library's digits.
 */
#include "base/digits.h"

#include "base/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

__extension__ typedef unsigned __int128 wide;

enum { MANTISSA_BITS = 53, MOST_POWER = 22, HALF_POWER = 11, WIDE_BITS = 128, LEAST_SURE = 15 };

static const uint64_t TENS[] = {1u,
                                10u,
                                100u,
                                1000u,
                                10000u,
                                100000u,
                                1000000u,
                                10000000u,
                                100000000u,
                                1000000000u,
                                10000000000u,
                                100000000000u,
                                1000000000000u,
                                10000000000000u,
                                100000000000000u,
                                1000000000000000u,
                                10000000000000000u,
                                100000000000000000u};

/* value·10^power = product / 2^shift */
typedef struct scaled {
    uint64_t mantissa;
    wide unit, product; /* 10^power, mantissa · unit */
    int shift;
} scaled;

static bool scale(double value, int power, scaled *out)
{
    if (power < 0 || power > MOST_POWER)
        return false;
    int exponent;
    double fraction = frexp(fabs(value), &exponent);
    int more = power > HALF_POWER ? power - HALF_POWER : 0;
    out->mantissa = (uint64_t)ldexp(fraction, MANTISSA_BITS);
    out->shift = MANTISSA_BITS - exponent;
    out->unit = (wide)TENS[power - more] * TENS[more];
    out->product = out->mantissa * out->unit;
    return out->shift >= 0;
}

static wide round_off(const scaled *s)
{
    if (s->shift == 0)
        return s->product;
    if (s->shift >= WIDE_BITS)
        return 0;
    wide whole = s->product >> s->shift, half = (wide)1 << (s->shift - 1);
    wide rest = s->product - (whole << s->shift);
    return whole + (rest > half || (rest == half && whole % 2 == 1));
}

bool cm_digits_whole(double value, int power, uint64_t *whole)
{
    scaled s;
    if (!isfinite(value) || !scale(value, power, &s))
        return false;
    wide rounded = round_off(&s);
    *whole = (uint64_t)rounded;
    return rounded <= UINT64_MAX;
}

int cm_digits_write(uint64_t whole, int least, char digits[24])
{
    char backward[24];
    int count = 0;
    for (; whole > 0 || count < least; whole /= 10)
        backward[count++] = (char)('0' + whole % 10);
    for (int i = 0; i < count; i++)
        digits[i] = backward[count - 1 - i];
    digits[count] = 0;
    return count;
}

/* Power of ten of the first digit, or one less. */
static int about_power(double value)
{
    const double log10_of_2 = 0.30102999566398120;
    return (int)floor((ilogb(value)) * log10_of_2);
}

/* The value as `count` digits times a power of ten; the power of the first digit comes back in `power`. */
static bool round_to(double value, int count, scaled *s, uint64_t *whole, int *power)
{
    *power = about_power(value);
    for (int tries = 0; tries < 3; tries++) {
        if (!scale(value, count - 1 - *power, s))
            return false;
        *whole = (uint64_t)round_off(s);
        if (*whole < TENS[count])
            return true;
        ++*power;
    }
    return false;
}

/* The same from the C library. */
static uint64_t library_round_to(double value, int count, int *power)
{
    char text[48];
    uint64_t whole = 0;
    snprintf(text, sizeof text, "%.*e", count - 1, fabs(value));
    const char *at = text;
    for (; *at && *at != 'e'; at++)
        if (*at >= '0' && *at <= '9')
            whole = 10 * whole + (uint64_t)(*at - '0');
    *power = *at ? atoi(at + 1) : 0;
    return whole;
}

/* Digits of a whole number of `count` digits, or one more after rounding up, whose first one has this power of ten. */
static int put(uint64_t whole, int count, int power, char digits[20])
{
    char text[24];
    int written = cm_digits_write(whole, 1, text), kept = written;
    while (kept > 1 && text[kept - 1] == '0')
        kept--;
    memcpy(digits, text, (size_t)kept);
    digits[kept] = 0;
    return power + written - count;
}

int cm_digits_rounded(double value, int count, char digits[20])
{
    scaled s;
    uint64_t whole;
    int power;
    if (!round_to(value, count, &s, &whole, &power))
        whole = library_round_to(value, count, &power);
    return put(whole, count, power, digits);
}

static bool reads_back(const scaled *s, uint64_t decimal)
{
    wide there = (wide)decimal << s->shift;
    wide apart = there > s->product ? there - s->product : s->product - there;
    return 2 * apart < s->unit || (2 * apart == s->unit && s->mantissa % 2 == 0);
}

static bool library_reads_back(double value, uint64_t decimal, int power)
{
    char text[48];
    double again = 0;
    snprintf(text, sizeof text, "%llue%d", (unsigned long long)decimal, power);
    cm_number_read(text, &again);
    return again == fabs(value);
}

int cm_digits_read_back(double value, char digits[20])
{
    scaled s;
    uint64_t all, decimal;
    int power, count = LEAST_SURE;
    bool exact = round_to(value, CM_MOST_DIGITS, &s, &all, &power);
    if (!exact)
        all = library_round_to(value, CM_MOST_DIGITS, &power);
    for (;; count++) {
        uint64_t unit = TENS[CM_MOST_DIGITS - count];
        decimal = (all + unit / 2) / unit * unit;
        if (count == CM_MOST_DIGITS ||
            (exact ? reads_back(&s, decimal)
                   : library_reads_back(value, decimal, power - CM_MOST_DIGITS + 1)))
            return put(decimal, CM_MOST_DIGITS, power, digits);
    }
}
