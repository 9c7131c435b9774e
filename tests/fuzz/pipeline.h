/* SPDX-License-Identifier: MIT */
/**
 * @file pipeline.h
 * What fuzz targets share: running a command of the program in this process, and watching the clock.
 */
#ifndef FUZZ_PIPELINE_H
#define FUZZ_PIPELINE_H

#include "cli.h"

#include <stdint.h>

/** The program's main, by another name. It closes standard output, so it can be called once. */
int countermass_main(int count, char **arguments);

/** Stops with a report unless the condition holds. */
void need(bool holds, const char *what);

/** A number that chooses what else is done with an input. */
uint32_t pipeline_hash(const uint8_t *bytes, size_t length);

/** Commands that take cases. */
int pipeline_command_count(void);

/** Runs command `which` (modulo their number) on the file in memory called `name`; its exit status, which is one of
 *  the table's and never "the machine failed". */
int pipeline_run(int which, const char *name);

#endif
