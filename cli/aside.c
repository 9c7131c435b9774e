/* SPDX-License-Identifier: MIT */
/* Files beside the result (a record, a picture): kept until the result is delivered, with which they are written, so
 * that a command that fails has changed none. */
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

void cli_forget_aside(cli_aside *aside)
{
    while (aside->count > 0)
        free(aside->text[--aside->count]);
}
