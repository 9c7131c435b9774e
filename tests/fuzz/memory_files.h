/* SPDX-License-Identifier: MIT */
/**
 * @file memory_files.h
 * Files that exist in memory only: the linker puts these functions in the place of those of base/file.c
 * (--wrap), so that no fuzzed name ever reaches the disk.
 */
#ifndef FUZZ_MEMORY_FILES_H
#define FUZZ_MEMORY_FILES_H

#include <stddef.h>

/** Forgets all files. */
void memory_files_clear(void);

/** Adds a file; neither name nor bytes are copied. Names that are not there cannot be opened. */
void memory_files_add(const char *name, const void *bytes, size_t length);

/** Bytes that were written to files since the last clear. */
size_t memory_files_written(void);

#endif
