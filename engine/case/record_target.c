/* SPDX-License-Identifier: MIT */
/* A record takes the place of an earlier record, never of another file. */
#include "case/record.h"

#include "base/file.h"
#include "countermass/job.h"

#include <string.h>

enum { MOST_BYTES = 32 * 1024 * 1024 };

/* Records begin with the key `record`, which no case has: comments may stand above it. */
static bool says_record(const char *bytes)
{
    static const char KEY[] = "record:";
    for (const char *line = bytes; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (!strncmp(line, KEY, sizeof KEY - 1))
            return true;
    }
    return false;
}

cm_status cm_record_may_replace(cm_session *session, const char *path)
{
    CM_ENTER(session);
    size_t length;
    if (cm_file_has_bytes(session, path) && !says_record(cm_file_read(session, path, MOST_BYTES, &length))) {
        cm_place place = {.file = cm_copy_text(session, path, strlen(path))};
        cm_report(session, CM_ERROR, &place,
                  "already exists and is not a record: --record would overwrite it; choose another name");
        cm_fail_on_errors(session);
    }
    return cm_leave(session);
}
