/* SPDX-License-Identifier: MIT */
/*
 * The one routine of Fortran's run-time library that LAPACK needs here: two texts one after the other, cut or filled with
 * blanks to the length of the target (Fortran 2018, 10.2.1.3). Called as compiled Fortran calls it (GNU Fortran 8 and later).
 *
 * With it neither libgfortran nor libquadmath is loaded. That saves a fifth of an empty program's start; and libquadmath
 * registers a length modifier with printf, after which glibc parses every format the slow way.
 */
#include <stddef.h>
#include <string.h>

void _gfortran_concat_string(size_t length, char *target, size_t first_length, const char *first,
                             size_t second_length, const char *second);

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

void _gfortran_concat_string(size_t length, char *target, size_t first_length, const char *first,
                             size_t second_length, const char *second)
{
    size_t from_first = least(first_length, length);
    size_t from_second = least(second_length, length - from_first);
    memcpy(target, first, from_first);
    memcpy(target + from_first, second, from_second);
    memset(target + from_first + from_second, ' ', length - from_first - from_second);
}
