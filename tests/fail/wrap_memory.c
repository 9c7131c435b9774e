/* SPDX-License-Identifier: MIT */
/* The allocator of engine, program and libyaml, with a list of what is in use. */
#include "faults.h"

#include "base/session.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SLOTS = 1 << 16 };

static void *slots[SLOTS];
static long in_use;

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
    size_t i = slot_of(memory);
    while (slots[i] && slots[i] != (void *)slots)
        i = (i + 1) % SLOTS;
    slots[i] = memory;
    in_use++;
    return memory;
}

/* What libc handed out by itself is not in the list. */
static void forget(const void *memory)
{
    for (size_t i = slot_of(memory); memory && slots[i]; i = (i + 1) % SLOTS)
        if (slots[i] == memory) {
            slots[i] = (void *)slots; /* once used */
            in_use--;
            return;
        }
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

void *__real_cm_alloc(cm_session *session, size_t count, size_t size);
void *__wrap_cm_alloc(cm_session *session, size_t count, size_t size);

void *__wrap_cm_alloc(cm_session *session, size_t count, size_t size)
{
    if (fault_now(FAULT_ARENA))
        cm_fail(session, CM_NO_MEMORY, NULL);
    return __real_cm_alloc(session, count, size);
}
