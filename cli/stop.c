/* SPDX-License-Identifier: MIT */
/* An interrupt ends a long search with what is proven so far. */
#include "cli.h"

#include <signal.h>
#include <stdatomic.h>

/* The one variable of the program that is not on a stack: a signal handler can tell of itself in no other way. */
static atomic_int asked_to_stop;

static void note_stop(int signal_number)
{
    (void)signal_number;
    asked_to_stop = 1;
}

static int is_stopping(void *context)
{
    (void)context;
    return asked_to_stop;
}

/* The second interrupt does what it always does. */
const cm_host *cli_catch_stop(void)
{
    static const cm_host host = {.size = sizeof host, .stop = is_stopping};
    struct sigaction action = {.sa_handler = note_stop, .sa_flags = (int)SA_RESETHAND};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    return &host;
}
