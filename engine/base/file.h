/* SPDX-License-Identifier: MIT */
/**
 * @file file.h
 * Files are read whole and written whole or not at all. The only file that opens files.
 */
#ifndef BASE_FILE_H
#define BASE_FILE_H

#include "base/session.h"

/** Reads a file ("-": standard input) into the arena, at most `most` bytes; a zero byte is appended.
 *  Cannot be opened, is a folder: CM_BAD_INPUT with "FILE: text"; too large: CM_BAD_INPUT at 1:1; reading breaks off:
 *  CM_FILE_FAILED. */
char *cm_file_read(cm_session *session, const char *path, size_t most, size_t *length);

/** What is to stand in a file. */
typedef struct cm_file_text {
    const char *path;
    const char *bytes;
    size_t length;
} cm_file_text;

/** Writes copies beside the targets, syncs them, and renames them over the targets when all are on disk: the old files
 *  stay whole if anything fails (CM_FILE_FAILED). Only where a rename fails, the ones before it have been made. What is
 *  no regular file (a pipe, a device) is written to, before the others. */
void cm_files_write(cm_session *session, int count, const cm_file_text *files);

/** `name` relative to the folder of `beside`; NULL when it would leave that folder. */
char *cm_path_beside(cm_session *session, const char *beside, const char *name);

/** True when a link on the way leads `path` out of the folder of `beside`; false when nothing is there. */
bool cm_path_strays(const char *beside, const char *path);

/** True for a regular file that holds something. */
bool cm_file_has_bytes(cm_session *session, const char *path);

/** True for a regular file that may be read. */
bool cm_file_is_there(const char *path);

#endif
