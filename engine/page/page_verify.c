/* SPDX-License-Identifier: MIT */
/* The result of `verify`: every number that a case promises, beside the one that was found. */
#include "page/compare.h"
#include "page/page.h"
#include "page/phrases.h"
#include "page/start_common.h"

#include "base/number.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

/* What a case may expect, and where in which result it is found. */
static const struct {
    const char *key;
    cm_node *(*tree)(cm_session *session, const cm_job *job);
    const char *field;
    size_t needs; /* member of the job without which there is no such result */
} PROMISES[] = {
    {"status", cm_tree_solve, "status", offsetof(cm_job, answer)},
    {"objective", cm_tree_solve, "objective", offsetof(cm_job, answer)},
    {"corrections", cm_tree_solve, "corrections", offsetof(cm_job, answer)},
    {"predicted", cm_tree_solve, "predicted", offsetof(cm_job, answer)},
    {"condition", cm_tree_solve, "condition", offsetof(cm_job, answer)},
    {"limits_factor", cm_tree_solve, "limits_factor", offsetof(cm_job, answer)},
    {"conflict", cm_tree_solve, "conflict", offsetof(cm_job, answer)},
    {"influence", cm_tree_influence, "coefficients", offsetof(cm_job, influence)},
    {"permissible", cm_tree_tolerance, "permissible", offsetof(cm_job, tolerance)},
    {"separation", cm_tree_tolerance, "separation", offsetof(cm_job, tolerance)},
    {"zones", cm_tree_tolerance, "zones", offsetof(cm_job, tolerance)},
    {"trial", cm_tree_trial, "planes", offsetof(cm_job, trials)},
    {"findings", cm_tree_check, "findings", offsetof(cm_job, findings)},
};
enum { PROMISE_COUNT = sizeof PROMISES / sizeof *PROMISES };

static bool is_there(const cm_job *job, size_t member)
{
    return *(const void *const *)((const char *)job + member) != NULL;
}

static void compare_promise(cm_comparison *c, const cm_job *job, const cm_node *expected,
                            const cm_node *tolerance)
{
    for (int i = 0; i < PROMISE_COUNT; i++) {
        if (strcmp(expected->key, PROMISES[i].key) != 0 || !is_there(job, PROMISES[i].needs))
            continue;
        const cm_node *tree = PROMISES[i].tree(c->session, job);
        cm_compare(c, expected->key, expected, cm_node_get(tree, PROMISES[i].field), tolerance);
        return;
    }
    cm_compare(c, expected->key, expected, NULL, tolerance); /* nothing computes it: every number fails */
}

static void compare_all(cm_comparison *c, const cm_job *job)
{
    const cm_node *expected = job->given->expected;
    if (!expected)
        return;
    const cm_node *tolerance = cm_node_get(expected, "tolerance");
    for (const cm_node *entry = expected->first; entry; entry = entry->next)
        if (strcmp(entry->key, "source") != 0 && strcmp(entry->key, "tolerance") != 0)
            compare_promise(c, job, entry, tolerance);
}

/* ---- the page of one case ---- */

/* Digits of most checks, and of numbers told apart by no fewer than all. */
enum { DIGITS = 7, MOST_DIGITS = 15 };

static const char *number_text(cm_session *session, double value, int digits)
{
    char text[32];
    if (digits <= MOST_DIGITS)
        return cm_digits(session, value, digits);
    cm_number_round_trip(value, text);
    return cm_copy_text(session, text, strlen(text));
}

/* As many digits as a failed check needs to show what it found beside what was expected. */
static int digits_of(cm_session *session, const cm_node *check)
{
    const cm_node *expected = cm_node_get(check, "expected"), *found = cm_node_get(check, "found");
    int digits = DIGITS;
    if (cm_node_get(check, "pass")->truth || expected->kind != CM_NUMBER || found->kind != CM_NUMBER)
        return digits;
    while (digits <= MOST_DIGITS && strcmp(number_text(session, expected->number, digits),
                                           number_text(session, found->number, digits)) == 0)
        digits++;
    return digits;
}

static const char *cell_of(cm_session *session, const cm_node *check, const char *key, int digits)
{
    const cm_node *node = cm_node_get(check, key);
    if (node->kind == CM_TEXT)
        return node->text;
    if (node->kind == CM_BOOLEAN)
        return node->truth ? "holds" : "FAILS";
    return node->kind == CM_NUMBER && isfinite(node->number) ? number_text(session, node->number, digits)
                                                             : "-";
}

static void say_checks(cm_document *d, const cm_node *checks)
{
    static const cm_column columns[] = {{"what", NULL, false, true, 36},
                                        {"expected", NULL, true, false, 0},
                                        {"found", NULL, true, false, 0},
                                        {"tolerance", NULL, true, false, 0},
                                        {"", NULL, false, false, 0}};
    static const char *const keys[] = {"what", "expected", "found", "tolerance", "pass"};
    cm_table *table = cm_table_open(d, 5, columns);
    for (const cm_node *check = checks->first; check; check = check->next) {
        const char *cells[5];
        int digits = digits_of(d->session, check);
        for (int i = 0; i < 5; i++)
            cells[i] =
                cell_of(d->session, check, keys[i], strcmp(keys[i], "tolerance") == 0 ? DIGITS : digits);
        cm_table_row(d, table, cells);
    }
}

static cm_document *words_verify(cm_session *session, const cm_job *job, const cm_node *checks, int failed)
{
    cm_document *d = cm_document_new(session);
    bool pass = checks->count && !failed;
    cm_section(d, "%s", job->given->file);
    cm_say(d, CM_PLAIN, "Source: %s.",
           job->given->expected_source ? job->given->expected_source : "not stated");
    if (!checks->count) {
        cm_say(d, CM_BAD, "The case expects nothing (no numbers under expected), so nothing is verified.");
        return d;
    }
    say_checks(d, checks);
    cm_say(d, pass ? CM_GOOD : CM_BAD, "%s, %s.", cm_count_of(session, checks->count, "check", "checks"),
           pass ? "all hold" : cm_format(session, "%d of them failed", failed));
    return d;
}

static cm_page *verify_page(cm_session *session, const cm_job *job, int *pass)
{
    cm_node *tree = cm_node_map(session);
    cm_node_add_text(session, tree, "file", job->given->file);
    cm_node_add_text(session, tree, "source", job->given->expected_source);
    cm_comparison c = {
        .session = session, .given = job->given, .checks = cm_node_add_list(session, tree, "checks")};
    compare_all(&c, job);
    *pass = c.checks->count > 0 && c.failed == 0;
    cm_node_add_boolean(session, tree, "pass", *pass);
    return cm_page_new(session, tree, words_verify(session, job, c.checks, c.failed));
}

cm_status cm_page_verify(cm_session *session, const cm_job *theirs, cm_page **page, int *pass)
{
    static const cm_job_call CALL = {"cm_page_verify", CM_HAS_GIVEN, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = verify_page(session, job, pass);
    return cm_leave(session);
}

/* The entry of a case that could not be read or solved keeps the fields of a verified one. */
cm_node *cm_verified_entry(cm_session *session, cm_node *tree)
{
    if (!cm_node_get(tree, "result"))
        return tree;
    cm_node_add_text(session, tree, "source", NULL);
    cm_node_add_list(session, tree, "checks");
    cm_node_add_boolean(session, tree, "pass", false);
    return tree;
}

const char *cm_verified_title(cm_session *session, int count, int passed, bool colour)
{
    cm_document *d = cm_document_new(session);
    cm_title(d, "Worked examples run again");
    cm_say(d, passed == count ? CM_GOOD : CM_BAD, "%d of %s with what was expected.", passed,
           cm_count_of(session, count, "case agrees", "cases agree"));
    return cm_document_text(session, d, colour);
}
