/* SPDX-License-Identifier: MIT */
/* Files, whole or not at all. The only file that opens files. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "base/file.h"

#include "countermass/page.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

CM_NORETURN static void fail_at(cm_session *session, cm_status status, const char *path, const char *what,
                                int error)
{
    cm_place place = {
        .file = cm_copy_text(session, path, strlen(path))}; /* may fail itself, for lack of memory */
    if (error)
        cm_report(session, CM_ERROR, &place, "%s: %s", what, strerror(error));
    else
        cm_report(session, CM_ERROR, &place, "%s", what);
    cm_fail(session, status, NULL);
}

/* What is wrong with the whole of a file stands at its beginning. */
CM_NORETURN static void fail_whole(cm_session *session, const char *path, const char *what)
{
    cm_place place = {cm_copy_text(session, path, strlen(path)), 1, 1};
    cm_report(session, CM_ERROR, &place, "%s", what);
    cm_fail(session, CM_BAD_INPUT, NULL);
}

/* ---- reading ---- */

static void close_deferred(void *what)
{
    const int *descriptor = what;
    if (*descriptor >= 0)
        close(*descriptor);
}

static int open_to_read(cm_session *session, const char *path)
{
    int *descriptor = CM_NEW(session, 1, int);
    *descriptor = -1;
    cm_defer(session, close_deferred, descriptor); /* before opening: deferring may run out of memory */
    do
        *descriptor = open(path, O_RDONLY | O_CLOEXEC);
    while (*descriptor < 0 && errno == EINTR);
    if (*descriptor < 0)
        fail_at(session, CM_BAD_INPUT, path, "cannot be opened", errno);
    return *descriptor;
}

/* Size to begin with: a regular file's own, with one byte more to see its end. */
static size_t expected_size(cm_session *session, const char *path, int descriptor, size_t most)
{
    struct stat facts;
    if (fstat(descriptor, &facts) != 0)
        fail_at(session, CM_FILE_FAILED, path, "cannot be read", errno);
    if (S_ISDIR(facts.st_mode))
        fail_at(session, CM_BAD_INPUT, path, "is a folder", 0);
    if (S_ISREG(facts.st_mode))
        cm_note_input(session, facts.st_dev, facts.st_ino);
    if (!S_ISREG(facts.st_mode) || facts.st_size < 0)
        return most < 65536 ? most + 1 : 65536;
    return (uintmax_t)facts.st_size > most ? most + 1 : (size_t)facts.st_size + 1;
}

static size_t read_some(cm_session *session, const char *path, int descriptor, char *bytes, size_t room)
{
    ssize_t got;
    do
        got = read(descriptor, bytes, room);
    while (got < 0 && errno == EINTR);
    if (got < 0)
        fail_at(session, CM_FILE_FAILED, path, "reading broke off", errno);
    return (size_t)got;
}

static char *read_all(cm_session *session, const char *path, int descriptor, size_t most, size_t *length)
{
    size_t room = expected_size(session, path, descriptor, most), used = 0;
    char *bytes = cm_alloc(session, room + 1, 1);
    for (size_t got = 1; got > 0 && used <= most;) {
        if (used == room) {
            char *larger = cm_alloc(session, 2 * room + 1, 1);
            memcpy(larger, bytes, used);
            bytes = larger;
            room *= 2;
        }
        got = read_some(session, path, descriptor, bytes + used, room - used);
        used += got;
    }
    if (used > most)
        fail_whole(session, path, cm_format(session, "the file is larger than %zu bytes", most));
    bytes[used] = 0;
    *length = used;
    return bytes;
}

char *cm_file_read(cm_session *session, const char *path, size_t most, size_t *length)
{
    if (most > SIZE_MAX / 4)
        most = SIZE_MAX / 4;
    if (strcmp(path, "-") == 0)
        return read_all(session, path, STDIN_FILENO, most, length);
    int descriptor = open_to_read(session, path);
    char *bytes = read_all(session, path, descriptor, most, length);
    cm_release_last(session);
    return bytes;
}

/* ---- writing ---- */

static int write_all(int descriptor, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t done = write(descriptor, bytes, length);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0)
            return errno;
        bytes += done;
        length -= (size_t)done;
    }
    return 0;
}

enum { ROOM_BESIDE = 64 }; /* for the name of the unfinished copy */

static size_t folder_length(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? (size_t)(slash - path) + 1 : 0;
}

/* A new file beside the target under a name nobody has; O_EXCL never follows a link. */
static int open_beside(char *name, size_t room, const char *path)
{
    for (int attempt = 0; attempt < 1000; attempt++) {
        snprintf(name, room, "%.*s.countermass-%ld-%d", (int)folder_length(path), path, (long)getpid(),
                 attempt);
        int descriptor = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (descriptor >= 0 || errno != EEXIST)
            return descriptor;
    }
    return -1;
}

static int fill_and_close(int descriptor, const char *bytes, size_t length, const struct stat *old)
{
    int error = 0;
    if (old && fchmod(descriptor, old->st_mode & 0777) != 0)
        error = errno;
    if (!error)
        error = write_all(descriptor, bytes, length);
    if (!error && fsync(descriptor) != 0)
        error = errno;
    if (close(descriptor) != 0 && !error)
        error = errno;
    return error;
}

/* A terminal, a pipe or a device cannot be replaced, only written to. */
static int write_in_place(const char *path, const char *bytes, size_t length)
{
    int descriptor = open(path, O_WRONLY | O_CLOEXEC);
    if (descriptor < 0)
        return errno;
    int error = write_all(descriptor, bytes, length);
    if (close(descriptor) != 0 && !error)
        error = errno;
    return error;
}

/* The name that a new file gets, found by following links whose end is not there yet; 0 or an error number. */
static int name_of_new(const char *path, char name[PATH_MAX])
{
    enum { MOST_LINKS = 40 };
    char end[PATH_MAX];
    if (strlen(path) + ROOM_BESIDE > PATH_MAX)
        return ENAMETOOLONG;
    memcpy(name, path, strlen(path) + 1);
    for (int i = 0; i < MOST_LINKS; i++) {
        ssize_t length = readlink(name, end, sizeof end);
        if (length < 0)
            return 0; /* no link: whether a file can be made there shows when it is made */
        size_t folder = end[0] == '/' ? 0 : folder_length(name);
        if (folder + (size_t)length + ROOM_BESIDE > PATH_MAX)
            return ENAMETOOLONG;
        memcpy(name + folder, end, (size_t)length);
        name[folder + (size_t)length] = '\0';
    }
    return ELOOP;
}

/* A target: what stands there now, and the copy beside it that takes its name once the copies of all are on disk. */
typedef struct goal {
    const cm_file_text *file;
    bool exists, in_place;
    struct stat old;
    char name[PATH_MAX], copy[PATH_MAX]; /* links followed */
} goal;

/* Finds out where the bytes go; 0 or an error number. */
static int aim(cm_session *session, goal *t)
{
    const char *path = t->file->path;
    t->exists = stat(path, &t->old) == 0;
    if (t->exists && S_ISDIR(t->old.st_mode))
        fail_at(session, CM_FILE_FAILED, path, "is a folder", 0);
    if (!t->exists && errno != ENOENT) /* a link to nothing yet is not there either */
        return errno;
    t->in_place = t->exists && !S_ISREG(t->old.st_mode);
    if (t->in_place)
        return 0;
    if (t->exists) /* a link stays a link: what it points to is replaced (or, below, made) */
        return realpath(path, t->name) ? 0 : errno;
    return name_of_new(path, t->name);
}

static int write_copy(goal *t)
{
    int descriptor = open_beside(t->copy, sizeof t->copy, t->name);
    if (descriptor < 0)
        return errno;
    int error = fill_and_close(descriptor, t->file->bytes, t->file->length, t->exists ? &t->old : NULL);
    if (error)
        unlink(t->copy);
    return error;
}

/* Takes the copies from `first` on away. */
static void drop_copies(const goal *list, int first, int count)
{
    for (int i = first; i < count; i++)
        if (!list[i].in_place)
            unlink(list[i].copy);
}

/* All copies, then all names; *failed: where an error, which is returned, came up. */
static int write_and_rename(goal *list, int count, int *failed)
{
    int error = 0, i = 0;
    for (; i < count && !error; i++)
        error = list[i].in_place ? 0 : write_copy(&list[i]);
    *failed = i - 1;
    if (error) {
        drop_copies(list, 0, i - 1);
        return error;
    }
    for (i = 0; i < count && !error; i++)
        if (!list[i].in_place && rename(list[i].copy, list[i].name) != 0)
            error = errno;
    *failed = i - 1;
    if (error)
        drop_copies(list, i - 1, count);
    return error;
}

/* Signals wait until the files are in their places: one that ends the program would leave unfinished copies behind.
 * Those that cannot wait (SIGKILL, SIGSTOP, a fault of the program itself) come all the same. */
static int replace_files(goal *list, int count, int *failed)
{
    sigset_t held, before;
    sigfillset(&held);
    pthread_sigmask(SIG_BLOCK, &held, &before);
    int error = write_and_rename(list, count, failed);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return error;
}

void cm_files_write(cm_session *session, int count, const cm_file_text *files)
{
    goal *list = CM_NEW(session, count, goal);
    int error = 0, failed = 0;
    for (int i = 0; i < count && !error; failed = i++) {
        list[i].file = &files[i];
        error = aim(session, &list[i]);
    }
    for (int i = 0; i < count && !error; failed = i++) /* these may wait for a reader: signals come through */
        if (list[i].in_place)
            error = write_in_place(files[i].path, files[i].bytes, files[i].length);
    if (!error)
        error = replace_files(list, count, &failed);
    if (error)
        fail_at(session, CM_FILE_FAILED, files[failed].path, "cannot be written", error);
}

/* ---- paths ---- */

static bool leaves_folder(const char *name)
{
    int depth = 0;
    while (*name) {
        size_t part = strcspn(name, "/");
        if (part == 2 && name[0] == '.' && name[1] == '.')
            depth--;
        else if (part > 0 && !(part == 1 && name[0] == '.'))
            depth++;
        if (depth < 0)
            return true;
        name += part;
        name += *name == '/';
    }
    return depth == 0; /* the folder itself is no file in it */
}

char *cm_path_beside(cm_session *session, const char *beside, const char *name)
{
    if (name[0] == '/' || leaves_folder(name))
        return NULL;
    if (folder_length(beside) == 0 && strcmp(name, "-") == 0)
        return cm_format(session, "./-"); /* a file of that name, not standard input */
    return cm_format(session, "%.*s%s", (int)folder_length(beside), beside, name);
}

bool cm_path_strays(const char *beside, const char *path)
{
    char folder[PATH_MAX], home[PATH_MAX], target[PATH_MAX];
    size_t length = folder_length(beside);
    if (length + 2 > sizeof folder)
        return true;
    snprintf(folder, sizeof folder, "%.*s", length ? (int)length : 1, length ? beside : ".");
    if (!realpath(path, target))
        return false;
    if (!realpath(folder, home))
        return true;
    length = strlen(home);
    return strncmp(home, target, length) != 0 || (home[length - 1] != '/' && target[length] != '/');
}

static bool regular(const char *path, struct stat *facts)
{
    return stat(path, facts) == 0 && S_ISREG(facts->st_mode);
}

/* What cannot be asked about is not taken for nothing. */
bool cm_file_has_bytes(cm_session *session, const char *path)
{
    struct stat facts;
    errno = 0;
    if (regular(path, &facts))
        return facts.st_size > 0;
    if (errno && errno != ENOENT && errno != ENOTDIR)
        fail_at(session, CM_FILE_FAILED, path, "cannot be looked at", errno);
    return false;
}

int cm_same_file(const char *a, const char *b)
{
    struct stat one, other;
    return regular(a, &one) && regular(b, &other) && one.st_dev == other.st_dev && one.st_ino == other.st_ino;
}

/* A name that nothing stands at: the folder that will hold it, and its place in the name. */
static const char *new_name(const char *path, char name[PATH_MAX], struct stat *folder)
{
    struct stat facts;
    if (stat(path, &facts) == 0 || name_of_new(path, name) != 0)
        return NULL;
    size_t length = folder_length(name);
    char *last = name + length, first = *last;
    *last = '\0';
    bool known = stat(length ? name : ".", folder) == 0;
    *last = first;
    return known ? last : NULL;
}

int cm_same_target(const char *a, const char *b)
{
    char name[2][PATH_MAX];
    struct stat one, other;
    if (strcmp(a, b) == 0 || cm_same_file(a, b))
        return 1;
    const char *first = new_name(a, name[0], &one), *second = new_name(b, name[1], &other);
    return first && second && one.st_dev == other.st_dev && one.st_ino == other.st_ino &&
           strcmp(first, second) == 0;
}

int cm_has_read(const cm_session *session, const char *path)
{
    struct stat facts;
    const cm_input *input = regular(path, &facts) ? session->inputs : NULL;
    while (input && (input->device != facts.st_dev || input->number != facts.st_ino))
        input = input->next;
    return input != NULL;
}

bool cm_file_is_there(const char *path)
{
    struct stat facts;
    return regular(path, &facts) && access(path, R_OK) == 0;
}
