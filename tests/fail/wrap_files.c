/* SPDX-License-Identifier: MIT */
/* System calls on files. */
#define _XOPEN_SOURCE 700
#include "faults.h"

#include <errno.h>
#include <signal.h>
#include <fcntl.h>
#include <stdarg.h>
#include <sys/stat.h>
#include <sys/types.h>

ssize_t __real_read(int descriptor, void *bytes, size_t room);
ssize_t __real_write(int descriptor, const void *bytes, size_t length);
int __real_fsync(int descriptor);
int __real_rename(const char *from, const char *to);
int __real_unlink(const char *path);
int __real_close(int descriptor);
int __real_open(const char *path, int flags, ...);
int __real_stat(const char *path, struct stat *facts);
int __real_fstat(int descriptor, struct stat *facts);
int __real_fchmod(int descriptor, mode_t mode);
ssize_t __real_readlink(const char *path, char *target, size_t room);
ssize_t __real___readlink_chk(const char *path, char *target, size_t length, size_t room);
int __real_access(const char *path, int mode);
char *__real_realpath(const char *path, char *target);
char *__real___realpath_chk(const char *path, char *target, size_t room);
ssize_t __wrap_read(int descriptor, void *bytes, size_t room);
ssize_t __wrap_write(int descriptor, const void *bytes, size_t length);
int __wrap_fsync(int descriptor);
int __wrap_rename(const char *from, const char *to);
int __wrap_unlink(const char *path);
int __wrap_close(int descriptor);
int __wrap_open(const char *path, int flags, ...);
int __wrap_stat(const char *path, struct stat *facts);
int __wrap_fstat(int descriptor, struct stat *facts);
int __wrap_fchmod(int descriptor, mode_t mode);
ssize_t __wrap_readlink(const char *path, char *target, size_t room);
ssize_t __wrap___readlink_chk(const char *path, char *target, size_t length, size_t room);
int __wrap_access(const char *path, int mode);
char *__wrap_realpath(const char *path, char *target);
char *__wrap___realpath_chk(const char *path, char *target, size_t room);

/* The user, or the machine, wants it to end now. */
static void interrupt(void)
{
    static const int ends[] = {SIGTERM,   SIGUSR1, SIGUSR2, SIGALRM, SIGXCPU, SIGXFSZ,
                               SIGVTALRM, SIGPROF, SIGPIPE, SIGHUP,  SIGINT,  SIGQUIT};
    if (fault_now(FAULT_TERM))
        raise(ends[(size_t)fault->calls % (sizeof ends / sizeof *ends)]);
    if (fault_now(FAULT_KILL))
        raise(SIGKILL);
}

static bool breaks(fault_kind kind, int error)
{
    bool now = fault_now(kind);
    if (now)
        errno = error;
    return now;
}

/* One byte only, the n-th time and every time after it. */
static size_t portion(size_t length)
{
    fault_now(FAULT_SHORT);
    return fault->kind == FAULT_SHORT && fault->at && fault->calls >= fault->at && length ? 1 : length;
}

ssize_t __wrap_read(int descriptor, void *bytes, size_t room)
{
    if (breaks(FAULT_READ, EIO) || breaks(FAULT_SIGNAL, EINTR))
        return -1;
    return __real_read(descriptor, bytes, portion(room));
}

ssize_t __wrap_write(int descriptor, const void *bytes, size_t length)
{
    interrupt();
    if (breaks(FAULT_WRITE, ENOSPC) || breaks(FAULT_SIGNAL, EINTR))
        return -1;
    return __real_write(descriptor, bytes, portion(length));
}

int __wrap_fsync(int descriptor)
{
    interrupt();
    return breaks(FAULT_SYNC, EIO) || breaks(FAULT_UNLINK, EIO) ? -1 : __real_fsync(descriptor);
}

int __wrap_rename(const char *from, const char *to)
{
    interrupt();
    return breaks(FAULT_RENAME, EACCES) ? -1 : __real_rename(from, to);
}

int __wrap_unlink(const char *path)
{
    if (!fault_since(FAULT_UNLINK))
        return __real_unlink(path);
    errno = EIO;
    return -1;
}

/* A close that fails has closed all the same. */
int __wrap_close(int descriptor)
{
    interrupt();
    bool now = fault_now(FAULT_CLOSE);
    int result = __real_close(descriptor);
    if (now)
        errno = EIO;
    return now ? -1 : result;
}

int __wrap_open(const char *path, int flags, ...)
{
    va_list arguments;
    va_start(arguments, flags);
    int mode = flags & O_CREAT ? va_arg(arguments, int) : 0;
    va_end(arguments);
    return breaks(FAULT_OPEN, EMFILE) ? -1 : __real_open(path, flags, mode);
}

int __wrap_stat(const char *path, struct stat *facts)
{
    return breaks(FAULT_ASK, EIO) ? -1 : __real_stat(path, facts);
}

int __wrap_fstat(int descriptor, struct stat *facts)
{
    return breaks(FAULT_ASK, EIO) ? -1 : __real_fstat(descriptor, facts);
}

int __wrap_fchmod(int descriptor, mode_t mode)
{
    return breaks(FAULT_ASK, EPERM) ? -1 : __real_fchmod(descriptor, mode);
}

ssize_t __wrap_readlink(const char *path, char *target, size_t room)
{
    return breaks(FAULT_ASK, EIO) ? -1 : __real_readlink(path, target, room);
}

ssize_t __wrap___readlink_chk(const char *path, char *target, size_t length, size_t room)
{
    return breaks(FAULT_ASK, EIO) ? -1 : __real___readlink_chk(path, target, length, room);
}

int __wrap_access(const char *path, int mode)
{
    return breaks(FAULT_ASK, EIO) ? -1 : __real_access(path, mode);
}

char *__wrap_realpath(const char *path, char *target)
{
    return breaks(FAULT_ASK, EIO) ? NULL : __real_realpath(path, target);
}

char *__wrap___realpath_chk(const char *path, char *target, size_t room)
{
    return breaks(FAULT_ASK, EIO) ? NULL : __real___realpath_chk(path, target, room);
}
