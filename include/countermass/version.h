/* SPDX-License-Identifier: MIT */
/**
 * @file version.h
 * Version of the library: the only place where it is written down.
 *
 * Before 1.0 a new minor version may change functions and structs, a new patch does not.
 */
#ifndef COUNTERMASS_VERSION_H
#define COUNTERMASS_VERSION_H

#include "countermass/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Version of these headers. */
#define CM_VERSION "0.1.0"
/** Its first number. */
#define CM_VERSION_MAJOR 0
/** Its second number. */
#define CM_VERSION_MINOR 1
/** Its third number. */
#define CM_VERSION_PATCH 0

/** Version of the library that is running, as "MAJOR.MINOR.PATCH"; differs from CM_VERSION when a program met another
 *  shared library than it was built with. A constant text; needs no session and does not fail. */
CM_API const char *cm_version(void);

#ifdef __cplusplus
}
#endif
#endif
