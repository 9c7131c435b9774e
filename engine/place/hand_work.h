/* SPDX-License-Identifier: MIT */
/** @file hand_work.h Closed forms of what a fitter does by hand. */
#ifndef PLACE_HAND_WORK_H
#define PLACE_HAND_WORK_H

#include "countermass/place.h"

#include <stdbool.h>

#include <complex.h>
#undef I

/** Parts of a mass along two directions; false when these lie on one line. */
bool cm_split_between(double complex mass, double complex first, double complex second, double part[2]);

/** The nearest free positions on both sides of a mass (one of them at it counts for both); false without. */
bool cm_free_around(const cm_shop_plane *shop, double complex mass, int site[2]);

#endif
