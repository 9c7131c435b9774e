/* SPDX-License-Identifier: MIT */
/* An influence record of any bytes, named by a small case. */
#include "memory_files.h"
#include "pipeline.h"

#include <stdint.h>

static const char CASE[] =
    "case: {format: 1}\n"
    "conventions: {phase: lead, mass_angle: with-rotation}\n"
    "speeds: [{id: s, speed: 1500}, {id: t, speed: 3000}]\n"
    "sensors: [{id: A, unit: um pp, limit: 20}, {id: B, limit: 20}]\n"
    "planes: [{id: P1, radius: 200}, {id: P2}]\n"
    "runs:\n"
    "  - {id: r, readings: {s: {A: 8.5 @ 60, B: 6.5 @ 205}, t: {A: 3 @ 0}}}\n"
    "  - {id: t, masses: [{plane: P1, mass: 10, angle: 270}], readings: {s: {A: 6 @ 125}}}\n"
    "influence: [{record: r.yaml, uncertainty: {size: 5 %, phase: 3, common: 0.5}}]\n";

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const cm_case *c = NULL;
    const cm_runs *runs = NULL;
    const cm_influence *influence = NULL;
    memory_files_clear();
    memory_files_add("case.yaml", CASE, sizeof CASE - 1);
    memory_files_add("r.yaml", bytes, length);
    cm_session *session = cm_open(NULL);
    cm_status status = cm_case_read(session, "case.yaml", &c);
    need(status == CM_OK || status == CM_BAD_INPUT, "a record is read or wrong");
    need(status == CM_OK || cm_message_count(session) > 0, "a wrong record has a message");
    if (status == CM_OK)
        status = cm_case_runs(session, c, &runs);
    if (runs)
        status = cm_fit(session, runs, &influence);
    need(status == CM_OK || status == CM_BAD_INPUT, "what was read is fitted or refused");
    cm_close(session);
    return 0;
}
