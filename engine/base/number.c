/* SPDX-License-Identifier: MIT */
/*
 * Numbers to and from text.
 *
 * Reading: the grammar is checked by hand. Up to 15 digits and a power of ten
 * up to 22 are both exact doubles, so one multiplication or division is
 * correctly rounded (W. D. Clinger, "How to read floating point numbers
 * accurately", 1990; value from memory). Everything else goes to strtod as
 * digits and exponent without a decimal point. Writing takes the digits of
 * "%.*e" and sets the point itself. So the locale's decimal sign never
 * matters, and no locale has to be switched. Only messages, where a number may
 * stand in a format, are printed under the C locale of this thread.
 */
#include "base/number.h"

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

enum { WHOLE_DIGITS = 17 }; /* a double has no more */

/* Digits of |value| rounded to `count` of them; returns the power of ten of the first. */
static int rounded_digits(double value, int count, char digits[20])
{
    char text[48];
    snprintf(text, sizeof text, "%.*e", count - 1, fabs(value));
    int kept = 0;
    const char *at = text;
    for (; *at && *at != 'e'; at++)
        if (is_digit(*at))
            digits[kept++] = *at;
    digits[kept] = 0;
    return *at ? atoi(at + 1) : 0;
}

static int without_trailing_zeros(char *digits)
{
    int count = (int)strlen(digits);
    while (count > 1 && digits[count - 1] == '0')
        digits[--count] = 0;
    return count;
}

/* digits d.ddd × 10^power with the point in its place */
static void write_plain(bool negative, const char *digits, int count, int power, char *text)
{
    if (negative)
        *text++ = '-';
    if (power < 0)
        *text++ = '0';
    for (int i = 0; i <= power; i++)
        *text++ = i < count ? digits[i] : '0';
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

/* The first `count` of 17 digits, rounded in the text; a carry out of the first digit raises the power. */
static int shorten_digits(const char all[20], int count, int power, char digits[20])
{
    memcpy(digits, all, (size_t)count);
    digits[count] = 0;
    if (count == WHOLE_DIGITS || all[count] < '5')
        return power;
    int last = count - 1;
    while (last >= 0 && digits[last] == '9')
        digits[last--] = '0';
    if (last >= 0) {
        digits[last]++;
        return power;
    }
    digits[0] = '1'; /* the rest are zeros */
    return power + 1;
}

/* One conversion to 17 digits, which always read back; 15 or 16 of them are kept when these read back too. */
void cm_number_round_trip(double value, char text[32])
{
    if (write_special(value, text))
        return;
    if (value == trunc(value) && fabs(value) < 1e15) {
        snprintf(text, 32, "%.0f", value);
        return;
    }
    char all[20];
    int first_power = rounded_digits(value, WHOLE_DIGITS, all);
    for (int digits = 15; digits <= WHOLE_DIGITS; digits++) {
        char figures[20];
        int power = shorten_digits(all, digits, first_power, figures);
        int count = without_trailing_zeros(figures);
        if (power >= -5 && power < 15)
            write_plain(value < 0, figures, count, power, text);
        else
            write_with_exponent(value < 0, figures, power, text);
        double again = 0;
        if (digits < WHOLE_DIGITS)
            cm_number_read(text, &again);
        if (again == value)
            return;
    }
}

void cm_number_short(double value, int digits, char text[32])
{
    if (write_special(value, text))
        return;
    int figures_wanted = digits < 1 ? 1 : digits > 15 ? 15 : digits;
    char figures[20];
    int power = rounded_digits(value, figures_wanted, figures);
    if (power >= figures_wanted && power < 7) { /* whole numbers keep all their digits */
        figures_wanted = power + 1;
        power = rounded_digits(value, figures_wanted, figures);
    }
    int count = without_trailing_zeros(figures);
    if (power >= -4 && power < 7)
        write_plain(value < 0, figures, count, power, text);
    else
        write_with_exponent(value < 0, figures, power, text);
}

void cm_number_fixed(double value, int decimals, char text[64])
{
    int places = decimals < 0 ? 0 : decimals > 15 ? 15 : decimals;
    if (!isfinite(value) || fabs(value) >= 1e40) {
        cm_number_short(value, 15, text);
        return;
    }
    char raw[80];
    int length = snprintf(raw, sizeof raw, "%.*f", places, fabs(value));
    bool zero = strspn(raw, "0") == (size_t)length || value == 0;
    if (places && !zero) {
        const char *after = raw + length - places;
        zero = strspn(after, "0") == (size_t)places && raw[0] == '0';
    }
    char *out = text;
    if (value < 0 && !zero)
        *out++ = '-';
    for (const char *at = raw; is_digit(*at); at++)
        *out++ = *at;
    if (places) {
        *out++ = '.';
        memcpy(out, raw + length - places, (size_t)places);
        out += places;
    }
    *out = 0;
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
