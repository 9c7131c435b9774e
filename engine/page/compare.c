/* SPDX-License-Identifier: MIT */
/*
 * Comparing an expected tree with a found one.
 *
 *   number   |expected - found| ≤ t; t as stated, or share·|expected| for a
 *            relative tolerance (share·1 where 0 is expected)
 *   angle    the difference modulo 360; a relative tolerance is a share of a
 *            radian, the angle by which a phasor of that relative error turns
 *   phasor   size and angle one by one; the angle is left out when the
 *            expected size is 0
 *   words    equal
 */
#include "page/compare.h"

#include "base/number.h"
#include "model/expected.h"

#include <math.h>
#include <string.h>

static const double DEGREES_A_RADIAN = 57.295779513082323;

/* Keys that say which item of a list is meant. */
static const char *const IDENTITY[] = {"speed", "sensor", "plane", "run", "code", "id"};
enum { IDENTITIES = sizeof IDENTITY / sizeof *IDENTITY };

static bool is_identity(const char *key)
{
    for (int i = 0; i < IDENTITIES; i++)
        if (strcmp(key, IDENTITY[i]) == 0)
            return true;
    return false;
}

static const cm_node *child(const cm_node *node, const char *key)
{
    return node && node->kind == CM_MAP ? cm_node_get(node, key) : NULL;
}

/* ---- numbers ---- */

static const cm_unit *unit_of(const cm_case *c, const char *key, const cm_node *item)
{
    const cm_node *sensor = child(item, "sensor");
    return cm_expected_unit(c, key, sensor ? sensor->text : NULL);
}

/* Reads "10.06", "10.06 oz", "0.5 %"; `unit` is what a bare number stands in. */
static bool read_number(const char *text, const cm_unit *unit, double *value, bool *percent)
{
    const char *rest = cm_number_read(text, value);
    if (!rest)
        return false;
    rest += strspn(rest, " ");
    *percent = strcmp(rest, "%") == 0;
    if (!*rest || *percent)
        return true;
    const cm_unit *own = cm_unit_find(rest);
    if (own && unit && own->quantity == unit->quantity)
        *value *= own->factor / unit->factor;
    return own != NULL;
}

static double tolerance_for(const char *key, const cm_node *tolerance, const cm_unit *unit, double expected)
{
    double value = 0, share = CM_DEFAULT_TOLERANCE;
    bool percent = false;
    const cm_node *own = tolerance && tolerance->kind == CM_MAP ? cm_node_get(tolerance, key) : tolerance;
    if (own && own->kind == CM_TEXT && read_number(own->text, unit, &value, &percent)) {
        if (!percent)
            return value;
        share = value / 100;
    }
    if (cm_expected_angle(key))
        return share * DEGREES_A_RADIAN;
    return share * (fabs(expected) > 0 ? fabs(expected) : 1);
}

static double difference(const char *key, double a, double b)
{
    return cm_expected_angle(key) ? fabs(remainder(a - b, 360)) : fabs(a - b);
}

/* ---- checks ---- */

static cm_node *open_check(cm_comparison *c, const char *what)
{
    cm_node *check = cm_node_add_map(c->session, c->checks, NULL);
    cm_node_add_text(c->session, check, "what", what);
    return check;
}

static void close_check(cm_comparison *c, cm_node *check, double tolerance, bool pass)
{
    cm_node_add_number(c->session, check, "tolerance", tolerance);
    cm_node_add_boolean(c->session, check, "pass", pass);
    c->failed += !pass;
}

static void compare_number(cm_comparison *c, const char *what, const char *key, double expected,
                           const cm_node *found, double tolerance)
{
    bool is_number = found && found->kind == CM_NUMBER && isfinite(found->number);
    cm_node *check = open_check(c, what);
    cm_node_add_number(c->session, check, "expected", expected);
    cm_node_add_number(c->session, check, "found", is_number ? found->number : NAN);
    close_check(c, check, tolerance, is_number && difference(key, expected, found->number) <= tolerance);
}

static const char *words_of(const cm_node *found)
{
    if (!found)
        return NULL;
    if (found->kind == CM_BOOLEAN)
        return found->truth ? "true" : "false";
    bool nothing = found->kind == CM_NULL || (found->kind == CM_NUMBER && !isfinite(found->number));
    return nothing ? "null" : found->kind == CM_TEXT ? found->text : NULL;
}

static void compare_words(cm_comparison *c, const char *what, const char *expected, const cm_node *found)
{
    const char *words = words_of(found);
    cm_node *check = open_check(c, what);
    cm_node_add_text(c->session, check, "expected", expected);
    cm_node_add_text(c->session, check, "found", words);
    close_check(c, check, NAN, words && strcmp(words, expected) == 0);
}

/* ---- trees ---- */

static void compare_scalar(cm_comparison *c, const char *what, const char *key, const char *expected,
                           const cm_node *found, const cm_node *tolerance, const cm_unit *unit)
{
    double value;
    bool percent;
    if (read_number(expected, unit, &value, &percent) && (!found || found->kind != CM_TEXT))
        compare_number(c, what, key, value, found, tolerance_for(key, tolerance, unit, value));
    else
        compare_words(c, what, expected, found);
}

/* "0.42 @ 210" against {amplitude, phase}. */
static void compare_phasor(cm_comparison *c, const char *what, const char *expected, const cm_node *found,
                           const cm_node *tolerance, const cm_unit *unit)
{
    size_t length = strcspn(expected, "@");
    const char *size = cm_copy_text(c->session, expected, length);
    double amplitude = 0;
    cm_number_read(size, &amplitude);
    compare_scalar(c, cm_format(c->session, "%s amplitude", what), "amplitude", size,
                   child(found, "amplitude"), tolerance, unit);
    const char *phase = expected + length + (expected[length] == '@');
    phase += strspn(phase, " ");
    if (*phase && fabs(amplitude) > 0)
        compare_scalar(c, cm_format(c->session, "%s phase", what), "phase", phase, child(found, "phase"),
                       tolerance, NULL);
}

/* True when the map holds an expected size of 0, beside which no angle is compared. */
static bool size_is_zero(const cm_node *map)
{
    static const char *const sizes[] = {"mass", "amplitude"};
    for (int i = 0; i < 2; i++) {
        double value;
        const cm_node *size = cm_node_get(map, sizes[i]);
        if (size && size->kind == CM_TEXT && cm_number_read(size->text, &value) && !(fabs(value) > 0))
            return true;
    }
    return false;
}

static void compare_map(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                        const cm_node *tolerance, const cm_node *item);

static void compare_entry(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                          const cm_node *tolerance, const cm_node *item)
{
    const cm_unit *unit = unit_of(c->given, expected->key, item);
    if (expected->kind == CM_MAP)
        compare_map(c, what, expected, found, tolerance, item);
    else if (expected->kind == CM_LIST)
        cm_compare(c, what, expected, found, tolerance);
    else if (strchr(expected->text, '@'))
        compare_phasor(c, what, expected->text, found, tolerance, unit);
    else
        compare_scalar(c, what, expected->key, expected->text, found, tolerance, unit);
}

static void compare_map(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                        const cm_node *tolerance, const cm_node *item)
{
    const cm_node *own = cm_node_get(expected, "tolerance");
    bool skip_angle = size_is_zero(expected);
    for (const cm_node *entry = expected->first; entry; entry = entry->next) {
        if (is_identity(entry->key) || strcmp(entry->key, "tolerance") == 0 ||
            (skip_angle && cm_expected_angle(entry->key)))
            continue;
        compare_entry(c, cm_format(c->session, "%s %s", what, entry->key), entry, child(found, entry->key),
                      own ? own : tolerance, item);
    }
}

/* The found item that names the same ids. */
static const cm_node *matching(const cm_node *list, const cm_node *expected)
{
    for (const cm_node *item = list && list->kind == CM_LIST ? list->first : NULL; item; item = item->next) {
        bool same = true;
        for (int i = 0; i < IDENTITIES && same; i++) {
            const cm_node *wanted = child(expected, IDENTITY[i]), *given = child(item, IDENTITY[i]);
            same = !wanted || (given && given->kind == CM_TEXT && strcmp(wanted->text, given->text) == 0);
        }
        if (same)
            return item;
    }
    return NULL;
}

static const char *item_name(cm_session *session, const char *what, const cm_node *item)
{
    for (int i = 0; i < IDENTITIES; i++)
        if (child(item, IDENTITY[i]))
            what = cm_format(session, "%s %s", what, child(item, IDENTITY[i])->text);
    return what;
}

/* An item that only names ids promises that it is there. */
static bool only_identity(const cm_node *item)
{
    for (const cm_node *entry = item->first; entry; entry = entry->next)
        if (!is_identity(entry->key))
            return false;
    return true;
}

static void compare_item(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                         const cm_node *tolerance)
{
    if (!only_identity(expected)) {
        compare_map(c, what, expected, found, tolerance, expected);
        return;
    }
    cm_node *check = open_check(c, what);
    cm_node_add_text(c->session, check, "expected", "listed");
    cm_node_add_text(c->session, check, "found", found ? "listed" : NULL);
    close_check(c, check, NAN, found != NULL);
}

void cm_compare(cm_comparison *c, const char *what, const cm_node *expected, const cm_node *found,
                const cm_node *tolerance)
{
    if (expected->kind == CM_MAP)
        compare_map(c, what, expected, found, tolerance, expected);
    else if (expected->kind != CM_LIST)
        compare_entry(c, what, expected, found, tolerance, expected);
    for (const cm_node *item = expected->kind == CM_LIST ? expected->first : NULL; item; item = item->next)
        if (item->kind == CM_MAP)
            compare_item(c, item_name(c->session, what, item), item, matching(found, item), tolerance);
}
