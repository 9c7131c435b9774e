/* SPDX-License-Identifier: MIT */
/**
 * @file faults.h
 * Faults on demand: the linker puts functions of this folder in the place of the ones that the engine, the program
 * and libyaml call (--wrap); the one that is asked for fails once.
 */
#ifndef FAIL_FAULTS_H
#define FAIL_FAULTS_H

#include <stdbool.h>
#include <stddef.h>

typedef enum fault_kind {
    FAULT_NONE,
    FAULT_MEMORY, /* malloc, calloc, realloc, strdup of engine, program and libyaml */
    FAULT_STREAM, /* open_memstream, and the fclose of such a stream */
    FAULT_ROOM,   /* mmap */
    FAULT_ARENA,  /* one piece of the session's memory */
    FAULT_READ,
    FAULT_WRITE,
    FAULT_SYNC,
    FAULT_RENAME,
    FAULT_UNLINK, /* a sync, and every unlink after it */
    FAULT_CLOSE,
    FAULT_OPEN,    /* open to read or write */
    FAULT_ASK,     /* stat, fstat, fchmod, realpath, access */
    FAULT_OUTPUT,  /* writing to standard output */
    FAULT_LAPACK,  /* LAPACK: out of memory */
    FAULT_DIVERGE, /* LAPACK: no convergence, not positive definite */
    FAULT_THREAD,  /* pthread_create */
    FAULT_SHORT,   /* no fault: read and write do one byte only */
    FAULT_SIGNAL,  /* no fault: read and write are interrupted once */
    FAULT_TERM,    /* a signal that asks to end, at a write, sync, rename or close */
    FAULT_KILL,    /* one that cannot be held up */
    FAULT_KINDS
} fault_kind;

enum {
#define LAPACK_CALL(name) NUMBER_##name,
#include "lapack_calls.h"
#undef LAPACK_CALL
    LAPACK_CALLS
};

/** Shared by the process that asks and the one that fails. */
typedef struct fault_plan {
    fault_kind kind;
    long at;                        /* the n-th call fails, from 1; 0: none */
    long calls;                     /* calls of this kind so far */
    long kept;                      /* pieces of memory not given back at the end */
    long lapack_last[LAPACK_CALLS]; /* the last call of each function; 0: none */
    int lapack_failed;              /* the function that failed, from 1; 0: none */
    bool in_child;                  /* the command runs, not the harness */
} fault_plan;

extern fault_plan *fault;

/** Counts a call; true when this one is to fail. Threads may call it. */
bool fault_now(fault_kind kind);

/** True from the call that is to fail on. */
bool fault_since(fault_kind kind);

/** Pieces of memory that are in use. */
long memory_in_use(void);

/** The program's main, by another name. */
int countermass_main(int count, char **arguments);

#endif
