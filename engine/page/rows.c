/* SPDX-License-Identifier: MIT */
/*
 * One line a case, made from the tree of its result. Columns have a fixed width, so a line can be written before the
 * others are known and tables of several calls fit below each other. The file, which comes last, may be of any length,
 * and so may what is WHOLE_TEXT; numbers are never cut.
 */
#include "page/rows.h"

#include "page/columns.h"
#include "page/phrases.h"

#include <math.h>
#include <string.h>

/* How a column is written: its numbers, or texts that are not cut. */
typedef enum cm_cell { WHOLE, DIGITS_4, DECIMALS_2, PERCENT, WHOLE_TEXT } cm_cell;

typedef struct column {
    const char *key, *head;
    int width;
    cm_cell cell;
    void (*add)(cm_session *session, cm_node *row, const char *key, const cm_node *tree);
} column;

typedef struct row_kind {
    const char *result;
    int count;
    const column *columns;
} row_kind;

static double number_of(const cm_node *map, const char *key)
{
    const cm_node *node = map ? cm_node_get(map, key) : NULL;
    return node && node->kind == CM_NUMBER ? node->number : (double)NAN;
}

static const char *text_of(const cm_node *map, const char *key)
{
    const cm_node *node = map ? cm_node_get(map, key) : NULL;
    return node && node->kind == CM_TEXT ? node->text : NULL;
}

/* Findings of a severity in the list under `key`. */
static int severe_in(const cm_node *tree, const char *key, const char *severity)
{
    int count = 0;
    for (const cm_node *f = cm_node_get(tree, key)->first; f; f = f->next)
        count += strcmp(text_of(f, "severity"), severity) == 0;
    return count;
}

static void add_status(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_text(session, row, key, text_of(tree, "status"));
}

/* ---- solve ---- */

static void add_value(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, number_of(cm_node_get(tree, "objective"), "value"));
}

/* The worst amplitude over its limit, of the readings `when` ("before", "after"); NaN: no reading has a limit. */
static double worst(const cm_node *tree, const char *when)
{
    double most = NAN;
    for (const cm_node *p = cm_node_get(tree, "predicted")->first; p; p = p->next)
        most = fmax(most, number_of(cm_node_get(p, when), "amplitude") / number_of(p, "limit"));
    return most;
}

static void add_before(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, worst(tree, "before"));
}

static void add_after(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, worst(tree, "after"));
}

static void add_within(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, number_of(cm_node_get(tree, "spread"), "within_all"));
}

static void add_masses(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    int count = 0;
    for (const cm_node *c = cm_node_get(tree, "corrections")->first; c; c = c->next)
        count += number_of(cm_node_get(c, "change"), "mass") > 0;
    cm_node_add_number(session, row, key, count);
}

/* Faults and warnings: what is to be read before mounting. */
static void add_warnings(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key,
                       severe_in(tree, "warnings", "fault") + severe_in(tree, "warnings", "warning"));
}

static void add_mount(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_text(session, row, key, text_of(tree, "mount"));
}

static const column SOLVE[] = {
    {"status", "status", 13, WHOLE, add_status},           {"value", "objective", 10, DIGITS_4, add_value},
    {"worst_before", "before", 7, DECIMALS_2, add_before}, {"worst_after", "after", 7, DECIMALS_2, add_after},
    {"within_all", "within", 7, PERCENT, add_within},      {"masses", "masses", 7, WHOLE, add_masses},
    {"warnings", "warnings", 9, WHOLE, add_warnings},      {"mount", "mount", 11, WHOLE, add_mount},
};

/* ---- check ---- */

static int findings_of(const cm_node *tree, const char *severity)
{
    return severe_in(tree, "findings", severity);
}

static const char *const SEVERITIES[] = {"fault", "warning", "note"};

static const char *worst_severity(const cm_node *tree)
{
    for (int i = 0; i < 3; i++)
        if (findings_of(tree, SEVERITIES[i]))
            return SEVERITIES[i];
    return NULL;
}

static void add_judgement(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    const char *severity = worst_severity(tree);
    cm_node_add_text(session, row, key, severity ? severity : "nothing");
}

static void add_faults(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, findings_of(tree, "fault"));
}

static void add_cautions(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, findings_of(tree, "warning"));
}

static void add_notes(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, findings_of(tree, "note"));
}

/* Code of the first finding of the worst severity. */
static void add_first(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    const char *severity = worst_severity(tree);
    const cm_node *f = cm_node_get(tree, "findings")->first;
    while (f && strcmp(text_of(f, "severity"), severity) != 0)
        f = f->next;
    cm_node_add_text(session, row, key, f ? text_of(f, "code") : NULL);
}

/* Of the run on its way up; without one nothing. */
static void add_verdict(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_text(session, row, key, text_of(cm_node_get(tree, "so_far"), "verdict"));
}

static const column CHECK[] = {
    {"status", "worst", 13, WHOLE, add_judgement},    {"faults", "faults", 7, WHOLE, add_faults},
    {"warnings", "warnings", 9, WHOLE, add_cautions}, {"notes", "notes", 6, WHOLE, add_notes},
    {"first", "first", 22, WHOLE, add_first},         {"verdict", "verdict", 8, WHOLE, add_verdict},
};

/* ---- planes ---- */

static const cm_node *best_set(const cm_node *tree)
{
    return cm_node_get(tree, "sets")->first;
}

/* Of a search that was stopped, the best set so far need not be the best there is. */
static void add_best_status(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    bool stopped = cm_node_get(tree, "stopped")->truth;
    cm_node_add_text(session, row, key, stopped ? "stopped" : text_of(best_set(tree), "status"));
}

static void add_best_value(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, number_of(best_set(tree), "value"));
}

static void add_best_ratio(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, number_of(best_set(tree), "largest_ratio"));
}

static void add_best_condition(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, number_of(best_set(tree), "condition"));
}

static void add_best_planes(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    const char *names = NULL;
    const cm_node *planes = best_set(tree) ? cm_node_get(best_set(tree), "planes") : NULL;
    for (const cm_node *p = planes ? planes->first : NULL; p; p = p->next)
        names = names ? cm_format(session, "%s, %s", names, p->text) : p->text;
    cm_node_add_text(session, row, key, names);
}

static const column PLANES[] = {
    {"status", "status", 13, WHOLE, add_best_status},
    {"value", "objective", 10, DIGITS_4, add_best_value},
    {"largest_ratio", "ratio", 8, DECIMALS_2, add_best_ratio},
    {"condition", "condition", 10, DIGITS_4, add_best_condition},
    {"planes", "best set", 18, WHOLE_TEXT, add_best_planes},
};

/* ---- verify ---- */

static void add_pass(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_text(session, row, key, cm_node_get(tree, "pass")->truth ? "holds" : "FAILS");
}

static void add_checks(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    cm_node_add_number(session, row, key, cm_node_get(tree, "checks")->count);
}

static void add_failed(cm_session *session, cm_node *row, const char *key, const cm_node *tree)
{
    int count = 0;
    for (const cm_node *c = cm_node_get(tree, "checks")->first; c; c = c->next)
        count += !cm_node_get(c, "pass")->truth;
    cm_node_add_number(session, row, key, count);
}

static const column VERIFY[] = {
    {"status", "status", 13, WHOLE, add_pass},
    {"checks", "checks", 7, WHOLE, add_checks},
    {"failed", "failed", 7, WHOLE, add_failed},
};

/* ---- rows ---- */

#define KIND(name, columns)                                                                                  \
    {                                                                                                        \
        name, (int)(sizeof(columns) / sizeof *(columns)), columns                                            \
    }
static const row_kind KINDS[] = {
    KIND("solve", SOLVE),
    KIND("check", CHECK),
    KIND("planes", PLANES),
    KIND("verify", VERIFY),
};

static const row_kind *kind_of(const char *result)
{
    for (size_t i = 0; i < sizeof KINDS / sizeof *KINDS; i++)
        if (strcmp(KINDS[i].result, result) == 0)
            return &KINDS[i];
    return NULL;
}

bool cm_has_row(const char *result)
{
    return kind_of(result) != NULL;
}

cm_node *cm_row_of(cm_session *session, const char *result, const cm_node *tree, const char *file)
{
    const row_kind *kind = kind_of(result);
    const char *name = text_of(tree, "result");
    bool wrong = name && strcmp(name, "error") == 0;
    cm_node *row = cm_node_map(session);
    for (int i = 0; i < kind->count; i++)
        if (!wrong)
            kind->columns[i].add(session, row, kind->columns[i].key, tree);
        else
            cm_node_add_text(session, row, kind->columns[i].key, i ? NULL : "error");
    cm_node_add_text(session, row, "file", file);
    return row;
}

static const char *number_text(cm_session *session, double number, cm_cell cell)
{
    if (cell == PERCENT)
        return cm_percent(session, number);
    if (cell == DIGITS_4) /* what is left of nothing by rounding reads as nothing */
        return cm_digits(session, fabs(number) < 1e-9 ? 0 : number, 4);
    return cm_decimal(session, number, cell == DECIMALS_2 ? 2 : 0);
}

/* The first column stands to the left, and so does text of any length, after two blanks; the others to the right. */
static void add_cell(cm_text *out, const column *c, const char *shown, bool first)
{
    int columns = cm_columns(shown), blanks = c->width - columns;
    if (c->cell == WHOLE_TEXT || first) {
        cm_text_add_blanks(out, first ? 0 : 2);
        cm_text_add(out, shown);
        cm_text_add_blanks(out, blanks);
    } else {
        cm_text_add_blanks(out, blanks > 0 ? blanks : 1);
        cm_text_add(out, shown);
    }
}

static const char *cell_text(cm_session *session, const column *c, const cm_node *cell)
{
    if (cell->kind == CM_NUMBER)
        return number_text(session, cell->number, c->cell);
    const char *text = cell->kind == CM_TEXT ? cell->text : "-";
    return c->cell == WHOLE_TEXT ? cm_harmless(session, text) : cm_shorten(session, text, c->width - 1);
}

void cm_row_head(cm_text *out, const char *result)
{
    const row_kind *kind = kind_of(result);
    for (int i = 0; i < kind->count; i++)
        add_cell(out, &kind->columns[i], kind->columns[i].head, i == 0);
    cm_text_add(out, "  file\n");
}

void cm_row_line(cm_text *out, const char *result, const cm_node *row)
{
    const row_kind *kind = kind_of(result);
    const cm_node *cell = row->first;
    for (int i = 0; i < kind->count; i++, cell = cell->next)
        add_cell(out, &kind->columns[i], cell_text(out->session, &kind->columns[i], cell), i == 0);
    cm_text_print(out, "  %s\n", cm_harmless(out->session, cell->text));
}
