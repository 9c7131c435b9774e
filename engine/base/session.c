/* SPDX-License-Identifier: MIT */
/* Session, arena and messages. The only file that calls malloc and free. */
#include "base/session.h"
#include "base/given.h"
#include "base/guard.h"
#include "base/number.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Fast kernels of BLAS read some numbers ahead of the last column; TAIL_BYTES keeps that within the block. */
enum { BLOCK_BYTES = 64 * 1024, ALIGNMENT = 16, TAIL_BYTES = 256 };

struct cm_block {
    cm_block *older;
    size_t used;
    size_t room;
    _Alignas(ALIGNMENT) unsigned char bytes[];
};

static void *default_allocate(void *context, size_t bytes)
{
    (void)context;
    return malloc(bytes);
}

static void default_release(void *context, void *memory)
{
    (void)context;
    free(memory);
}

static cm_host complete_host(const cm_host *given)
{
    cm_host host = {.size = sizeof host};
    if (given)
        memcpy(&host, given, given->size < sizeof host ? given->size : sizeof host);
    host.size = sizeof host;
    if (!host.allocate || !host.release) {
        host.allocate = default_allocate;
        host.release = default_release;
    }
    return host;
}

cm_session *cm_open(const cm_host *host)
{
    if (host && host->size < CM_UP_TO(cm_host, stop))
        return NULL; /* hooks would be passed over in silence */
    cm_host complete = complete_host(host);
    cm_session *session = complete.allocate(complete.context, sizeof *session);
    if (!session)
        return NULL;
    memset(session, 0, sizeof *session);
    session->host = complete;
    return session;
}

static void release_blocks(cm_session *session, cm_block **list, const cm_block *until)
{
    while (*list && *list != until) {
        cm_block *older = (*list)->older;
        CM_GIVE((*list)->bytes, (*list)->room + TAIL_BYTES);
        session->host.release(session->host.context, *list);
        *list = older;
    }
}

void cm_reset(cm_session *session)
{
    release_blocks(session, &session->blocks, NULL);
    release_blocks(session, &session->message_blocks, NULL);
    session->messages = NULL;
    session->message_count = session->message_room = session->errors = 0;
    session->deferred = NULL;
    session->inputs = NULL;
    session->status = CM_OK;
}

void cm_close(cm_session *session)
{
    if (!session)
        return;
    cm_reset(session);
    session->host.release(session->host.context, session);
}

/* ---- arena ---- */

static cm_block *new_block(cm_session *session, cm_block **list, size_t bytes)
{
    size_t room = bytes > BLOCK_BYTES ? bytes : BLOCK_BYTES;
    cm_block *block = NULL;
    if (room <= SIZE_MAX - sizeof *block - TAIL_BYTES)
        block = session->host.allocate(session->host.context, sizeof *block + room + TAIL_BYTES);
    if (!block)
        cm_fail(session, CM_NO_MEMORY, NULL);
    block->older = *list;
    block->used = 0;
    block->room = room;
    CM_GUARD(block->bytes, room + TAIL_BYTES);
    *list = block;
    return block;
}

/* Not cleared. */
static void *take_from(cm_session *session, cm_block **list, size_t count, size_t size)
{
    if (size && count > (SIZE_MAX - ALIGNMENT - CM_GUARD_BYTES) / size)
        cm_fail(session, CM_NO_MEMORY, NULL);
    size_t wanted = count * size;
    size_t bytes = (wanted + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT + CM_GUARD_BYTES;
    cm_block *block = *list;
    if (!block || block->room - block->used < bytes)
        block = new_block(session, list, bytes);
    void *memory = block->bytes + block->used;
    block->used += bytes;
    CM_GIVE(memory, wanted);
    return memory;
}

static void *allocate_from(cm_session *session, cm_block **list, size_t count, size_t size)
{
    return memset(take_from(session, list, count, size), 0, count * size);
}

void *cm_alloc(cm_session *session, size_t count, size_t size)
{
    return allocate_from(session, &session->blocks, count, size);
}

void *cm_take(cm_session *session, size_t count, size_t size)
{
    return take_from(session, &session->blocks, count, size);
}

void *cm_grow(cm_session *session, void *list, int count, int *room, size_t size)
{
    if (count < *room)
        return list;
    int larger = *room ? 2 * *room : 8;
    void *copy = cm_alloc(session, (size_t)larger, size);
    if (count)
        memcpy(copy, list, (size_t)count * size);
    *room = larger;
    return copy;
}

cm_mark cm_mark_of(const cm_session *session)
{
    return (cm_mark){session->blocks, session->blocks ? session->blocks->used : 0};
}

void cm_release_to(cm_session *session, cm_mark mark)
{
    release_blocks(session, &session->blocks, mark.block);
    if (!session->blocks)
        return;
    CM_GUARD(session->blocks->bytes + mark.used, session->blocks->used - mark.used);
    session->blocks->used = mark.used;
}

char *cm_copy_text(cm_session *session, const char *text, size_t length)
{
    char *copy = cm_take(session, length + 1, 1);
    memcpy(copy, text, length);
    copy[length] = 0;
    return copy;
}

static char *format_into(cm_session *session, cm_block **list, const char *format, va_list arguments)
{
    char quick[256]; /* most texts fit: printed once only */
    va_list again;
    va_copy(again, arguments);
    int length = cm_number_print(quick, sizeof quick, format, again);
    va_end(again);
    size_t room = length < 0 ? 1 : (size_t)length + 1;
    char *text = allocate_from(session, list, room, 1);
    if (length >= (int)sizeof quick)
        cm_number_print(text, room, format, arguments);
    else if (length > 0)
        memcpy(text, quick, room);
    return text;
}

char *cm_format_list(cm_session *session, const char *format, va_list arguments)
{
    return format_into(session, &session->blocks, format, arguments);
}

char *cm_format(cm_session *session, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = cm_format_list(session, format, arguments);
    va_end(arguments);
    return text;
}

/* ---- messages and the way out ---- */

static cm_message *next_message(cm_session *session)
{
    if (session->message_count == session->message_room) {
        int room = session->message_room ? 2 * session->message_room : 8;
        cm_message *larger = allocate_from(session, &session->message_blocks, (size_t)room, sizeof *larger);
        if (session->message_count)
            memcpy(larger, session->messages, (size_t)session->message_count * sizeof *larger);
        session->messages = larger;
        session->message_room = room;
    }
    return &session->messages[session->message_count];
}

static void add_message(cm_session *session, cm_severity severity, const cm_place *place, const char *format,
                        va_list arguments)
{
    char *text = format_into(session, &session->message_blocks, format, arguments);
    cm_message *message = next_message(session);
    *message = (cm_message){.severity = severity, .text = text};
    if (place) {
        message->file = place->file;
        message->line = place->line;
        message->column = place->column;
    }
    session->message_count++;
    session->errors += severity == CM_ERROR;
}

void cm_report(cm_session *session, cm_severity severity, const cm_place *place, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_message(session, severity, place, format, arguments);
    va_end(arguments);
}

void cm_fail(cm_session *session, cm_status status, const char *format, ...)
{
    session->status = status;
    if (format) {
        va_list arguments;
        va_start(arguments, format);
        add_message(session, CM_ERROR, NULL, format, arguments);
        va_end(arguments);
    }
    longjmp(session->exit, 1);
}

bool cm_attempt(cm_session *session, void (*work)(void *data), void *data)
{
    jmp_buf outer;
    memcpy(&outer, &session->exit, sizeof outer);
    const cm_mark mark = cm_mark_of(session);
    const int messages = session->message_count, errors = session->errors;
    if (setjmp(session->exit) == 0) {
        work(data);
        memcpy(&session->exit, &outer, sizeof outer);
        return true;
    }
    memcpy(&session->exit, &outer, sizeof outer);
    if (session->status != CM_NUMERICS && session->status != CM_BAD_INPUT)
        longjmp(session->exit, 1);
    cm_release_to(session, mark);
    session->message_count = messages;
    session->errors = errors;
    session->status = CM_OK;
    return false;
}

void cm_fail_on_errors(cm_session *session)
{
    if (session->errors)
        cm_fail(session, CM_BAD_INPUT, NULL);
}

void cm_ask_stop(cm_session *session)
{
    if (session->host.stop && session->host.stop(session->host.context))
        cm_fail(session, CM_STOPPED, "stopped before there was an answer");
}

void cm_defer(cm_session *session, void (*release)(void *), void *what)
{
    cm_deferred *entry = allocate_from(session, &session->message_blocks, 1, sizeof *entry);
    *entry = (cm_deferred){release, what, session->deferred};
    session->deferred = entry;
}

void cm_note_input(cm_session *session, uintmax_t device, uintmax_t number)
{
    cm_input *entry = allocate_from(session, &session->message_blocks, 1, sizeof *entry);
    *entry = (cm_input){device, number, session->inputs};
    session->inputs = entry;
}

void cm_release_last(cm_session *session)
{
    cm_deferred *entry = session->deferred;
    session->deferred = entry->next;
    entry->release(entry->what);
}

cm_status cm_leave(cm_session *session)
{
    while (session->deferred)
        cm_release_last(session);
    return session->status;
}

int cm_message_count(const cm_session *session)
{
    return session->message_count;
}

const cm_message *cm_message_at(const cm_session *session, int index)
{
    return index >= 0 && index < session->message_count ? &session->messages[index] : NULL;
}
