/* SPDX-License-Identifier: MIT */
/* countermass new */
#include "cli.h"

#include <stdio.h>

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
    cm_session *session = cm_open(NULL);
    if (!session) {
        fprintf(stderr, "countermass: out of memory\n");
        return CLI_MACHINE;
    }
    int status = print_new(session, options);
    cm_close(session);
    return status;
}
