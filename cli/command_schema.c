/* SPDX-License-Identifier: MIT */
/* countermass schema */
#include "cli.h"

#include <stdio.h>

static int print_schema(cm_session *session, const cli_options *options)
{
    const char *text;
    cm_status status = cm_case_schema(session, &text);
    if (status == CM_OK)
        return cli_deliver_text(session, options, text);
    return cli_failed(session, 0, NULL, status);
}

int command_schema(const cli_options *options)
{
    cm_session *session = cm_open(NULL);
    if (!session) {
        cli_say(stderr, "countermass: out of memory");
        return CLI_MACHINE;
    }
    int status = print_schema(session, options);
    cm_close(session);
    return status;
}
