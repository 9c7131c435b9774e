/* SPDX-License-Identifier: MIT */
/* A command line of any words, one a line of the input; the files it may name are in memory. Every one is read; one in
 * eight is also carried out. */
#include "memory_files.h"
#include "pipeline.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { MOST_WORDS = 24, MOST_BYTES = 1024 };

static const char CASE[] =
    "case: {format: 1}\n"
    "conventions: {phase: lag, mass_angle: against-rotation}\n"
    "speeds: [{id: s, speed: 1500}]\n"
    "sensors: [{id: A, limit: 20, repeatability: 1}, {id: B, limit: 20}]\n"
    "planes: [{id: P1, radius: 200, cap: 500}]\n"
    "runs:\n"
    "  - {id: r, readings: {s: {A: 8.5 @ 60, B: 6.5 @ 205}}}\n"
    "  - {id: t, masses: [{plane: P1, mass: 10, angle: 270}], readings: {s: {A: 6 @ 125, B: 4 @ 230}}}\n";

static const cli_command *command_called(const char *name)
{
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        if (!strcmp(name, command->name))
            return command;
    return NULL;
}

static int cut(char *text, char **words)
{
    int count = 0;
    for (char *at = text; at && count < MOST_WORDS;) {
        char *end = strchr(at, '\n');
        words[count++] = at;
        if (end)
            *end++ = '\0';
        at = end;
    }
    words[count] = NULL;
    return count;
}

/* Every word in the place of a mistyped command, too. */
static void run(const cli_command *command, int count, char **words, bool wholly)
{
    cli_options options = {.format = CM_FORMAT_TEXT};
    if (!cli_parse(command, count, words, &options))
        return;
    need(options.help || command->takes_cases == (options.case_count > 0), "cases where they belong");
    need(options.case_count <= count, "no more cases than words");
    int status = CLI_DONE;
    if (options.help)
        cli_help(command);
    else if (wholly)
        status = command->run(&options);
    need(status >= CLI_DONE && status <= CLI_WRONG, "the exit status is 0, 1 or 2");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    char text[MOST_BYTES + 1] = {0}, *words[MOST_WORDS + 1];
    memcpy(text, bytes, length < MOST_BYTES ? length : MOST_BYTES);
    memory_files_clear();
    memory_files_add("c", CASE, sizeof CASE - 1);
    memory_files_add("-", CASE, sizeof CASE - 1);
    int count = cut(text, words);
    const cli_command *command = command_called(words[0]);
    if (command)
        run(command, count - 1, words + 1, pipeline_hash(bytes, length) % 8 == 0);
    else
        run(&CLI_COMMANDS[(unsigned char)words[0][0] % pipeline_command_count()], count, words,
            pipeline_hash(bytes, length) % 8 == 0);
    return 0;
}
