/* SPDX-License-Identifier: MIT */
/**
 * @file session.h
 * A session owns everything the library hands out.
 *
 * Results stay valid until the session is reset or closed; nothing is freed
 * one by one. One thread at a time may use a session; any number of sessions
 * may exist side by side. A status other than CM_OK means that something
 * failed; an answer such as "infeasible" or "undetermined" is an outcome in
 * the result, not a failure.
 *
 * Every function that returns a cm_status can fail for want of memory and, where
 * it computes for long, be stopped by the host; what else can go wrong stands at
 * the function. Inputs are not changed; a NULL where a pointer is needed is the
 * caller's mistake and is not caught.
 */
#ifndef COUNTERMASS_SESSION_H
#define COUNTERMASS_SESSION_H

#include <stddef.h>

#ifdef __cplusplus
#include <complex>
/** Two doubles, real part first. */
typedef std::complex<double> cm_complex;
extern "C" {
#else
/** Two doubles, real part first: the layout of C++ std::complex<double> and numpy complex128. */
typedef double _Complex cm_complex;
#endif

/** Before a public function: marks what the shared library shows. */
#if defined(__GNUC__)
#define CM_API __attribute__((visibility("default")))
#else
#define CM_API
#endif

/** Owner of results; opaque. */
typedef struct cm_session cm_session;

/** What went wrong, if anything. The session's messages say it in words. */
typedef enum cm_status {
    CM_OK = 0,          /**< nothing */
    CM_BAD_INPUT = 1,   /**< the case or the arrays are wrong */
    CM_NO_MEMORY = 2,   /**< the host's allocator returned nothing */
    CM_FILE_FAILED = 3, /**< opening, reading or writing broke off */
    CM_NUMERICS = 4,    /**< a factorisation failed, or an answer did not pass its recheck */
    CM_STOPPED = 5      /**< the host's stop hook asked for it */
} cm_status;

/** What the host provides. Input. Members left zero, or beyond `size`, take the default. */
typedef struct cm_host {
    size_t size;                                    /**< sizeof(cm_host) */
    void *context;                                  /**< handed to every hook */
    void *(*allocate)(void *context, size_t bytes); /**< default: malloc */
    void (*release)(void *context, void *memory);   /**< default: free */
    int (*stop)(void *context);                     /**< non-zero ends a long computation */
    int record_count;           /**< influence records that cases may name though they lie ... */
    const char *const *records; /**< ... elsewhere: paths; must live as long as the session */
} cm_host;

/** How bad a message or finding is. */
typedef enum cm_severity {
    CM_NOTE,    /**< good to know */
    CM_WARNING, /**< to be looked into before it is acted on */
    CM_ERROR    /**< a failure, or a fault */
} cm_severity;

/** One message, with the place it speaks of (line and column from 1; 0: no place). */
typedef struct cm_message {
    cm_severity severity; /**< how bad it is */
    const char *text;     /**< in words, without the place; see cm_steers() */
    const char *file;     /**< NULL when no file is concerned */
    int line;             /**< from 1; 0: no place */
    int column;           /**< from 1, in characters; 0: no place */
} cm_message;

/** Opens a session; `host` (copied) may be NULL. Returns NULL when memory is short, or `host->size` ends before `stop`. */
CM_API cm_session *cm_open(const cm_host *host);

/** Forgets every result and message; the session can be used again. Does not fail. */
CM_API void cm_reset(cm_session *session);

/** Frees the session and every result; NULL is allowed. Does not fail. */
CM_API void cm_close(cm_session *session);

/** Number of messages so far. Does not fail. */
CM_API int cm_message_count(const cm_session *session);

/** Message `index` (from 0), or NULL where there is none. Valid until reset or close. Does not fail. */
CM_API const cm_message *cm_message_at(const cm_session *session, int index);

#ifdef __cplusplus
}
#endif
#endif
