/* SPDX-License-Identifier: MIT */
/* Results to standard output or to a file, messages to standard error. */
#include "cli.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int cli_exit_of(cm_status status)
{
    return status == CM_OK ? CLI_DONE : status == CM_BAD_INPUT ? CLI_WRONG : CLI_MACHINE;
}

static void print_harmless(FILE *stream, const char *text)
{
    const char *from = text;
    for (int bytes; *text; text += bytes)
        if (cm_steers(text, &bytes)) {
            fprintf(stream, "%.*s\xEF\xBF\xBD", (int)(text - from), from);
            from = text + bytes;
        }
    fprintf(stream, "%s\n", from);
}

/* Without memory a long line is cut: better than none. */
static void print_all(FILE *stream, const char *format, va_list arguments, va_list again)
{
    char quick[1024];
    /* clang 14 loses sight of va_start: NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized) */
    int length = vsnprintf(quick, sizeof quick, format, arguments);
    char *whole = length >= (int)sizeof quick ? malloc((size_t)length + 1) : NULL;
    if (whole)
        vsnprintf(whole, (size_t)length + 1, format, again);
    print_harmless(stream, whole ? whole : quick);
    free(whole);
}

void cli_say(void *stream, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    print_all(stream, format, arguments, again);
    va_end(again);
    va_end(arguments);
}

/* FILE:LINE:COLUMN: text; what concerns a whole case stands at 1:1, a file that cannot be opened has no line. */
static void print_message(FILE *stream, const cm_message *message, const char *file)
{
    static const char *const words[] = {[CM_NOTE] = "note: ", [CM_WARNING] = "warning: ", [CM_ERROR] = ""};
    const char *how = words[message->severity];
    if (message->file && message->line > 0)
        cli_say(stream, "%s:%d:%d: %s%s", message->file, message->line, message->column, how, message->text);
    else if (message->file || !file)
        cli_say(stream, "%s: %s%s", message->file ? message->file : "countermass", how, message->text);
    else
        cli_say(stream, "%s:1:1: %s%s", file, how, message->text);
}

void cli_write_messages(void *stream, const cm_session *session, int first, const char *file)
{
    for (int i = first; i < cm_message_count(session); i++)
        print_message(stream, cm_message_at(session, i), file);
}

void cli_messages(const cm_session *session, int first, const char *file)
{
    cli_write_messages(stderr, session, first, file);
}

/* Where memory is short there is none for a message of the library's. */
int cli_failed(const cm_session *session, int first, const char *file, cm_status status)
{
    cli_messages(session, first, file);
    if (status == CM_NO_MEMORY)
        cli_say(stderr, "%s: out of memory", file ? file : "countermass");
    return cli_exit_of(status);
}

bool cli_wants_colour(const cli_options *options)
{
    const char *refused = getenv("NO_COLOR");
    return options->format == CM_FORMAT_TEXT && !options->output && !(refused && *refused) &&
           isatty(STDOUT_FILENO);
}

static int print(const char *text)
{
    if (fputs(text, stdout) >= 0 && fflush(stdout) == 0)
        return CLI_DONE;
    cli_say(stderr, "countermass: standard output: %s", strerror(errno));
    return CLI_MACHINE;
}

/* The result, and with it what was set aside: in files all or none. */
int cli_deliver_text(cm_session *session, const cli_options *options, const char *text)
{
    const char *paths[1 + CLI_MOST_ASIDE], *texts[1 + CLI_MOST_ASIDE];
    int count = 0, first = cm_message_count(session);
    if (options->output && strcmp(options->output, "-") != 0) {
        paths[count] = options->output;
        texts[count++] = text;
    } else if (print(text) != CLI_DONE)
        return CLI_MACHINE;
    for (int i = 0; options->aside && i < options->aside->count; i++) {
        paths[count] = options->aside->path[i];
        texts[count++] = options->aside->text[i];
    }
    if (count == 0)
        return CLI_DONE;
    cm_status status = cm_save_together(session, count, paths, texts);
    return status == CM_OK ? CLI_DONE : cli_failed(session, first, paths[0], status);
}
