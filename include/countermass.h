/* SPDX-License-Identifier: MIT */
/**
 * @file countermass.h
 * Balancing of flexible multi-bearing rotors by influence coefficients and least squares.
 */
#ifndef COUNTERMASS_H
#define COUNTERMASS_H

#include "countermass/version.h"
#include "countermass/session.h"
#include "countermass/influence.h"
#include "countermass/solve.h"
#include "countermass/case.h"
#include "countermass/job.h"
#include "countermass/start.h"
#include "countermass/planes.h"
#include "countermass/evidence.h"
#include "countermass/place.h"
#include "countermass/page.h"

#endif
