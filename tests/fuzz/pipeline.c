/* SPDX-License-Identifier: MIT */
#include "pipeline.h"

#include <stdio.h>
#include <stdlib.h>

void need(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "broken: %s\n", what);
    abort();
}

uint32_t pipeline_hash(const uint8_t *bytes, size_t length)
{
    uint32_t hash = 2166136261u;
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ bytes[i]) * 16777619u;
    return hash;
}

static const cli_command *command_with_case(int which)
{
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        if (command->takes_cases && which-- == 0)
            return command;
    return NULL;
}

int pipeline_command_count(void)
{
    int count = 0;
    while (command_with_case(count))
        count++;
    return count;
}

int pipeline_run(int which, const char *name)
{
    const cli_command *command = command_with_case(which % pipeline_command_count());
    char *arguments[] = {(char *)(size_t)name, NULL};
    cli_options options = {.format = (cm_page_format)(which / pipeline_command_count() % 3)};
    need(cli_parse(command, 1, arguments, &options), "a plain command line is understood");
    int status = command->run(&options);
    need(status >= CLI_DONE && status <= CLI_WRONG, "the exit status is 0, 1 or 2");
    return status;
}
