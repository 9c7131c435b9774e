/* SPDX-License-Identifier: MIT */
/*
 * One command line, run again and again in this process, each time with another call failing.
 *
 * usage: faults KIND FIRST STEP FOLDER ARGUMENT...
 *        faults plain 0 0 - ARGUMENT...   runs the command as it is, under the locale of the environment;
 *                                         the argument decimal-sign tells that locale's,
 *                                         lapack-calls the LAPACK functions that can fail
 *
 * KIND is one of the table below. The command runs once without a fault, to count its calls, and then with call FIRST,
 * FIRST + STEP, ... failing, each time in a child of this process. FIRST 0 with STEP n takes n calls spread over all,
 * and of LAPACK the last one of each function too.
 * FOLDER is empty and belongs to this program: before every run the files `out` and `rec` in it (when an argument ends
 * in their name) hold OLD; `new` is not there. After a run that a fault ended:
 *   - the exit status is one that the table allows, and standard error says something;
 *   - no memory is kept (and the address sanitizer, where it is built in, has found nothing);
 *   - `out` and `rec` are as before or whole, and nothing else lies in FOLDER.
 * What ends well in spite of a fault wrote the same as without. With several cases, one that a file or LAPACK failed on
 * stands in what is delivered. Standard input is read anew in every run. Prints one line, with the LAPACK functions that
 * failed; exit status 1 after a finding.
 */
#define _GNU_SOURCE
#include "faults.h"

#include <dirent.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    DONE = 1,
    NO = 2,
    WRONG = 4,
    MACHINE = 8,
    SAME = 16,
    ENDED = 32,
    LEFT_OVER = 64,
    STANDS_IN = 128,
    MOST_BYTES = 1 << 24,
    NAMES = 3,
    LAID = 2 /* the first of them */
};

/* Allowed ends. SAME: the status of the run without fault, and the same result. ENDED: by the signal. STANDS_IN: of
 * several cases only the one is lost. */
static const struct {
    const char *name;
    int allowed;
} KINDS[FAULT_KINDS] = {
    [FAULT_MEMORY] = {"memory", MACHINE},
    [FAULT_ARENA] = {"arena", MACHINE},
    [FAULT_STREAM] = {"stream", MACHINE},
    [FAULT_ROOM] = {"room", MACHINE},
    [FAULT_READ] = {"read", MACHINE | STANDS_IN},
    [FAULT_WRITE] = {"write", MACHINE},
    [FAULT_SYNC] = {"sync", MACHINE},
    [FAULT_RENAME] = {"rename", MACHINE},
    [FAULT_UNLINK] = {"unlink", MACHINE | LEFT_OVER},
    [FAULT_CLOSE] = {"close", MACHINE | SAME},            /* of a file that was read: nothing is lost */
    [FAULT_OPEN] = {"open", MACHINE | WRONG | STANDS_IN}, /* a case that cannot be opened is a wrong one */
    [FAULT_ASK] = {"ask", MACHINE | WRONG | SAME |
                              STANDS_IN}, /* a file that cannot be asked about may still be written anew */
    [FAULT_OUTPUT] = {"output", MACHINE},
    [FAULT_LAPACK] = {"lapack", MACHINE},
    [FAULT_DIVERGE] = {"diverge",
                       MACHINE | DONE | NO | SAME | STANDS_IN}, /* there may be another way to the answer */
    [FAULT_THREAD] = {"thread", SAME},
    [FAULT_SHORT] = {"short", SAME},
    [FAULT_SIGNAL] = {"signal", SAME},
    [FAULT_TERM] = {"term",
                    ENDED | SAME | NO | WRONG | MACHINE}, /* a search that can be stopped ends by itself */
    [FAULT_KILL] = {"kill", ENDED | LEFT_OVER},
    [FAULT_NONE] = {"none", SAME},
};

static const char OLD[] = "record: what was there before\n"; /* a record takes the place of records only */
static const char *const FILES[NAMES] = {"out", "rec", "new"};

fault_plan *fault;

typedef struct text {
    char *bytes;
    size_t length;
} text;

typedef struct outcome {
    int status; /* of wait */
    text output, messages, file[NAMES];
    int others; /* further files in the folder */
    fault_plan done;
} outcome;

typedef struct job {
    const char *folder;
    int count;
    char **arguments;
    fault_kind kind;
    int output, messages; /* descriptors of files in memory */
} job;

bool fault_now(fault_kind kind)
{
    return fault->kind == kind && __atomic_add_fetch(&fault->calls, 1, __ATOMIC_SEQ_CST) == fault->at;
}

bool fault_since(fault_kind kind)
{
    return fault->kind == kind && fault->at && __atomic_load_n(&fault->calls, __ATOMIC_SEQ_CST) >= fault->at;
}

/* ---- the child ---- */

static int output_descriptor;

ssize_t __real_write(int descriptor, const void *bytes, size_t length);

static ssize_t write_output(void *cookie, const char *bytes, size_t length)
{
    (void)cookie;
    if (fault_now(FAULT_OUTPUT))
        return 0;
    return __real_write(output_descriptor, bytes, length);
}

static void run_child(const job *j)
{
    output_descriptor = j->output;
    dup2(j->messages, STDERR_FILENO);
    stdout = fopencookie(NULL, "w", (cookie_io_functions_t){.write = write_output});
    setvbuf(stderr, NULL, _IONBF, 0);
    lseek(STDIN_FILENO, 0, SEEK_SET); /* shared with the run before; a pipe or a device stays as it is */
    fault->in_child = true;
    long before = memory_in_use();
    int status = countermass_main(j->count, j->arguments);
    fault->kept = memory_in_use() - before;
    exit(status);
}

/* ---- files ---- */

static const char *path_in(const job *j, const char *name)
{
    static char path[4096];
    snprintf(path, sizeof path, "%s/%s", j->folder, name);
    return path;
}

static bool is_named(const job *j, const char *name)
{
    const char *path = path_in(j, name);
    for (int i = 0; i < j->count; i++)
        if (!strcmp(j->arguments[i], path))
            return true;
    return false;
}

static void lay_out(const job *j)
{
    for (int i = 0; i < NAMES; i++) {
        unlink(path_in(j, FILES[i]));
        FILE *file = i < LAID && is_named(j, FILES[i]) ? fopen(path_in(j, FILES[i]), "w") : NULL;
        if (file && (fputs(OLD, file) < 0 || fclose(file) != 0))
            exit(2);
    }
}

static text slurp(FILE *file)
{
    text t = {malloc(MOST_BYTES), 0};
    if (file && t.bytes)
        t.length = fread(t.bytes, 1, MOST_BYTES - 1, file);
    if (t.bytes)
        t.bytes[t.length] = '\0';
    return t;
}

static text file_named(const job *j, const char *name)
{
    FILE *file = fopen(path_in(j, name), "r");
    text t = slurp(file);
    if (file)
        fclose(file);
    return t;
}

static int others_in(const job *j)
{
    int count = 0;
    DIR *list = opendir(j->folder);
    for (struct dirent *entry = list ? readdir(list) : NULL; entry; entry = readdir(list))
        if (entry->d_name[0] != '.' || entry->d_name[1] == 'c') {
            bool known = false;
            for (int i = 0; i < NAMES; i++)
                known = known || !strcmp(entry->d_name, FILES[i]);
            if (known)
                continue;
            count++;
            unlink(path_in(j, entry->d_name));
        }
    closedir(list);
    return count;
}

static text take(int descriptor)
{
    text t = {malloc(MOST_BYTES), 0};
    ssize_t got = pread(descriptor, t.bytes, MOST_BYTES - 1, 0);
    t.length = got > 0 ? (size_t)got : 0;
    t.bytes[t.length] = '\0';
    if (ftruncate(descriptor, 0) != 0 || lseek(descriptor, 0, SEEK_SET) != 0)
        exit(2);
    return t;
}

/* ---- one run ---- */

static outcome run_with(const job *j, long at)
{
    outcome o = {0};
    *fault = (fault_plan){.kind = j->kind, .at = at};
    lay_out(j);
    pid_t child = fork();
    if (child == 0)
        run_child(j);
    if (child < 0 || waitpid(child, &o.status, 0) < 0)
        exit(2);
    o.done = *fault;
    *fault = (fault_plan){.kind = FAULT_NONE}; /* from here on for this process's own calls */
    o.output = take(j->output);
    o.messages = take(j->messages);
    for (int i = 0; i < NAMES; i++)
        o.file[i] = file_named(j, FILES[i]);
    o.others = others_in(j);
    return o;
}

static void drop(outcome *o)
{
    free(o->output.bytes);
    free(o->messages.bytes);
    for (int i = 0; i < NAMES; i++)
        free(o->file[i].bytes);
}

static bool same(const text *a, const text *b)
{
    return a->length == b->length && !memcmp(a->bytes, b->bytes, a->length);
}

static bool equal_results(const outcome *o, const outcome *plain)
{
    return o->status == plain->status && same(&o->output, &plain->output) &&
           same(&o->file[0], &plain->file[0]) && same(&o->file[1], &plain->file[1]) &&
           same(&o->file[2], &plain->file[2]);
}

static bool files_are_whole(const outcome *o, const outcome *plain)
{
    for (int i = 0; i < NAMES; i++)
        if (o->file[i].length && strcmp(o->file[i].bytes, OLD) != 0 && !same(&o->file[i], &plain->file[i]))
            return false;
    return true;
}

static bool is_old(const text *t)
{
    return !t->length || !strcmp(t->bytes, OLD);
}

static int cases_of(const job *j)
{
    int cases = 0;
    for (int i = 1; i < j->count; i++) {
        const char *end = strrchr(j->arguments[i], '.');
        cases += (end && !strcmp(end, ".yaml") && strcmp(j->arguments[i - 1], "--record-from") != 0) ||
                 !strcmp(j->arguments[i], "-");
    }
    return cases;
}

/* Several cases: one failed, what is delivered says so by its error and has the others. */
static bool stands_in(const job *j, const outcome *o)
{
    const text *page = is_old(&o->file[0]) ? &o->output : &o->file[0];
    bool told = j->kind != FAULT_READ || strstr(page->bytes, "reading broke off") ||
                strstr(page->bytes, "\nerror "); /* a line of a table */
    return (KINDS[j->kind].allowed & STANDS_IN) && cases_of(j) > 1 && page->length > sizeof OLD && told;
}

/* Files that have changed although the command failed: none, or those whose names came before the one that failed. */
static bool changed_too_many(const job *j, const outcome *o)
{
    long changed = 0;
    for (int i = 0; i < NAMES; i++)
        changed += !is_old(&o->file[i]);
    return changed != (j->kind == FAULT_RENAME ? o->done.calls - 1 : 0);
}

static const char *complain_of_files(const job *j, const outcome *o, const outcome *plain, int status)
{
    if (stands_in(j, o))
        return NULL;
    if (j->kind != FAULT_DIVERGE && j->kind != FAULT_TERM && !files_are_whole(o, plain))
        return "a file is partial";
    if (status == 3 && changed_too_many(j, o))
        return "a file was changed though the command failed";
    return NULL;
}

static const char *complain_of_end(const job *j, const outcome *o, const outcome *plain)
{
    int allowed = KINDS[j->kind].allowed, status = WEXITSTATUS(o->status);
    bool well = (allowed & SAME) && equal_results(o, plain);
    if (stands_in(j, o) && WIFEXITED(plain->status)) /* the greatest of all cases */
        allowed |= 1 << WEXITSTATUS(plain->status);
    if (status > 3 || !(well || (allowed & (1 << status))))
        return "the exit status is not one that this fault may have";
    if (status == 3 && o->messages.length < 4)
        return "no message";
    if (o->done.kept)
        return "memory was not given back";
    if (o->others && !(allowed & LEFT_OVER))
        return "a file is left over";
    return complain_of_files(j, o, plain, status);
}

/* What is wrong with this end; NULL: nothing. */
static const char *complaint(const job *j, const outcome *o, const outcome *plain)
{
    int allowed = KINDS[j->kind].allowed;
    if ((allowed & ENDED) && WIFSIGNALED(o->status))
        return !files_are_whole(o, plain)            ? "a file is partial"
               : o->others && !(allowed & LEFT_OVER) ? "a file is left over"
                                                     : NULL;
    return WIFEXITED(o->status) ? complain_of_end(j, o, plain) : "ended by a signal";
}

static int report(const job *j, long at, const outcome *o, const char *what)
{
    fprintf(stderr, "%s %ld: %s (status %d)\n  ", KINDS[j->kind].name, at, what,
            WIFEXITED(o->status) ? WEXITSTATUS(o->status) : -WTERMSIG(o->status));
    for (int i = 1; i < j->count; i++)
        fprintf(stderr, " %s", j->arguments[i]);
    fprintf(stderr, "\n%.600s\n", o->messages.bytes);
    return 1;
}

static const char *const LAPACK[LAPACK_CALLS + 1] = {
#define LAPACK_CALL(name) #name,
#include "lapack_calls.h"
#undef LAPACK_CALL
};

typedef struct tally {
    long tried;
    int found;
    bool lapack[LAPACK_CALLS];
} tally;

static void try_one(const job *j, long at, const outcome *plain, tally *t)
{
    outcome o = run_with(j, at);
    const char *what = complaint(j, &o, plain);
    if (what)
        t->found += report(j, at, &o, what);
    if (o.done.lapack_failed)
        t->lapack[o.done.lapack_failed - 1] = true;
    t->tried++;
    drop(&o);
}

static int try_all(const job *j, long first, long step)
{
    enum { MOST_FOUND = 5 };
    outcome plain = run_with(j, 0);
    long calls = plain.done.calls;
    bool spread = first == 0;
    tally t = {0};
    if (complaint(&(job){.kind = FAULT_NONE}, &plain, &plain))
        t.found = report(j, 0, &plain, "wrong without a fault");
    if (spread) {
        step = calls / step > 1 ? calls / step : 1;
        first = 1 + (calls * 7 + j->count) % step;
    }
    for (long at = first; at <= calls && t.found < MOST_FOUND; at += step)
        try_one(j, at, &plain, &t);
    for (int k = 0; spread && k < LAPACK_CALLS && t.found < MOST_FOUND; k++)
        if (plain.done.lapack_last[k])
            try_one(j, plain.done.lapack_last[k], &plain, &t);
    printf("%ld of %ld", t.tried, calls);
    for (int k = 0; k < LAPACK_CALLS; k++)
        if (t.lapack[k])
            printf(" %s", LAPACK[k]);
    puts("");
    drop(&plain);
    return t.found > 0;
}

static fault_kind kind_named(const char *name)
{
    for (int kind = 0; kind < FAULT_KINDS; kind++)
        if (!strcmp(name, KINDS[kind].name))
            return (fault_kind)kind;
    fprintf(stderr, "there is no fault called %s\n", name);
    exit(2);
}

static int show(int count, char **arguments)
{
    fault_plan none = {.kind = FAULT_NONE};
    fault = &none;
    setlocale(LC_ALL, "");
    if (count > 1 && !strcmp(arguments[1], "decimal-sign"))
        return puts(localeconv()->decimal_point) < 0;
    for (int k = 0; count > 1 && !strcmp(arguments[1], "lapack-calls") && k < LAPACK_CALLS; k++)
        puts(LAPACK[k]);
    if (count > 1 && !strcmp(arguments[1], "lapack-calls"))
        return 0;
    return countermass_main(count, arguments);
}

int main(int count, char **arguments)
{
    if (count < 6)
        return 2;
    if (!strcmp(arguments[1], "plain"))
        return show(count - 4, arguments + 4);
    fault = mmap(NULL, sizeof *fault, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    job j = {.kind = kind_named(arguments[1]),
             .folder = arguments[4],
             .count = count - 4,
             .arguments = arguments + 4};
    j.output = memfd_create("output", MFD_CLOEXEC);
    j.messages = memfd_create("messages", MFD_CLOEXEC);
    return try_all(&j, atol(arguments[2]), atol(arguments[3]));
}
