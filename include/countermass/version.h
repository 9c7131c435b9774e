/* SPDX-License-Identifier: MIT */
/** @file version.h Version of the library. */
#ifndef COUNTERMASS_VERSION_H
#define COUNTERMASS_VERSION_H
#define CM_VERSION "0.1.0"
#endif
