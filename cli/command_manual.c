/* SPDX-License-Identifier: MIT */
/* countermass manual: the man page, made from the tables of commands and options. */
#include "cli.h"

#include <ctype.h>
#include <stdio.h>

/* Text that roff shall not read as its own language. */
static void print_plain(const char *text)
{
    if (*text == '.' || *text == '\'')
        fputs("\\&", stdout);
    for (; *text; text++)
        if (*text == '\\')
            fputs("\\e", stdout);
        else if (*text == '-')
            fputs("\\-", stdout);
        else
            putchar(*text);
}

static void print_line(const char *before, const char *text, const char *after)
{
    fputs(before, stdout);
    print_plain(text);
    fputs(after, stdout);
}

static void print_option(const cli_option *option)
{
    print_line(".TP\n.B ", option->name, "");
    if (option->value)
        print_line(" \\fI", option->value, "\\fR");
    print_line("\n", option->about, "\n");
}

static void print_command(const cli_command *command)
{
    print_line(".SS ", command->name, "\n");
    print_line(".B countermass ", command->name, "\n[\\fIoption\\fR ...]");
    printf("%s\n.PP\n", command->takes_cases ? " \\fIcase\\fR ..." : "");
    putchar(toupper((unsigned char)command->about[0]));
    print_line("", command->about + 1, ".\n");
    for (const cli_option *option = CLI_OPTIONS; option->name; option++)
        if (command->options & option->bit)
            print_option(option);
    print_line(".PP\nExample:\n.PP\n.RS 4\n.EX\n", command->example, "\n.EE\n.RE\n");
}

static void print_head(void)
{
    printf(".TH COUNTERMASS 1 2026-11-28 \"countermass %s\" \"User Commands\"\n", CM_VERSION);
    puts(".SH NAME\ncountermass \\- balancing of flexible multi-bearing rotors\n"
         ".SH SYNOPSIS\n.B countermass\n\\fIcommand\\fR [\\fIoption\\fR ...] \\fIcase\\fR ...\n.SH "
         "DESCRIPTION");
    print_line("", CLI_WORDS.purpose, "\n.PP\n");
    print_line("", CLI_WORDS.cases, "\n.PP\n");
    puts("Results go to standard output, messages to standard error as\n"
         ".IR file : line : column :\n.IR text .\nA lone\n.B \\-\\-\nends the options.\n.PP\n"
         ".B countermass \\-\\-version\nprints the version.");
}

/* Where an installation has what; PREFIX is /usr for Debian packages. */
static const struct {
    const char *file, *holds;
} FILES[] = {
    {"share/doc/countermass/case-file.md", "every key of the case file"},
    {"share/doc/countermass/conventions.md", "phases, angles and which way to count, with drawings"},
    {"share/doc/countermass/safety.md", "what to hold to beside a machine"},
    {"share/doc/countermass/results.md", "every field of the results"},
    {"share/doc/countermass/tutorial.md", "a small job from first reading to record"},
    {"share/doc/countermass/examples", "cases to try, those of the tutorial among them"},
    {"share/countermass/case-schema.json", "JSON Schema of the case file, for editors"},
};

static void print_files(void)
{
    puts(".SH FILES\n.I PREFIX\nis the folder under which countermass is installed: /usr by the Debian "
         "package.");
    for (size_t i = 0; i < sizeof FILES / sizeof *FILES; i++) {
        print_line(".TP\n.I PREFIX/", FILES[i].file, "\n");
        print_line("", FILES[i].holds, ".\n");
    }
}

int command_manual(const cli_options *options)
{
    (void)options;
    print_head();
    puts(".SH COMMANDS");
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        print_command(command);
    puts(".SH EXIT STATUS");
    for (int i = 0; i < 4; i++) {
        printf(".TP\n.B %d\n", i);
        print_line("", CLI_WORDS.exits[i], "\n");
    }
    puts(".SH ENVIRONMENT\n.TP\n.B NO_COLOR\nwhen set and not empty, text on a terminal has no colours.");
    print_files();
    print_line(".SH SAFETY\n", CLI_WORDS.caution, "\n");
    puts(".SH SEE ALSO\nThe documents under\n.IR PREFIX/share/doc/countermass ;\nread\n.I safety.md\n"
         "there before anyone acts on an answer.");
    return CLI_DONE;
}
