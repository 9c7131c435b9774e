/* SPDX-License-Identifier: MIT */
/* countermass new: an example to be filled in. What was filled in once is not replaced by another empty one. */
#define _POSIX_C_SOURCE 200809L
#include "cli.h"

#include <stdio.h>
#include <sys/stat.h>

static bool holds_something(const char *path)
{
    struct stat facts;
    return path && stat(path, &facts) == 0 && S_ISREG(facts.st_mode) && facts.st_size > 0;
}

static int print_new(cm_session *session, const cli_options *options)
{
    const char *text;
    cm_status status = cm_case_new(session, &text);
    if (status == CM_OK)
        return cli_deliver_text(session, options, text);
    return cli_failed(session, 0, NULL, status);
}

int command_new(const cli_options *options)
{
    if (holds_something(options->output)) {
        cli_say(stderr, "%s: already exists: a new case would replace what it holds; choose another name",
                options->output);
        return CLI_WRONG;
    }
    cm_session *session = cm_open(NULL);
    if (!session) {
        cli_say(stderr, "countermass: out of memory");
        return CLI_MACHINE;
    }
    int status = print_new(session, options);
    cm_close(session);
    return status;
}
