/* SPDX-License-Identifier: MIT */
/**
 * @file complex.h
 * Complex numbers without guards that cost more than the arithmetic.
 */
#ifndef BASE_COMPLEX_H
#define BASE_COMPLEX_H

#include <complex.h>
#include <math.h>
#undef I

/** re + i·im without the compiler's NaN checks. */
static inline double complex cm_pack(double re, double im)
{
    union {
        double parts[2];
        double complex z;
    } u = {{re, im}};
    return u.z;
}

/** Product without the compiler's NaN checks. */
static inline double complex cm_times(double complex a, double complex b)
{
    return cm_pack(creal(a) * creal(b) - cimag(a) * cimag(b), creal(a) * cimag(b) + cimag(a) * creal(b));
}

/** |z|². */
static inline double cm_abs2(double complex z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

/** |z|: cabs guards against overflow with six times the work, which few numbers need. */
static inline double cm_abs(double complex z)
{
    double square = cm_abs2(z);
    if (square > 1e-280 && square < 1e280)
        return sqrt(square);
    return z == 0 ? 0 : cabs(z);
}

#endif
