/* SPDX-License-Identifier: MIT */
/**
 * @file digits.h
 * Decimal digits of a double, correctly rounded (ties to even).
 */
#ifndef BASE_DIGITS_H
#define BASE_DIGITS_H

#include <stdbool.h>
#include <stdint.h>

enum { CM_MOST_DIGITS = 17 }; /* a double has no more */

/** |value|·10^power rounded to a whole number; false: it does not fit, or power is not between 0 and 22. */
bool cm_digits_whole(double value, int power, uint64_t *whole);

/** Digits of |value|, not 0, rounded to `count` (1 to 17) of them, without zeros at the end; returns the power of ten of
 *  the first. */
int cm_digits_rounded(double value, int count, char digits[20]);

/** The same with the fewest of 15, 16 or 17 digits that read back as the same double. */
int cm_digits_read_back(double value, char digits[20]);

/** Writes a whole number with at least `least` digits; returns how many. */
int cm_digits_write(uint64_t whole, int least, char digits[24]);

#endif
