/* SPDX-License-Identifier: MIT */
/* The table of commands, and what happens before and after one of them. */
#include "cli.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* From OpenBLAS: its threads cost more than they give at these sizes, and one thread keeps results repeatable. */
extern void openblas_set_num_threads(int count);

const cli_command CLI_COMMANDS[] = {
    {"check", "validate the case and judge the evidence", "countermass check case.yaml",
     CLI_DRAWN | CLI_MANY | CLI_SO_FAR, true, command_check},
    {"influence", "the influence matrix, its uncertainty and its conditioning",
     "countermass influence case.yaml", CLI_DRAWN | CLI_RECORD, true, command_influence},
    {"solve", "correction masses and predicted vibration", "countermass solve --format json case.yaml",
     CLI_DRAWN | CLI_MANY | CLI_TRADE_OFF | CLI_PROOF, true, command_solve},
    {"planes", "compare sets of correction planes", "countermass planes --at-most 3 case.yaml",
     CLI_DRAWN | CLI_MANY | CLI_SETS, true, command_planes},
    {"place", "which positions and which pieces, proven",
     "countermass place --time 30 cases/demo/fit-list.yaml", CLI_DRAWN | CLI_TIME, true, command_place},
    {"trial", "size and place the next trial mass", "countermass trial --plane P1 case.yaml",
     CLI_DRAWN | CLI_PLANE, true, command_trial},
    {"tolerance", "permissible residual unbalance, and what was reached", "countermass tolerance case.yaml",
     CLI_DRAWN, true, command_tolerance},
    {"verify", "rerun worked examples and compare with what they expect",
     "countermass verify cases/published/*.yaml", CLI_RESULT | CLI_MANY, true, command_verify},
    {"report", "the whole job as one HTML page", "countermass report case.yaml --output report.html",
     CLI_HELP | CLI_OUTPUT | CLI_RECORD_FROM, true, command_report},
    {"schema", "JSON Schema of the case file", "countermass schema --output case-schema.json",
     CLI_HELP | CLI_OUTPUT, false, command_schema},
    {"new", "a commented case to start from", "countermass new --output case.yaml", CLI_HELP | CLI_OUTPUT,
     false, command_new},
    {"manual", "this manual as a man page", "countermass manual >countermass.1", CLI_HELP, false,
     command_manual},
    {"completion", "completion of command lines for a shell", "eval \"$(countermass completion)\"",
     CLI_HELP | CLI_SHELL, false, command_completion},
    {NULL, NULL, NULL, 0, false, NULL},
};

static const char *command_name(const void *data, int index)
{
    (void)data;
    return CLI_COMMANDS[index].name;
}

static const cli_command *find_command(const char *name)
{
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        if (strcmp(name, command->name) == 0)
            return command;
    const char *near = cli_nearest(name, command_name, NULL);
    cli_say(stderr, "countermass: there is no command \"%s\"%s%s%s `countermass --help` lists them.", name,
            near ? ": did you mean \"" : ".", near ? near : "", near ? "\"?" : "");
    return NULL;
}

static int run_command(const cli_command *command, int count, char **arguments)
{
    cli_options options = {.format = CM_FORMAT_TEXT};
    if (!command || !cli_parse(command, count, arguments, &options))
        return CLI_WRONG;
    if (!options.help)
        return command->run(&options);
    cli_help(command);
    return CLI_DONE;
}

static int run(int count, char **arguments)
{
    if (count < 2) {
        cli_overview(stderr);
        return CLI_WRONG;
    }
    if (strcmp(arguments[1], "--version") == 0) {
        printf("countermass %s\n", cm_version());
        return CLI_DONE;
    }
    if (strcmp(arguments[1], "--help") == 0 || strcmp(arguments[1], "-h") == 0 ||
        strcmp(arguments[1], "help") == 0) {
        cli_overview(stdout);
        return CLI_DONE;
    }
    return run_command(find_command(arguments[1]), count - 2, arguments + 2);
}

/* OpenBLAS starts its threads before main(), so it is told before that how many. It is the build with threads all the
 * same: the one without may be used by one thread only, which would rule out --jobs. */
__attribute__((constructor(101))) static void ask_for_one_blas_thread(void)
{
    setenv("OPENBLAS_NUM_THREADS", "1", 1);
}

/* What a command has printed by itself may fail as late as here; a result that was delivered has told of it before. */
static int close_output(int status)
{
    int error = ferror(stdout) ? errno : 0;
    bool broken = ferror(stdout) != 0;
    if (fclose(stdout) == 0 && !broken)
        return status;
    if (status != CLI_MACHINE)
        cli_say(stderr, "countermass: standard output: %s", strerror(error ? error : errno));
    return CLI_MACHINE;
}

int main(int count, char **arguments)
{
    signal(SIGPIPE, SIG_IGN); /* a closed pipe is a write that fails ... */
    signal(SIGXFSZ, SIG_IGN); /* ... and so is a file that may not grow */
    openblas_set_num_threads(1);
    cli_keep_memory();
    int status = run(count, arguments);
    return close_output(status);
}
