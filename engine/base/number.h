/* SPDX-License-Identifier: MIT */
/**
 * @file number.h
 * Numbers as text, independent of the locale. The only file that knows of locales.
 */
#ifndef BASE_NUMBER_H
#define BASE_NUMBER_H

#include "base/session.h"

#include <stdarg.h>

/** Parses `[+-]digits[.digits][e[+-]digits]` at `text`; returns where it stopped, NULL when there is no number.
 *  "nan", "inf", hexadecimal and a decimal comma are no numbers. Overflow gives ±HUGE_VAL: the caller refuses it. */
const char *cm_number_read(const char *text, double *value);

/** Fewest of 15, 16 or 17 digits that read back as the same double; integers below 1e15 without a point; never
 *  "-0". An exponent has a point before it and a sign ("1.0e-12"): YAML 1.1 sees no number otherwise.
 *  NaN and infinity have no text: "-", here and below. */
void cm_number_round_trip(double value, char text[32]);

/** `digits` significant digits for people: no exponent between 1e-4 and 1e7, no zeros at the end,
 *  whole numbers with all their digits. */
void cm_number_short(double value, int digits, char text[32]);

/** Fixed decimals for people. */
void cm_number_fixed(double value, int decimals, char text[64]);

/** vsnprintf with the decimal point of the C locale, whatever locale the host has chosen. */
int cm_number_print(char *text, size_t room, const char *format, va_list arguments) CM_PRINTF(3, 0);

#endif
