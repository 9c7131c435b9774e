/* SPDX-License-Identifier: MIT */
/* A table of readings of any bytes beside a small case. */
#include "memory_files.h"
#include "pipeline.h"

#include <stdint.h>

static const char CASE[] = "case: {format: 1}\n"
                           "conventions: {phase: lag, mass_angle: against-rotation}\n"
                           "speeds: [{id: s, speed: 1500}]\n"
                           "sensors: [{id: A}, {id: B, unit: mm/s rms}]\n"
                           "runs: [{id: r, readings: {csv: t.csv}}]\n";

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const cm_case *c = NULL;
    memory_files_clear();
    memory_files_add("case.yaml", CASE, sizeof CASE - 1);
    memory_files_add("t.csv", bytes, length);
    cm_session *session = cm_open(NULL);
    cm_status status = cm_case_read(session, "case.yaml", &c);
    need(status == CM_OK || status == CM_BAD_INPUT, "a table is read or wrong");
    need(status == CM_OK || cm_message_count(session) > 0, "a wrong table has a message");
    cm_close(session);
    return 0;
}
