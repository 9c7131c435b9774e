/* SPDX-License-Identifier: MIT */
/* Files that a command is to write: none of them is a file that it reads, or that it writes for another option, and a
 * record takes the place of records only. */
#include "cli.h"

#include <stdio.h>
#include <string.h>

enum { TARGETS = 3 };

typedef struct target {
    const char *option, *path; /* path NULL: not asked for */
} target;

static void list_targets(const cli_options *options, target list[TARGETS])
{
    bool to_file = options->output && strcmp(options->output, "-") != 0;
    list[0] = (target){"--output", to_file ? options->output : NULL};
    list[1] = (target){"--record", options->record};
    list[2] = (target){"--plot", options->plot};
}

/* ---- before anything is read ---- */

static bool is_read(const char *command, const target *t, int count, const char *const *files)
{
    for (int i = 0; i < count; i++) {
        if (!cm_same_file(t->path, files[i]))
            continue;
        bool other = strcmp(t->path, files[i]) != 0;
        cli_say(stderr, "countermass %s: %s would overwrite %s%s%s, which is read; choose another name",
                command, t->option, t->path, other ? ", the same file as " : "", other ? files[i] : "");
        return true;
    }
    return false;
}

static bool is_written_twice(const char *command, const target *t, const target *earlier)
{
    if (!earlier->path || !cm_same_target(t->path, earlier->path))
        return false;
    cli_say(stderr, "countermass %s: %s and %s name the same file, %s; choose two names", command,
            earlier->option, t->option, t->path);
    return true;
}

static int ask_about_record(const char *path)
{
    cm_session *session = cm_open(NULL);
    cm_status status = session ? cm_record_may_replace(session, path) : CM_NO_MEMORY;
    if (session)
        cli_failed(session, 0, path, status);
    else
        cli_say(stderr, "countermass: out of memory");
    cm_close(session);
    return cli_exit_of(status);
}

int cli_ask_targets(const cli_options *options, const char *command)
{
    target list[TARGETS];
    list_targets(options, list);
    for (int k = 0; k < TARGETS; k++) {
        if (!list[k].path)
            continue;
        if (is_read(command, &list[k], options->case_count, (const char *const *)options->cases) ||
            is_read(command, &list[k], options->record_count, options->records))
            return CLI_WRONG;
        for (int i = 0; i < k; i++)
            if (is_written_twice(command, &list[k], &list[i]))
                return CLI_WRONG;
    }
    return options->record ? ask_about_record(options->record) : CLI_DONE;
}

/* ---- once the case has been read ---- */

bool cli_spoils_input(const cli_options *options, const cm_session *session, const char *file, void *messages)
{
    target list[TARGETS];
    list_targets(options, list);
    for (int k = 0; k < TARGETS; k++)
        if (list[k].path && cm_has_read(session, list[k].path)) {
            cli_say(messages, "%s: %s would overwrite %s, which this case is read from; choose another name",
                    file, list[k].option, list[k].path);
            return true;
        }
    return false;
}
