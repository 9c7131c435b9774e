/* SPDX-License-Identifier: MIT */
/* Options: one table drives the parsing and the help. */
#include "cli.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool take_help(cli_options *options, const char *value)
{
    (void)value;
    return options->help = true;
}

static bool take_output(cli_options *options, const char *value)
{
    options->output = value;
    return *value != '\0';
}

static bool take_plane(cli_options *options, const char *value)
{
    options->plane = value;
    return *value != '\0';
}

/* A whole number from 1 on, in digits: no sign, no blanks, no zeros before it. */
static bool take_count(int *count, const char *value)
{
    size_t digits = strspn(value, "0123456789");
    bool is_number = value[0] != '0' && digits > 0 && digits <= 6 && value[digits] == '\0';
    *count = is_number ? (int)strtol(value, NULL, 10) : 0;
    return *count > 0;
}

static bool take_at_most(cli_options *options, const char *value)
{
    return take_count(&options->at_most, value);
}

static bool take_best(cli_options *options, const char *value)
{
    return take_count(&options->best, value);
}

static bool take_time(cli_options *options, const char *value)
{
    char *end;
    options->seconds = strtod(value, &end);
    return value[strspn(value, "0123456789.e-+")] == '\0' && strchr("+-", value[0]) == NULL && *end == '\0' &&
           options->seconds > 0 && options->seconds < 1e6;
}

static bool take_id(int *count, const char **ids, const char *value)
{
    if (*value == '\0' || *count == CLI_MOST_IDS)
        return false;
    ids[(*count)++] = value;
    return true;
}

static bool take_record(cli_options *options, const char *value)
{
    options->record = value;
    return *value != '\0' && strcmp(value, "-") != 0;
}

static bool take_plot(cli_options *options, const char *value)
{
    options->plot = value;
    return *value != '\0' && strcmp(value, "-") != 0;
}

static bool take_record_from(cli_options *options, const char *value)
{
    return take_id(&options->record_count, options->records, value);
}

static bool take_trade_off(cli_options *options, const char *value)
{
    (void)value;
    return options->trade_off = true;
}

static bool take_proof(cli_options *options, const char *value)
{
    (void)value;
    return options->proof = true;
}

static bool take_so_far(cli_options *options, const char *value)
{
    (void)value;
    return options->so_far = true;
}

static bool take_must(cli_options *options, const char *value)
{
    return take_id(&options->must_count, options->must, value);
}

static bool take_split(cli_options *options, const char *value)
{
    return take_id(&options->split_count, options->splits, value);
}

static bool take_merge(cli_options *options, const char *value)
{
    return take_id(&options->merge_count, options->merges, value);
}

static bool take_never(cli_options *options, const char *value)
{
    return take_id(&options->never_count, options->never, value);
}

static bool take_jobs(cli_options *options, const char *value)
{
    return take_count(&options->jobs, value);
}

static bool take_table(cli_options *options, const char *value)
{
    (void)value;
    return options->table = true;
}

static bool take_shell(cli_options *options, const char *value)
{
    options->zsh = strcmp(value, "zsh") == 0;
    return options->zsh || strcmp(value, "bash") == 0;
}

static bool take_format(cli_options *options, const char *value)
{
    static const char *const names[] = {[CM_FORMAT_TEXT] = "text",
                                        [CM_FORMAT_JSON] = "json",
                                        [CM_FORMAT_YAML] = "yaml",
                                        [CM_FORMAT_CSV] = "csv"};
    for (int i = CM_FORMAT_TEXT; i <= (int)CM_FORMAT_CSV; i++)
        if (strcmp(value, names[i]) == 0) {
            options->format = (cm_page_format)i;
            return true;
        }
    return false;
}

const cli_words CLI_WORDS = {
    .purpose = "Balancing of flexible multi-bearing rotors from a YAML case file.",
    .cases = "CASE is a YAML file, or - for standard input. Several cases make one JSON\n"
             "array (or one table with --table), in which each result names its file.",
    .exits = {"done", "the answer is no", "wrong command line or case", "the machine failed"},
    .caution = "Masses on rotors can kill: the plant's own procedures, local codes and licensed\n"
               "practice come before this program.",
};

const cli_option CLI_OPTIONS[] = {
    {CLI_FORMAT, "--format", "text|json|yaml|csv", "form of the result (default: text)", take_format},
    {CLI_OUTPUT, "--output", "FILE", "write to FILE, whole or not at all", take_output},
    {CLI_PLOT, "--plot", "FILE", "also draw the main picture (SVG)", take_plot},
    {CLI_PLANE, "--plane", "PLANE", "only this plane or set (default: all)", take_plane},
    {CLI_SETS, "--at-most", "K", "sets of at most K planes (default: all)", take_at_most},
    {CLI_SETS | CLI_REPEATS, "--must", "PLANE", "only sets with this plane; may be repeated", take_must},
    {CLI_SETS | CLI_REPEATS, "--never", "PLANE", "only sets without this plane; may be repeated", take_never},
    {CLI_SETS, "--best", "N", "sets of each size to list beyond 4096 (default: 20)", take_best},
    {CLI_TIME, "--time", "SECONDS", "greatest time for the search (default: 10)", take_time},
    {CLI_SO_FAR, "--so-far", NULL, "the last run is still on its way up: stop or go on?", take_so_far},
    {CLI_TIME | CLI_REPEATS, "--split", "TEXT", "one mass as two, \"P1: 120 @ 40\"; repeatable", take_split},
    {CLI_TIME | CLI_REPEATS, "--merge", "TEXT", "masses as one, \"60 @ 10 + 40 @ 80\"; repeatable",
     take_merge},
    {CLI_TRADE_OFF, "--trade-off", NULL, "also least mass against worst ratio", take_trade_off},
    {CLI_PROOF, "--proof", NULL, "also the dual point of the proof (json, yaml)", take_proof},
    {CLI_RECORD, "--record", "FILE", "also write a record for later cases", take_record},
    {CLI_RECORD_FROM | CLI_REPEATS, "--record-from", "FILE", "a record elsewhere that cases may name",
     take_record_from},
    {CLI_MANY, "--table", NULL, "one line a case", take_table},
    {CLI_MANY, "--jobs", "N", "cases worked on at the same time (default: 1)", take_jobs},
    {CLI_SHELL, "--shell", "bash|zsh", "shell to write for (default: bash)", take_shell},
    {CLI_HELP, "--help", NULL, "this help", take_help},
    {0, NULL, NULL, NULL, NULL},
};

/* The names of the options that a command takes. */
static const char *option_name(const void *command, int index)
{
    const cli_option *option = &CLI_OPTIONS[index];
    return option->name && !(option->bit & ((const cli_command *)command)->options) ? "" : option->name;
}

/* The option an argument names, alone or as NAME=VALUE; NULL: none that this command takes. */
static const cli_option *find_option(const cli_command *command, const char *argument)
{
    size_t length = strcspn(argument, "=");
    for (const cli_option *option = CLI_OPTIONS; option->name; option++)
        if ((command->options & option->bit) && strlen(option->name) == length &&
            strncmp(option->name, argument, length) == 0)
            return option;
    return NULL;
}

static bool complain(const cli_command *command, const char *argument)
{
    char name[32];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(argument, "="), argument);
    const char *near = cli_nearest(name, option_name, command);
    cli_say(stderr, "countermass %s: there is no option \"%s\"%s%s; `countermass %s --help` lists them",
            command->name, argument, near ? "; did you mean " : "", near ? near : "", command->name);
    return false;
}

/* Of two values one would be dropped without a word. */
static bool stands_twice(const cli_command *command, const cli_option *option, cli_options *options)
{
    unsigned bit = 1u << (option - CLI_OPTIONS);
    bool twice = option->value && !(option->bit & CLI_REPEATS) && (options->given & bit);
    options->given |= bit;
    if (twice)
        cli_say(stderr, "countermass %s: %s is given twice; give it once", command->name, option->name);
    return twice;
}

/* Reads the option at *index and moves *index past its value. */
static bool parse_option(const cli_command *command, int count, char **arguments, int *index,
                         cli_options *options)
{
    const char *argument = arguments[*index];
    const cli_option *option = find_option(command, argument);
    const char *equals = strchr(argument, '=');
    if (!option)
        return complain(command, argument);
    if (stands_twice(command, option, options))
        return false;
    const char *value = equals ? equals + 1 : NULL;
    if (option->value && !value && *index + 1 < count)
        value = arguments[++*index];
    if ((option->value != NULL) == (value != NULL) && option->take(options, value))
        return true;
    cli_say(stderr, "countermass %s: %s takes %s%s%s", command->name, option->name,
            option->value ? option->value : "no value", value ? ", not " : "", value ? value : "");
    return false;
}

static bool check_cases(const cli_command *command, const cli_options *options)
{
    if (options->help || command->takes_cases == (options->case_count > 0))
        return true;
    if (command->takes_cases)
        cli_say(stderr, "countermass %s: name at least one CASE (a file, or - for standard input)",
                command->name);
    else
        cli_say(stderr, "countermass %s: takes no CASE, but \"%s\" was given", command->name,
                options->cases[0]);
    return false;
}

bool cli_parse(const cli_command *command, int count, char **arguments, cli_options *options)
{
    bool only_cases = false;
    options->cases = arguments;
    for (int i = 0; i < count; i++) {
        char *argument = arguments[i];
        if (!only_cases && strcmp(argument, "--") == 0)
            only_cases = true;
        else if (only_cases || argument[0] != '-' || argument[1] == '\0')
            options->cases[options->case_count++] = argument;
        else if (!parse_option(command, count, arguments, &i, options))
            return false;
    }
    return check_cases(command, options);
}

/* Name and value, and what it does from column 28 on, on a line of its own after a long value. */
static void help_option(const cli_option *option)
{
    enum { COLUMN = 28 };
    int used = printf("  %s %s", option->name, option->value ? option->value : "");
    if (used >= COLUMN)
        used = printf("\n") - 1;
    printf("%*s%s\n", COLUMN - used, "", option->about);
}

static void help_options(const cli_command *command)
{
    for (const cli_option *option = CLI_OPTIONS; option->name; option++)
        if (command->options & option->bit)
            help_option(option);
}

void cli_help(const cli_command *command)
{
    printf("countermass %s [OPTION ...]%s\n\n%c%s.\n\n", command->name,
           command->takes_cases ? " CASE ..." : "", toupper((unsigned char)command->about[0]),
           command->about + 1);
    help_options(command);
    printf("\nExample:\n  %s\n", command->example);
    if (command->takes_cases)
        printf("\n%s\n", CLI_WORDS.cases);
    printf("\nExit status: 0 %s; 1 %s;\n2 %s; 3 %s.\n", CLI_WORDS.exits[0], CLI_WORDS.exits[1],
           CLI_WORDS.exits[2], CLI_WORDS.exits[3]);
}

void cli_overview(void *stream)
{
    fprintf(stream, "countermass COMMAND [OPTION ...] CASE ...\n\n%s\n\n", CLI_WORDS.purpose);
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        fprintf(stream, "  %-10s %s\n", command->name, command->about);
    fprintf(stream,
            "\n  countermass COMMAND --help   options and an example\n"
            "  countermass --version        version of the program\n\n%s\n",
            CLI_WORDS.caution);
}
