/* SPDX-License-Identifier: MIT */
/* One command over all cases of a command line: each in a session of its own, so that several threads can work and
 * nothing but its text is kept. */
#include "cli.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What is left of a case. */
typedef struct outcome {
    int status;     /* exit status */
    char *text;     /* its part of the result; NULL: memory was short */
    char *messages; /* lines for standard error; NULL: memory was short */
    bool refused;   /* a file to be written is one that the case is read from */
    bool
        left; /* one of several that an interrupt came before, or into before it had anything: it has no part in the result */
} outcome;

typedef struct fleet {
    const cli_options *options;
    cli_case *one;
    cm_together how;
    bool alone; /* the page of the only case stands by itself */
    outcome *outcomes;
    int status;   /* the greatest so far */
    bool refused; /* nothing is delivered */
    int passed;
} fleet;

static cm_host host_of(const cli_options *options)
{
    cm_host host = {.size = sizeof host};
    if (options->host)
        host = *options->host;
    host.record_count = options->record_count;
    host.records = options->records;
    return host;
}

/* The main picture, where one was asked for. */
static cm_status draw(cm_session *session, const cli_options *options, const cm_page *page)
{
    const char *svg;
    if (!options->plot)
        return CM_OK;
    cm_status status = cm_page_plot(session, page, &svg);
    return status == CM_OK ? cli_set_aside(options, options->plot, svg) : status;
}

/* The text of one case; a wrong one leaves a page that says so. */
static int write_part(const fleet *f, cm_session *session, int index, FILE *messages, const char **text)
{
    const char *file = f->options->cases[index];
    bool no = false;
    cm_page *page = NULL;
    cm_status status = f->one(session, f->options, file, &page, &no);
    f->outcomes[index].left = status == CM_STOPPED && f->options->case_count > 1;
    if (f->outcomes[index].left)
        return CLI_NO;
    if (status == CM_OK)
        status = draw(session, f->options, page);
    int exit_status = status == CM_OK && no ? CLI_NO : cli_exit_of(status);
    cli_write_messages(messages, session, 0, file);
    int first = cm_message_count(session);
    if (status != CM_OK && status != CM_NO_MEMORY)
        status = cm_page_error(session, file, 0, &page);
    if (status == CM_OK)
        status = f->alone ? cm_page_render(session, page, f->how.format, f->how.colour, text)
                          : cm_page_part(session, page, &f->how, index, file, text);
    if (status == CM_OK)
        return exit_status;
    cli_write_messages(messages, session, first, file);
    if (status == CM_NO_MEMORY)
        cli_say(messages, "%s: out of memory", file);
    *text = NULL;
    return CLI_MACHINE;
}

/* An interrupt that the command takes for itself. */
static bool is_stopping(const fleet *f)
{
    const cm_host *host = f->options->host;
    return host && host->stop && host->stop(host->context);
}

static void work_on_case(void *context, int index)
{
    const fleet *f = context;
    outcome *o = &f->outcomes[index];
    const cm_host host = host_of(f->options);
    o->left = f->options->case_count > 1 && is_stopping(f);
    if (o->left)
        return;
    const char *text = NULL;
    size_t length;
    FILE *messages = open_memstream(&o->messages, &length);
    cm_session *session = messages ? cm_open(&host) : NULL;
    o->status = CLI_MACHINE;
    if (session) {
        o->status = write_part(f, session, index, messages, &text);
        o->refused = cli_spoils_input(f->options, session, f->options->cases[index], messages);
    }
    if (text)
        o->text = strdup(text);
    cm_close(session);
    if (messages && fclose(messages) != 0) {
        free(o->messages);
        o->messages = NULL;
    }
}

/* Memory was enough for all that the case has to say. */
static bool is_whole(const outcome *o)
{
    return o->text && o->messages;
}

/* Shows what a case had to say; false ends the work. */
static bool take_case(void *context, int index)
{
    fleet *f = context;
    const outcome *o = &f->outcomes[index];
    if (o->left)
        return true;
    if (o->messages)
        fputs(o->messages, stderr);
    bool whole = is_whole(o);
    if (!whole && !(o->messages && *o->messages))
        cli_say(stderr, "%s: out of memory", f->options->cases[index]);
    f->status = !whole ? CLI_MACHINE : o->refused ? CLI_WRONG : o->status > f->status ? o->status : f->status;
    f->refused = f->refused || o->refused;
    f->passed += o->status == CLI_DONE;
    return whole && !o->refused;
}

static int deliver_together(const fleet *f, cm_session *session, int count, const char **parts)
{
    const char *text = parts[0];
    cm_status status = CM_OK;
    if (!f->alone)
        status = cm_page_join(session, &f->how, count, parts, f->passed, &text);
    if (status == CM_OK)
        return cli_deliver_text(session, f->options, text);
    cli_say(stderr, "countermass: out of memory");
    return CLI_MACHINE;
}

static int deliver(const fleet *f)
{
    int cases = f->options->case_count, count = 0;
    cm_session *session = cm_open(NULL);
    const char **parts = calloc((size_t)cases, sizeof *parts);
    int status = CLI_MACHINE;
    for (int i = 0; parts && i < cases; i++)
        if (!f->outcomes[i].left)
            parts[count++] = f->outcomes[i].text;
    if (session && parts)
        status = deliver_together(f, session, count, parts);
    else
        cli_say(stderr, "countermass: out of memory");
    free(parts);
    cm_close(session);
    return status;
}

/* Standard input can be read once: cases that name it twice must come in order. */
static int jobs_of(const cli_options *options)
{
    int inputs = 0;
    for (int i = 0; i < options->case_count; i++)
        inputs += strcmp(options->cases[i], "-") == 0;
    return inputs > 1 ? 1 : options->jobs;
}

/* Says how many cases an interrupt came before; false: it came before all of them. */
static bool tell_left(fleet *f)
{
    int count = f->options->case_count, left = 0;
    for (int i = 0; i < count; i++)
        left += f->outcomes[i].left;
    if (left == 0)
        return true;
    cli_say(stderr, "countermass: stopped; %d of %d cases not looked at%s", left, count,
            left == count ? ", nothing is written" : ": the result holds the others only");
    int status = left == count ? CLI_MACHINE : CLI_NO;
    f->status = status > f->status ? status : f->status;
    return left < count;
}

static int run_fleet(fleet *f)
{
    int count = f->options->case_count, jobs = jobs_of(f->options), threads = jobs < count ? jobs : count;
    if (!cli_has_room(threads > 1 ? threads : 1)) {
        cli_say(
            stderr,
            "countermass: out of memory: this process may not have what %d at a time need; raise its limit, "
            "or ask for fewer --jobs",
            threads > 1 ? threads : 1);
        return CLI_MACHINE;
    }
    cli_run_jobs(jobs, count, work_on_case, take_case, f);
    bool whole = true;
    for (int i = 0; i < count; i++)
        whole = whole && (is_whole(&f->outcomes[i]) || f->outcomes[i].left);
    whole = whole && tell_left(f);
    if (!whole || f->refused || (count == 1 && f->status >= CLI_WRONG))
        return f->status;
    int delivered = deliver(f), kept_back = f->options->aside->status;
    delivered = kept_back > delivered ? kept_back : delivered;
    return delivered > f->status ? delivered : f->status;
}

int cli_each_case(const cli_options *options, const char *command, cli_case *one, cm_join join)
{
    if (options->plot && options->case_count != 1) {
        cli_say(stderr, "countermass %s: --plot takes one CASE, not %d", command, options->case_count);
        return CLI_WRONG;
    }
    int free_to_write = cli_ask_targets(options, command);
    if (free_to_write != CLI_DONE)
        return free_to_write;
    cli_aside aside = {0};
    cli_options own = *options;
    own.aside = &aside;
    cm_join how = options->table ? CM_JOIN_ROWS : join;
    fleet f = {.options = &own,
               .one = one,
               .how = {.size = sizeof f.how,
                       .join = how,
                       .format = options->format,
                       .colour = cli_wants_colour(options),
                       .result = command},
               .alone = how == CM_JOIN_LIST && options->case_count == 1,
               .outcomes = calloc((size_t)options->case_count, sizeof *f.outcomes)};
    if (!f.outcomes) {
        cli_say(stderr, "countermass: out of memory");
        return CLI_MACHINE;
    }
    int status = run_fleet(&f);
    for (int i = 0; i < options->case_count; i++) {
        free(f.outcomes[i].text);
        free(f.outcomes[i].messages);
    }
    free(f.outcomes);
    cli_forget_aside(&aside);
    return status;
}
