/* SPDX-License-Identifier: MIT */
#include "memory_files.h"

#include "base/file.h"

#include <string.h>

enum { MOST_FILES = 8 };

static struct {
    const char *name;
    const void *bytes;
    size_t length;
} files[MOST_FILES];
static int file_count;
static size_t written;

void memory_files_clear(void)
{
    file_count = 0;
    written = 0;
}

void memory_files_add(const char *name, const void *bytes, size_t length)
{
    if (file_count == MOST_FILES)
        __builtin_trap();
    files[file_count].name = name;
    files[file_count].bytes = bytes;
    files[file_count++].length = length;
}

size_t memory_files_written(void)
{
    return written;
}

static int find(const char *path)
{
    if (!strncmp(path, "./", 2))
        path += 2;
    for (int i = 0; i < file_count; i++)
        if (!strcmp(files[i].name, path))
            return i;
    return -1;
}

char *__wrap_cm_file_read(cm_session *session, const char *path, size_t most, size_t *length);
void __wrap_cm_files_write(cm_session *session, int count, const cm_file_text *texts);
bool __wrap_cm_path_strays(const char *beside, const char *path);
bool __wrap_cm_file_is_there(const char *path);
bool __wrap_cm_file_has_bytes(cm_session *session, const char *path);
int __wrap_cm_same_file(const char *a, const char *b);
int __wrap_cm_same_target(const char *a, const char *b);
int __wrap_cm_has_read(const cm_session *session, const char *path);

char *__wrap_cm_file_read(cm_session *session, const char *path, size_t most, size_t *length)
{
    int i = find(path);
    if (i < 0) {
        cm_place place = {.file = cm_copy_text(session, path, strlen(path))};
        cm_report(session, CM_ERROR, &place, "cannot be opened: there is no such file");
        cm_fail(session, CM_BAD_INPUT, NULL);
    }
    if (files[i].length > most)
        cm_fail(session, CM_BAD_INPUT, "the file is too large");
    *length = files[i].length;
    return cm_copy_text(session, files[i].bytes, files[i].length);
}

void __wrap_cm_files_write(cm_session *session, int count, const cm_file_text *texts)
{
    (void)session;
    for (int i = 0; i < count; i++)
        written += texts[i].length;
}

bool __wrap_cm_path_strays(const char *beside, const char *path)
{
    (void)beside;
    (void)path;
    return false;
}

bool __wrap_cm_file_is_there(const char *path)
{
    return find(path) >= 0;
}

bool __wrap_cm_file_has_bytes(cm_session *session, const char *path)
{
    (void)session;
    int i = find(path);
    return i >= 0 && files[i].length > 0;
}

int __wrap_cm_same_file(const char *a, const char *b)
{
    return find(a) >= 0 && find(a) == find(b);
}

int __wrap_cm_same_target(const char *a, const char *b)
{
    return !strcmp(a, b) || __wrap_cm_same_file(a, b);
}

/* Every file of the memory may be one that was read. */
int __wrap_cm_has_read(const cm_session *session, const char *path)
{
    (void)session;
    return find(path) >= 0;
}
