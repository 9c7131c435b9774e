/* SPDX-License-Identifier: MIT */
/* One command over all cases of a command line. */
#include "cli.h"

#include <stdio.h>

static int worse(int a, int b)
{
    return a > b ? a : b;
}

/* Runs one case; a wrong one leaves a page that says so. The result is its exit status. */
static int run_case(cm_session *session, const cli_options *options, const char *file, cli_case *one,
                    cm_page **page)
{
    bool no = false;
    int first = cm_message_count(session);
    cm_status status = one(session, options, file, page, &no);
    int exit = cli_failed(session, first, file, status);
    if (status == CM_OK)
        return no ? CLI_NO : CLI_DONE;
    if (status != CM_NO_MEMORY)
        status = cm_page_error(session, file, first, page);
    if (status == CM_OK)
        return exit;
    *page = NULL;
    return cli_failed(session, cm_message_count(session), file, status);
}

static int join_and_deliver(cm_session *session, const cli_options *options, cm_page *const *pages,
                            cli_join *join)
{
    cm_page *page = pages[0];
    int first = cm_message_count(session);
    cm_status status = CM_OK;
    if (join || options->case_count > 1)
        status = (join ? join : cm_page_join)(session, options->case_count, pages, &page);
    return status == CM_OK ? cli_deliver(session, options, page) : cli_failed(session, first, NULL, status);
}

static int run_all(cm_session *session, const cli_options *options, cli_case *one, cli_join *join)
{
    cm_page *pages[options->case_count];
    int status = CLI_DONE;
    for (int i = 0; i < options->case_count; i++) {
        status = worse(status, run_case(session, options, options->cases[i], one, &pages[i]));
        if (!pages[i])
            return status;
    }
    if (options->case_count == 1 && status >= CLI_WRONG)
        return status;
    return worse(status, join_and_deliver(session, options, pages, join));
}

int cli_each_case(const cli_options *options, cli_case *one, cli_join *join)
{
    cm_host host = {.size = sizeof host};
    if (options->host)
        host = *options->host;
    host.record_count = options->record_count;
    host.records = options->records;
    cm_session *session = cm_open(&host);
    if (!session) {
        fprintf(stderr, "countermass: out of memory\n");
        return CLI_MACHINE;
    }
    int status = run_all(session, options, one, join);
    cm_close(session);
    return status;
}
