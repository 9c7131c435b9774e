/* SPDX-License-Identifier: MIT */
/** @file expected.h What a number that a case expects stands in. */
#ifndef MODEL_EXPECTED_H
#define MODEL_EXPECTED_H

#include "model/case.h"

/** Degrees: a difference is taken modulo 360. */
bool cm_expected_angle(const char *key);

/** Unit of a bare number under `key` of an item that names `sensor` (NULL: none): the sensor's for readings and
 *  coefficients, the case's for masses; NULL: it takes no unit. */
const cm_unit *cm_expected_unit(const cm_case *c, const char *key, const char *sensor);

#endif
