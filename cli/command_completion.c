/* SPDX-License-Identifier: MIT */
/* countermass completion: completion of command lines for bash and zsh, made from the tables of commands and options. */
#include "cli.h"

#include <stdio.h>
#include <string.h>

static bool is_file(const cli_option *option)
{
    return strcmp(option->value, "FILE") == 0;
}

/* "text|json" as "text json": words to choose from. */
static void print_choices(const char *value)
{
    for (; *value; value++)
        putchar(*value == '|' ? ' ' : *value);
}

/* ---- bash ---- */

static void print_bash_values(const cli_command *command)
{
    for (const cli_option *option = CLI_OPTIONS; option->name; option++) {
        if (!(command->options & option->bit) || !option->value)
            continue;
        printf("        \"%s %s\")", command->name, option->name);
        if (is_file(option)) {
            puts(" compopt -o default; return ;;");
            continue;
        }
        fputs(" mapfile -t COMPREPLY < <(compgen -W \"", stdout);
        if (strchr(option->value, '|'))
            print_choices(option->value);
        puts("\" -P \"$given\" -- \"$word\"); return ;;");
    }
}

static void print_bash_options(const cli_command *command)
{
    printf("        %s) words=\"", command->name);
    for (const cli_option *option = CLI_OPTIONS; option->name; option++)
        if (command->options & option->bit)
            printf("%s ", option->name);
    puts("\" ;;");
}

static void print_bash(void)
{
    puts("# bash completion of countermass\n"
         "_countermass()\n{\n"
         "    local word=$2 before=$3 words='' given='' command=${COMP_WORDS[1]}\n"
         "    # --format=json comes as three words, or as one where COMP_WORDBREAKS has no =\n"
         "    if [ \"$before\" = = ]; then before=${COMP_WORDS[COMP_CWORD-2]}; fi\n"
         "    if [[ $word == --*=* ]]; then before=${word%%=*}; given=$before=; word=${word#*=}; fi\n"
         "    if [ \"$COMP_CWORD\" -eq 1 ]; then");
    fputs("        words=\"--help --version", stdout);
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        printf(" %s", command->name);
    puts("\"\n        mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$word\")\n        return\n    fi\n"
         "    case \"$command $before\" in");
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        print_bash_values(command);
    puts("    esac\n    case $command in");
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        print_bash_options(command);
    puts("    esac\n"
         "    case $word in\n"
         "        -*) mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$word\") ;;\n"
         "        *) compopt -o default ;;\n"
         "    esac\n}\n"
         "complete -F _countermass countermass");
}

/* ---- zsh ---- */

/* Inside '...[...]': quotes, brackets and colons have a meaning there. */
static void print_quoted(const char *text)
{
    for (; *text; text++)
        if (*text == '\'')
            fputs("'\\''", stdout);
        else if (strchr("[]:\\", *text))
            printf("\\%c", *text);
        else
            putchar(*text);
}

static void print_zsh_option(const cli_option *option)
{
    printf("            '*%s%s[", option->name, option->value ? "=" : ""); /* = or a space before the value */
    print_quoted(option->about);
    fputs("]", stdout);
    if (option->value) {
        fputs(":", stdout);
        print_quoted(option->value);
        fputs(is_file(option) ? ":_files" : ":", stdout);
        if (strchr(option->value, '|')) {
            fputs("(", stdout);
            print_choices(option->value);
            fputs(")", stdout);
        }
    }
    puts("' \\");
}

static void print_zsh_command(const cli_command *command)
{
    printf("        %s) _arguments \\\n", command->name);
    for (const cli_option *option = CLI_OPTIONS; option->name; option++)
        if (command->options & option->bit)
            print_zsh_option(option);
    puts(command->takes_cases ? "            '*:case:_files -g \"*.(yaml|yml)\"' ;;" : "            ;;");
}

static void print_zsh(void)
{
    puts("#compdef countermass\n"
         "_countermass() {\n"
         "    local -a commands\n"
         "    local context state line\n"
         "    commands=(");
    for (const cli_command *command = CLI_COMMANDS; command->name; command++) {
        printf("        '%s:", command->name);
        print_quoted(command->about);
        puts("'");
    }
    puts("    )\n"
         "    _arguments -C '--help[help]' '--version[version]' '1:command:->command' "
         "'*::argument:->argument'\n"
         "    case $state in\n"
         "    command) _describe command commands ;;\n"
         "    argument) case $words[1] in");
    for (const cli_command *command = CLI_COMMANDS; command->name; command++)
        print_zsh_command(command);
    puts("        esac ;;\n"
         "    esac\n}\n"
         "if [ \"$funcstack[1]\" = _countermass ]; then _countermass; else compdef _countermass countermass; "
         "fi");
}

int command_completion(const cli_options *options)
{
    if (options->zsh)
        print_zsh();
    else
        print_bash();
    return CLI_DONE;
}
