/* SPDX-License-Identifier: MIT */
/*
 * Numbers to and from text.
 *
 * Reading: the grammar is checked by hand. Up to 15 digits and a power of ten
 * up to 22 are both exact doubles, so one multiplication or division is
 * correctly rounded (W. D. Clinger, "How to read floating point numbers
 * accurately", 1990; value from memory). Everything else goes to strtod as
 * digits and exponent without a decimal point. Writing takes the bare digits
 * and sets the point itself. So the locale's decimal sign never
 * matters, and no locale has to be switched. Only messages, where a number may
 * stand in a format, are printed under the C locale of this thread.
 */
#include "base/number.h"
#include "base/digits.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A double halfway between two others has at most 767 significant digits; what follows only says "a bit more". */
enum { MOST_DIGITS = 770, EXACT_DIGITS = 15, EXACT_POWER = 22, HUGE_POWER = 100000 };

typedef struct decimal {
    char digits[MOST_DIGITS + 32]; /* significant digits, no leading zeros */
    int count;
    long power; /* value = digits × 10^power */
    bool negative;
} decimal;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static void keep_digit(decimal *d, char digit, bool after_point)
{
    bool leading = d->count == 0 && digit == '0';
    if (!leading && d->count < MOST_DIGITS) {
        d->digits[d->count++] = digit;
        d->power -= after_point;
        return;
    }
    if (!leading && digit != '0' && d->digits[MOST_DIGITS - 1] == '0')
        d->digits[MOST_DIGITS - 1] = '1'; /* no tie: something is left below the digits kept */
    if (leading)
        d->power -= after_point;
    else
        d->power += !after_point;
}

static const char *read_mantissa(const char *text, decimal *d)
{
    d->negative = *text == '-';
    text += *text == '-' || *text == '+';
    if (!is_digit(*text))
        return NULL;
    for (; is_digit(*text); text++)
        keep_digit(d, *text, false);
    if (text[0] == '.' && is_digit(text[1]))
        for (text++; is_digit(*text); text++)
            keep_digit(d, *text, true);
    return text;
}

static const char *read_exponent(const char *text, decimal *d)
{
    if (*text != 'e' && *text != 'E')
        return text;
    const char *at = text + 1;
    bool negative = *at == '-';
    at += *at == '-' || *at == '+';
    if (!is_digit(*at))
        return text;
    long power = 0;
    for (; is_digit(*at); at++)
        if (power < HUGE_POWER * 1000L)
            power = 10 * power + (*at - '0');
    d->power += negative ? -power : power;
    return at;
}

static double exact_value(const decimal *d)
{
    static const double powers[EXACT_POWER + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                   1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                   1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    double value = 0;
    for (int i = 0; i < d->count; i++)
        value = 10 * value + (d->digits[i] - '0');
    return d->power < 0 ? value / powers[-d->power] : value * powers[d->power];
}

static double rounded_value(decimal *d)
{
    long power = d->power < -HUGE_POWER ? -HUGE_POWER : d->power > HUGE_POWER ? HUGE_POWER : d->power;
    snprintf(d->digits + d->count, sizeof d->digits - (size_t)d->count, "e%ld", power);
    return strtod(d->digits, NULL);
}

const char *cm_number_read(const char *text, double *value)
{
    decimal d;
    d.count = 0;
    d.power = 0;
    const char *end = read_mantissa(text, &d);
    if (!end)
        return NULL;
    end = read_exponent(end, &d);
    bool exact = d.count <= EXACT_DIGITS && d.power >= -EXACT_POWER && d.power <= EXACT_POWER;
    double size = d.count == 0 ? 0 : exact ? exact_value(&d) : rounded_value(&d);
    *value = d.negative ? -size : size;
    return end;
}

/* ---- writing ---- */

/* digits d.ddd × 10^power with the point in its place */
static void write_plain(bool negative, const char *digits, int count, int power, char *text)
{
    if (negative)
        *text++ = '-';
    if (power < 0)
        *text++ = '0';
    for (int i = 0; i <= power; i++)
        *text++ = (char)(i < count ? digits[i] : '0');
    if (count > power + 1)
        *text++ = '.';
    for (int i = power + 1; i < 0; i++)
        *text++ = '0';
    for (int i = power < 0 ? 0 : power + 1; i < count; i++)
        *text++ = digits[i];
    *text = 0;
}

static void write_with_exponent(bool negative, const char *digits, int power, char text[32])
{
    snprintf(text, 32, "%s%c.%se%+03d", negative ? "-" : "", digits[0], digits[1] ? digits + 1 : "0", power);
}

/* What is no number has no digits to show. */
static bool write_special(double value, char *text)
{
    if (isfinite(value) && value != 0)
        return false;
    snprintf(text, 4, "%s", value == 0 ? "0" : "-");
    return true;
}

/* With an exponent where the first digit's power of ten is below `least` or not below `most`. */
static void write_digits(double value, const char *digits, int power, int least, int most, char text[32])
{
    if (power >= least && power < most)
        write_plain(value < 0, digits, (int)strlen(digits), power, text);
    else
        write_with_exponent(value < 0, digits, power, text);
}

void cm_number_round_trip(double value, char text[32])
{
    char figures[20];
    if (write_special(value, text))
        return;
    int power = cm_digits_read_back(value, figures);
    write_digits(value, figures, power, -5, 15, text);
}

void cm_number_short(double value, int digits, char text[32])
{
    if (write_special(value, text))
        return;
    int wanted = digits < 1 ? 1 : digits > 15 ? 15 : digits;
    char figures[20];
    int power = cm_digits_rounded(value, wanted, figures);
    if (power >= wanted && power < 7) /* whole numbers keep all their digits */
        power = cm_digits_rounded(value, power + 1, figures);
    write_digits(value, figures, power, -4, 7, text);
}

static void join(const char *before, int length, const char *after, int places, char *text)
{
    memcpy(text, before, (size_t)length);
    text += length;
    if (places)
        *text++ = '.';
    memcpy(text, after, (size_t)places);
    text[places] = 0;
}

/* |value| from the C library, whatever the decimal sign of the locale is. */
static void library_fixed(double value, int places, char *text)
{
    char raw[80];
    int length = snprintf(raw, sizeof raw, "%.*f", places, fabs(value));
    join(raw, (int)strspn(raw, "0123456789"), raw + length - places, places, text);
}

static void whole_fixed(uint64_t whole, int places, char *text)
{
    char digits[24];
    int before = cm_digits_write(whole, places + 1, digits) - places;
    join(digits, before, digits + before, places, text);
}

/* What shows as zero has no sign. */
void cm_number_fixed(double value, int decimals, char text[64])
{
    int places = decimals < 0 ? 0 : decimals > 15 ? 15 : decimals;
    uint64_t whole;
    if (!isfinite(value) || fabs(value) >= 1e40) {
        cm_number_short(value, 15, text);
        return;
    }
    char *size = value < 0 ? text + 1 : text;
    if (cm_digits_whole(value, places, &whole))
        whole_fixed(whole, places, size);
    else
        library_fixed(value, places, size);
    bool zero = size[strspn(size, "0.")] == 0;
    if (zero)
        memmove(text, size, strlen(size) + 1);
    else if (value < 0)
        text[0] = '-';
}

int cm_number_print(char *text, size_t room, const char *format, va_list arguments)
{
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    locale_t before = plain ? uselocale(plain) : (locale_t)0;
    int length = vsnprintf(text, room, format, arguments);
    if (!plain)
        return length;
    uselocale(before);
    freelocale(plain);
    return length;
}
