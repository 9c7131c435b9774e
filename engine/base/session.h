/* SPDX-License-Identifier: MIT */
/**
 * @file session.h
 * The inside of a session: arena, messages, and the one way out on failure.
 *
 * A public function begins with CM_ENTER and ends with cm_leave(). Between them
 * nothing returns a failure: cm_fail() records the message and jumps back to
 * CM_ENTER, which releases what was registered with cm_defer() and returns the
 * status. So internal code reads straight through, allocations never return
 * NULL, and there is no clean-up to paste. Public functions do not call public
 * functions.
 */
#ifndef BASE_SESSION_H
#define BASE_SESSION_H

#include "countermass/session.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>

#if defined(__GNUC__)
#define CM_PRINTF(f, a) __attribute__((format(printf, f, a)))
#define CM_NORETURN __attribute__((noreturn))
#else
#define CM_PRINTF(f, a)
#define CM_NORETURN
#endif

/** A place in a case file; line and column count from 1, 0 means "nowhere". */
typedef struct cm_place {
    const char *file;
    int line;
    int column;
} cm_place;

typedef struct cm_block cm_block;

/** Something to release when a public call ends, however it ends. */
typedef struct cm_deferred {
    void (*release)(void *what);
    void *what;
    struct cm_deferred *next;
} cm_deferred;

/** A file that was read, by what the file system knows it by. */
typedef struct cm_input {
    uintmax_t device, number;
    struct cm_input *next;
} cm_input;

struct cm_session {
    cm_host host;
    cm_block *blocks;         /* results and scratch, newest first; the newest one is being filled */
    cm_block *message_blocks; /* messages and what is deferred: survive cm_release_to() */
    cm_message *messages;
    int message_count;
    int message_room;
    int errors; /* messages of severity CM_ERROR since the public call began */
    cm_deferred *deferred;
    cm_input *inputs; /* files read so far; kept where messages are */
    cm_status status; /* why cm_fail() left the guard */
    jmp_buf exit;
};

/** A position in the arena, to give scratch memory back. */
typedef struct cm_mark {
    cm_block *block;
    size_t used;
} cm_mark;

/** First line of every public function that returns a cm_status. */
#define CM_ENTER(session)                                                                                    \
    do {                                                                                                     \
        (session)->status = CM_OK;                                                                           \
        (session)->errors = 0;                                                                               \
        if (setjmp((session)->exit))                                                                         \
            return cm_leave(session);                                                                        \
    } while (0)

/** Last line of every public function: runs what was deferred and returns the status. */
cm_status cm_leave(cm_session *session);

/** Leaves the public call with `status`; the message may be NULL. */
CM_NORETURN void cm_fail(cm_session *session, cm_status status, const char *format, ...) CM_PRINTF(3, 4);

/** Calls work(data). If that leaves by cm_fail() because numbers would not have it (CM_NUMERICS, CM_BAD_INPUT), its
 *  messages and memory are forgotten and false is returned; other failures go on to the public call. */
bool cm_attempt(cm_session *session, void (*work)(void *data), void *data);

/** Leaves the public call with CM_BAD_INPUT if an error has been reported. */
void cm_fail_on_errors(cm_session *session);

/** Leaves the public call with CM_STOPPED if the host asks for it. */
void cm_ask_stop(cm_session *session);

/** Adds a message at a place (NULL: none). */
void cm_report(cm_session *session, cm_severity severity, const cm_place *place, const char *format, ...)
    CM_PRINTF(4, 5);

/** Calls release(what) when the public call ends, last registered first. */
void cm_defer(cm_session *session, void (*release)(void *), void *what);

/** Remembers a file that is read, for cm_has_read(). */
void cm_note_input(cm_session *session, uintmax_t device, uintmax_t number);

/** Releases now, and forgets, what was deferred last. */
void cm_release_last(cm_session *session);

/** Zeroed memory for count × size bytes, aligned for any type; owned by the session. */
void *cm_alloc(cm_session *session, size_t count, size_t size);

/** The same, not cleared: for large arrays that the caller fills from end to end, and room that may stay unused. */
void *cm_take(cm_session *session, size_t count, size_t size);

/** Typed cm_alloc. */
#define CM_NEW(session, count, type) ((type *)cm_alloc((session), (size_t)(count), sizeof(type)))

/** A list with room for one more: returns `list` or a larger copy; doubles when full. */
void *cm_grow(cm_session *session, void *list, int count, int *room, size_t size);

/** Remembers the arena's level; cm_release_to() frees everything allocated since (messages stay). */
cm_mark cm_mark_of(const cm_session *session);
void cm_release_to(cm_session *session, cm_mark mark);

/** A copy in the arena. */
char *cm_copy_text(cm_session *session, const char *text, size_t length);

/** printf into the arena. */
char *cm_format(cm_session *session, const char *format, ...) CM_PRINTF(2, 3);
char *cm_format_list(cm_session *session, const char *format, va_list arguments);

#endif
