/* SPDX-License-Identifier: MIT */
/**
 * @file cli.h
 * The program around the library: it sees the public headers only.
 */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include "countermass.h"

#include <stdbool.h>

/** Exit status of the program. */
enum { CLI_DONE = 0, CLI_NO = 1, CLI_WRONG = 2, CLI_MACHINE = 3 };

/** Ids that one option may be given with. */
enum { CLI_MOST_IDS = 64 };

/** A record and a picture. */
enum { CLI_MOST_ASIDE = 2 };

/** Files beside the result that wait until it is delivered. */
typedef struct cli_aside {
    int status; /* exit status: what could not be made */
    int count;
    const char *path[CLI_MOST_ASIDE];
    char *text[CLI_MOST_ASIDE];
} cli_aside;

typedef struct cli_options {
    cli_aside *aside; /* of the only case; set by cli_each_case */
    cm_page_format format;
    const char *output; /* NULL: standard output */
    const char *plane;  /* NULL: all */
    const char *plot;   /* where to draw the main picture; NULL: nowhere */
    const char *record; /* where to write an influence record; NULL: nowhere */
    int record_count;   /* records that cases may name though they lie elsewhere */
    const char *records[CLI_MOST_IDS];
    int at_most; /* planes in a set; 0: not said */
    int best;    /* sets listed of each size; 0: not said */
    int must_count, never_count;
    const char *must[CLI_MOST_IDS];
    const char *never[CLI_MOST_IDS];
    const cm_host *host; /* NULL: default */
    bool trade_off;
    bool table;  /* one line a case */
    int jobs;    /* cases worked on at the same time; 0: not said */
    bool zsh;    /* completion for zsh, not bash */
    bool so_far; /* the last run is still on its way up */
    bool proof;
    int split_count, merge_count; /* masses to be split and merged, as texts */
    const char *splits[CLI_MOST_IDS];
    const char *merges[CLI_MOST_IDS];
    double seconds; /* greatest time of a search; 0: not said */
    bool help;
    unsigned given; /* bit k: option k of the table stood there */
    int case_count;
    char **cases; /* the arguments that are no options, in order */
} cli_options;

/** Bits for the options a command takes. */
enum {
    CLI_HELP = 1,
    CLI_OUTPUT = 2,
    CLI_FORMAT = 4,
    CLI_PLANE = 8,
    CLI_SETS = 16,
    CLI_RECORD = 32,
    CLI_RECORD_FROM = 64,
    CLI_TRADE_OFF = 128,
    CLI_SHELL = 256,
    CLI_PROOF = 512,
    CLI_TIME = 1024,
    CLI_MANY = 1 << 11,
    CLI_SO_FAR = 1 << 16,
    CLI_PLOT = 1 << 17,
    CLI_REPEATS = 1 << 18, /* of an option with a value: it may stand more than once */
    CLI_RESULT = CLI_HELP | CLI_OUTPUT | CLI_FORMAT | CLI_RECORD_FROM,
    CLI_DRAWN = CLI_RESULT | CLI_PLOT
};

typedef struct cli_command {
    const char *name;
    const char *about;
    const char *example;
    unsigned options;
    bool takes_cases;
    int (*run)(const cli_options *options);
} cli_command;

/** The table of commands, ended by a NULL name. */
extern const cli_command CLI_COMMANDS[];

/** One option. The tables of commands and options make the parser, the help, the manual and the completions. */
typedef struct cli_option {
    unsigned bit;
    const char *name;
    const char *value; /* what stands after it: choices "a|b", FILE, or another word; NULL: nothing */
    const char *about;
    bool (*take)(cli_options *options, const char *value);
} cli_option;

/** The table of options, ended by a NULL name. */
extern const cli_option CLI_OPTIONS[];

/** Sentences that help and manual share. */
typedef struct cli_words {
    const char *purpose, *cases, *caution;
    const char *exits[4]; /* what each exit status says */
} cli_words;
extern const cli_words CLI_WORDS;

/* One file per command. */
int command_check(const cli_options *options);
int command_influence(const cli_options *options);
int command_solve(const cli_options *options);
int command_tolerance(const cli_options *options);
int command_planes(const cli_options *options);
int command_place(const cli_options *options);
int command_trial(const cli_options *options);
int command_verify(const cli_options *options);
int command_report(const cli_options *options);
int command_schema(const cli_options *options);
int command_new(const cli_options *options);
int command_manual(const cli_options *options);
int command_completion(const cli_options *options);

/* options.c: reads the arguments after the command's name (reordering them); false after a message on standard error. */
bool cli_parse(const cli_command *command, int count, char **arguments, cli_options *options);
void cli_help(const cli_command *command);
void cli_overview(void *stream);

/* suggest.c: the candidate nearest to a mistyped word, or NULL; called with `data` and index 0, 1, ... until it returns
 * NULL. An empty candidate is none. */
const char *cli_nearest(const char *word, const char *(*candidate)(const void *data, int index),
                        const void *data);

/* stop.c: a host whose stop hook tells of an interrupt; from then on interrupts and SIGTERM are caught once. */
const cm_host *cli_catch_stop(void);

/* output.c: one line of ours; what the names and texts in it might do to a terminal, or to the line, is shown as U+FFFD.
 * All that goes to standard error is said here, but for progress and help. */
void cli_say(void *stream, const char *format, ...) __attribute__((format(printf, 2, 3)));
void cli_messages(const cm_session *session, int first, const char *file);
int cli_failed(const cm_session *session, int first, const char *file,
               cm_status status); /* messages; exit status */

/* aside.c: a file that is written once the result is delivered; the texts are copied. */
cm_status cli_set_aside(const cli_options *options, const char *path, const char *text);
void cli_forget_aside(cli_aside *aside);

void cli_write_messages(void *stream, const cm_session *session, int first, const char *file);
bool cli_wants_colour(const cli_options *options);
int cli_deliver_text(cm_session *session, const cli_options *options, const char *text);
int cli_exit_of(cm_status status);

/* targets.c: files to be written. Exit status after a message, before anything is read; ... */
int cli_ask_targets(const cli_options *options, const char *command);
/* ... and whether one of them has turned out to be a file that the session read, with a message. */
bool cli_spoils_input(const cli_options *options, const cm_session *session, const char *file,
                      void *messages);

/** What one command does with one case: leaves its page, and whether the answer is no. */
typedef cm_status cli_case(cm_session *session, const cli_options *options, const char *file, cm_page **page,
                           bool *no);

/* cases.c: runs `one` over all cases and delivers the pages together; under CM_JOIN_LIST a single one stands alone. */
int cli_each_case(const cli_options *options, const char *command, cli_case *one, cm_join join);

/* jobs.c: calls work(context, 0 ... count-1) on so many threads, and ready(context, 0 ... count-1) in order as they
 * are done, on the calling thread, until it says false: then the rest is given up. */
void cli_run_jobs(int jobs, int count, void (*work)(void *context, int index),
                  bool (*ready)(void *context, int index), void *context);

/* memory.c: tells the allocator to keep what is released for what is taken next. */
void cli_keep_memory(void);

/* memory.c: false: the linear algebra of so many threads would not find its room. */
bool cli_has_room(int threads);

/* steps.c: what several commands do with a case, step after step; each fills in the job. */
cm_status cli_fit(cm_session *session, const char *file, cm_job *job);
cm_status cli_fit_if_read(cm_session *session, const char *file, cm_job *job);
cm_status cli_pose(cm_session *session, cm_job *job);
cm_status cli_answer(cm_session *session, cm_job *job);
cm_status cli_solve_all(cm_session *session, cm_job *job);
cm_status cli_before_start(cm_session *session, cm_job *job);
bool cli_finding_is_fault(const cm_finding *finding);
bool cli_finding_over_alarm(const cm_finding *finding);
bool cli_any_finding(const cm_job *job, bool (*holds)(const cm_finding *finding));

#endif
