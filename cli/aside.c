/* SPDX-License-Identifier: MIT */
/* Files beside the result (a record, a picture): kept until the result is delivered, so that a command that fails has
 * changed none. */
#include "cli.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

cm_status cli_set_aside(const cli_options *options, const char *path, const char *text)
{
    cli_aside *aside = options->aside;
    char *copy = strdup(text);
    if (!copy)
        return CM_NO_MEMORY;
    aside->path[aside->count] = path;
    aside->text[aside->count++] = copy;
    return CM_OK;
}

static int save_all(cm_session *session, const cli_aside *aside)
{
    for (int i = 0; i < aside->count; i++) {
        cm_status status = cm_save(session, aside->path[i], aside->text[i]);
        if (status != CM_OK)
            return cli_failed(session, 0, aside->path[i], status);
    }
    return CLI_DONE;
}

int cli_save_aside(const cli_aside *aside)
{
    if (aside->count == 0)
        return aside->status;
    cm_session *session = cm_open(NULL);
    int status = CLI_MACHINE;
    if (session)
        status = save_all(session, aside);
    else
        cli_say(stderr, "countermass: out of memory");
    cm_close(session);
    return status > aside->status ? status : aside->status;
}

void cli_forget_aside(cli_aside *aside)
{
    while (aside->count > 0)
        free(aside->text[--aside->count]);
}
