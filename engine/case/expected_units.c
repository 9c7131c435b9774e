/* SPDX-License-Identifier: MIT */
/*
 * Units of what a case expects. One tolerance may stand for several fields: each of them must be able to take its unit.
 * A field without a unit of its own takes what its value is written in, or none; angles are in degrees and take none.
 */
#include "case/sections.h"
#include "case/values.h"

#include "base/number.h"
#include "model/expected.h"

#include <math.h>
#include <string.h>

typedef struct walk {
    cm_reader *reader;
    const char *sensor;  /* that the item at hand names; NULL: none */
    const cm_node *told; /* the tolerance that was refused last: once is enough */
} walk;

/* What follows the number: "" for a bare one, NULL where there is no number. */
static const char *unit_text(const cm_node *node, double *value)
{
    const char *rest = node && node->kind == CM_TEXT ? cm_number_read(node->text, value) : NULL;
    return rest ? rest + strspn(rest, " ") : NULL;
}

/* The unit of a size: before the angle of a phasor. */
static const cm_unit *unit_written(cm_session *session, const cm_node *node)
{
    double value;
    const char *text = unit_text(node, &value);
    size_t length = text ? strcspn(text, "@") : 0;
    while (length > 0 && text[length - 1] == ' ')
        length--;
    return length > 0 ? cm_unit_find(cm_copy_text(session, text, length)) : NULL;
}

static const cm_unit *unit_for(const walk *w, const char *key, const cm_node *expected)
{
    const cm_unit *unit = cm_expected_unit(w->reader->c, key, w->sensor);
    return unit || cm_expected_angle(key) ? unit : unit_written(w->reader->session, expected);
}

static void check_tolerance(walk *w, const char *key, const cm_node *expected, const cm_node *tolerance)
{
    const cm_node *own = tolerance && tolerance->kind == CM_MAP ? cm_node_get(tolerance, key) : tolerance;
    double value;
    const char *text = unit_text(own, &value);
    if (!text || !*text || strcmp(text, "%") == 0 || own == w->told)
        return;
    const cm_unit *given = cm_unit_find(text), *unit = unit_for(w, key, expected);
    if (given && unit && given->quantity == unit->quantity)
        return;
    w->told = own;
    const char *words = cm_expected_angle(key) ? "degrees and takes no unit" : unit ? unit->name : "no unit";
    cm_wrong(
        w->reader, &own->place,
        "a tolerance in %s does not fit '%s', which is in %s; write a percentage, or one tolerance a field, "
        "such as tolerance: {mass: 0.1, angle: 2}",
        text, key, words);
}

static bool is_zero(const cm_node *node)
{
    double value;
    return unit_text(node, &value) && !(fabs(value) > 0);
}

static void check_map(walk *w, const cm_node *map, const cm_node *tolerance);

static void check_entry(walk *w, const cm_node *entry, const cm_node *tolerance)
{
    if (entry->kind == CM_MAP) {
        check_map(w, entry, tolerance);
    } else if (entry->kind == CM_LIST) {
        for (const cm_node *item = entry->first; item; item = item->next) {
            const cm_node *sensor = item->kind == CM_MAP ? cm_node_get(item, "sensor") : NULL;
            w->sensor = sensor && sensor->kind == CM_TEXT ? sensor->text : NULL;
            check_entry(w, item, tolerance);
        }
        w->sensor = NULL;
    } else if (strchr(entry->text, '@')) {
        check_tolerance(w, "amplitude", entry, tolerance);
        if (!is_zero(entry))
            check_tolerance(w, "phase", entry, tolerance);
    } else if (unit_text(entry, &(double){0})) {
        check_tolerance(w, entry->key, entry, tolerance);
    }
}

/* Beside a size of 0 no angle is compared. */
static void check_map(walk *w, const cm_node *map, const cm_node *tolerance)
{
    const cm_node *own = cm_node_get(map, "tolerance");
    bool no_angle = is_zero(cm_node_get(map, "mass")) || is_zero(cm_node_get(map, "amplitude"));
    for (const cm_node *entry = map->first; entry; entry = entry->next)
        if (strcmp(entry->key, "tolerance") != 0 && !(no_angle && cm_expected_angle(entry->key)))
            check_entry(w, entry, own ? own : tolerance);
}

void cm_check_expected(cm_reader *reader)
{
    walk w = {.reader = reader};
    if (reader->c->expected && reader->errors.count == 0)
        check_map(&w, reader->c->expected, NULL);
}
