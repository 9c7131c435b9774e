/* SPDX-License-Identifier: MIT */
/* The allocator of engine, program and libyaml, with a list of what is in use; streams in memory, threads and maps; and
 * what the engine asks of a session's memory. Clocks go by the number of questions, so that a search with a limit of time
 * ends at the same place on every machine. */
#include "faults.h"

#include "base/session.h"

#include <errno.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>

enum { SLOTS = 1 << 16 };

static void *slots[SLOTS];
static long in_use;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

void *__real_malloc(size_t bytes);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t bytes);
char *__real_strdup(const char *text);
void __real_free(void *memory);
void *__wrap_malloc(size_t bytes);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t bytes);
char *__wrap_strdup(const char *text);
void __wrap_free(void *memory);

static size_t slot_of(const void *memory)
{
    return (size_t)((uintptr_t)memory >> 4) * 2654435761u % SLOTS;
}

static void *keep(void *memory)
{
    if (!memory)
        return NULL;
    pthread_mutex_lock(&lock);
    size_t i = slot_of(memory);
    while (slots[i] && slots[i] != (void *)slots)
        i = (i + 1) % SLOTS;
    slots[i] = memory;
    in_use++;
    pthread_mutex_unlock(&lock);
    return memory;
}

/* What libc handed out by itself is not in the list. */
static void forget(const void *memory)
{
    pthread_mutex_lock(&lock);
    for (size_t i = slot_of(memory); memory && slots[i]; i = (i + 1) % SLOTS)
        if (slots[i] == memory) {
            slots[i] = (void *)slots; /* once used */
            in_use--;
            break;
        }
    pthread_mutex_unlock(&lock);
}

long memory_in_use(void)
{
    return in_use;
}

void *__wrap_malloc(size_t bytes)
{
    return fault_now(FAULT_MEMORY) ? NULL : keep(__real_malloc(bytes));
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fault_now(FAULT_MEMORY) ? NULL : keep(__real_calloc(count, size));
}

void *__wrap_realloc(void *memory, size_t bytes)
{
    if (fault_now(FAULT_MEMORY))
        return NULL;
    forget(memory);
    return keep(__real_realloc(memory, bytes));
}

char *__wrap_strdup(const char *text)
{
    return fault_now(FAULT_MEMORY) ? NULL : keep(__real_strdup(text));
}

void __wrap_free(void *memory)
{
    forget(memory);
    __real_free(memory);
}

/* ---- streams, threads, maps, time ---- */

FILE *__real_open_memstream(char **bytes, size_t *length);
int __real_fclose(FILE *stream);
int __real_pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*work)(void *), void *data);
void *__real_mmap(void *where, size_t length, int access, int flags, int descriptor, off_t from);
FILE *__wrap_open_memstream(char **bytes, size_t *length);
int __wrap_fclose(FILE *stream);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*work)(void *), void *data);
void *__wrap_mmap(void *where, size_t length, int access, int flags, int descriptor, off_t from);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now);

static bool breaks(fault_kind kind, int error)
{
    bool now = fault && fault->in_child && fault_now(kind);
    if (now)
        errno = error;
    return now;
}

FILE *__wrap_open_memstream(char **bytes, size_t *length)
{
    return breaks(FAULT_STREAM, ENOMEM) ? NULL : __real_open_memstream(bytes, length);
}

/* Of standard output: a fault of the output. */
int __wrap_fclose(FILE *stream)
{
    bool now = stream != stdout && breaks(FAULT_STREAM, ENOMEM);
    int result = __real_fclose(stream);
    return now ? EOF : result;
}

int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*work)(void *), void *data)
{
    return breaks(FAULT_THREAD, EAGAIN) ? EAGAIN : __real_pthread_create(thread, how, work, data);
}

void *__wrap_mmap(void *where, size_t length, int access, int flags, int descriptor, off_t from)
{
    return breaks(FAULT_ROOM, ENOMEM) ? MAP_FAILED
                                      : __real_mmap(where, length, access, flags, descriptor, from);
}

int __wrap_clock_gettime(clockid_t clock, struct timespec *now)
{
    enum { STEP = 100 }; /* microseconds */
    static _Thread_local long questions;
    (void)clock;
    questions++;
    *now = (struct timespec){questions * STEP / 1000000, questions * STEP % 1000000 * 1000};
    return 0;
}

/* ---- the session's memory, asked for from other files than session.c ---- */

#define ARENA(type, name, parameters, ...)                                                                   \
    type __real_##name parameters;                                                                           \
    type __wrap_##name parameters;                                                                           \
    type __wrap_##name parameters                                                                            \
    {                                                                                                        \
        if (fault_now(FAULT_ARENA))                                                                          \
            cm_fail(session, CM_NO_MEMORY, NULL);                                                            \
        return __real_##name(__VA_ARGS__);                                                                   \
    }

ARENA(void *, cm_alloc, (cm_session * session, size_t count, size_t size), session, count, size)
ARENA(void *, cm_take, (cm_session * session, size_t count, size_t size), session, count, size)
ARENA(char *, cm_copy_text, (cm_session * session, const char *text, size_t length), session, text, length)
ARENA(char *, cm_format_list, (cm_session * session, const char *format, va_list arguments), session, format,
      arguments)

void *__real_cm_grow(cm_session *session, void *list, int count, int *room, size_t size);
void *__wrap_cm_grow(cm_session *session, void *list, int count, int *room, size_t size);
char *__wrap_cm_format(cm_session *session, const char *format, ...);
void __real_cm_defer(cm_session *session, void (*release)(void *), void *what);
void __wrap_cm_defer(cm_session *session, void (*release)(void *), void *what);
void __real_cm_note_input(cm_session *session, uintmax_t device, uintmax_t number);
void __wrap_cm_note_input(cm_session *session, uintmax_t device, uintmax_t number);

void *__wrap_cm_grow(cm_session *session, void *list, int count, int *room, size_t size)
{
    if (count >= *room && fault_now(FAULT_ARENA))
        cm_fail(session, CM_NO_MEMORY, NULL);
    return __real_cm_grow(session, list, count, room, size);
}

char *__wrap_cm_format(cm_session *session, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = __wrap_cm_format_list(session, format, arguments);
    va_end(arguments);
    return text;
}

void __wrap_cm_defer(cm_session *session, void (*release)(void *), void *what)
{
    if (fault_now(FAULT_ARENA))
        cm_fail(session, CM_NO_MEMORY, NULL);
    __real_cm_defer(session, release, what);
}

void __wrap_cm_note_input(cm_session *session, uintmax_t device, uintmax_t number)
{
    if (fault_now(FAULT_ARENA))
        cm_fail(session, CM_NO_MEMORY, NULL);
    __real_cm_note_input(session, device, number);
}
