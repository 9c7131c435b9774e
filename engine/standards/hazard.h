/* SPDX-License-Identifier: MIT */
/**
 * @file hazard.h
 * What a balancing mass can do to people: the force it pulls with, the speed
 * it flies off at, and the cautions that go with every mass this program
 * prescribes.
 */
#ifndef STANDARDS_HAZARD_H
#define STANDARDS_HAZARD_H

#include "model/case.h"

/** Centrifugal force of a mass [N]: m r Omega². NAN when an argument is NAN. */
double cm_centrifugal_force(double mass, double radius, double omega);

/** Speed at which a mass that comes loose flies off [m/s]: r Omega. */
double cm_rim_speed(double radius, double omega);

/** Energy of a mass that comes loose [J]: m (r Omega)² / 2. */
double cm_released_energy(double mass, double radius, double omega);

/** One caution; the table ends with a NULL title. docs/safety.md carries the same sentences. */
typedef struct cm_caution {
    const char *title;
    const char *text;
} cm_caution;

extern const cm_caution CM_CAUTIONS[];

#endif
