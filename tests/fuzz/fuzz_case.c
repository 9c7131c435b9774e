/* SPDX-License-Identifier: MIT */
/* A case file of any bytes. Every one is read; one in eight also goes through a whole command. */
#include "memory_files.h"
#include "pipeline.h"

#include "countermass.h"

#include <stdint.h>
#include <string.h>

static int lines_in(const uint8_t *bytes, size_t length)
{
    int lines = 1;
    for (size_t i = 0; i < length; i++)
        lines +=
            bytes[i] == '\n' || bytes[i] == '\r' || bytes[i] == 0x85 || bytes[i] == 0xA8 || bytes[i] == 0xA9;
    return lines;
}

/* Every error stands at a place in the file. */
static void check_places(const cm_session *session, int lines)
{
    for (int i = 0; i < cm_message_count(session); i++) {
        const cm_message *message = cm_message_at(session, i);
        need(message->text && *message->text, "a message says something");
        need(!message->file || message->line <= lines + 1, "a message stands inside the file");
    }
}

static void read_only(const uint8_t *bytes, size_t length)
{
    const cm_case *c = NULL;
    cm_session *session = cm_open(NULL);
    cm_status status = cm_case_read(session, "case.yaml", &c);
    need(status == CM_OK || status == CM_BAD_INPUT, "a case is read or wrong");
    need(status == CM_OK || cm_message_count(session) > 0, "a wrong case has a message");
    check_places(session, lines_in(bytes, length));
    cm_close(session);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    memory_files_clear();
    memory_files_add("case.yaml", bytes, length);
    uint32_t hash = pipeline_hash(bytes, length);
    if (hash % 8 == 0)
        pipeline_run((int)(hash / 8 % 1024), "case.yaml");
    else
        read_only(bytes, length);
    return 0;
}
