/* SPDX-License-Identifier: MIT */
/**
 * @file rotor.h
 * A random rotor and its runs, made from bytes, and written as a case file in several ways that mean the same.
 */
#ifndef FUZZ_ROTOR_H
#define FUZZ_ROTOR_H

#include <complex.h>
#undef I
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { MOST_PLANES = 3, MOST_SENSORS = 3, MOST_SPEEDS = 2, MOST_RUNS = MOST_PLANES + 2, MOST_TEXT = 32768 };

/* Angles with rotation, phases as lead, g, mm, um pp: what the text says in its own way. */
typedef struct rotor {
    int planes, sensors, speeds, runs;
    double complex a[MOST_SPEEDS][MOST_SENSORS][MOST_PLANES], y[MOST_SPEEDS][MOST_SENSORS];
    double zero[MOST_PLANES], radius[MOST_PLANES], cap[MOST_PLANES]; /* cap 0: none */
    double limit[MOST_SENSORS], repeatability, weight[MOST_SPEEDS];
    double complex mass[MOST_RUNS][MOST_PLANES];
    double complex noise[MOST_RUNS][MOST_SPEEDS][MOST_SENSORS];
    bool missing[MOST_RUNS][MOST_SENSORS];
    double complex fixed; /* of the first plane; 0: not fixed */
    int objective;
    bool within;
} rotor;

/** How a case is written. */
typedef struct manner {
    bool lag, against, small_units, backwards;
} manner;

void rotor_make(rotor *r, const uint8_t *bytes, size_t length);

/** Number of the plane (sensor, speed) that stands at place k of the file. */
int rotor_order(const manner *m, int count, int k);

void rotor_write(const rotor *r, const manner *m, char text[MOST_TEXT]);

#endif
