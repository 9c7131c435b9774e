/* SPDX-License-Identifier: MIT */
/* Every scalar is text until the table says what it is; here the text becomes a value or an error. */
#include "case/values.h"

#include "base/number.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

enum { LONGEST_UNIT = 24 };
/* Thousands of turns: beyond, no one meant it, and the digits of the angle are lost one by one. */
static const double MOST_DEGREES = 1e6;

/* ---- texts ---- */

bool cm_is_nothing(const cm_node *node)
{
    static const char *const words[] = {"", "~", "null", "Null", "NULL"};
    bool plain = node->kind == CM_TEXT && !node->quoted;
    for (size_t i = 0; plain && i < sizeof words / sizeof *words; i++)
        if (!strcmp(node->text, words[i]))
            return true;
    return false;
}

bool cm_lacks_blank(const cm_node *entry)
{
    return cm_is_nothing(entry) && strchr(entry->key, ':');
}

const char *cm_scalar(cm_reader *reader, const cm_node *node, const char *what)
{
    if (node->kind == CM_TEXT && *node->text && !cm_is_nothing(node))
        return node->text;
    if (node->kind != CM_TEXT)
        cm_wrong(reader, &node->place, "%s is needed here, not a %s", what,
                 node->kind == CM_MAP ? "map" : "list");
    else if (node->quoted)
        cm_wrong(reader, &node->place, "%s is needed here, but the text is empty", what);
    return NULL;
}

static bool has_control(const char *text)
{
    for (; *text; text++)
        if ((unsigned char)*text < 32 || *text == 127)
            return true;
    return false;
}

void cm_read_text(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *text = cm_scalar(reader, node, "a text");
    const char **slot = cm_slot(key, record);
    if (text && slot)
        *slot = text;
}

void cm_read_texts(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    (void)record;
    if (node->kind != CM_LIST)
        cm_scalar(reader, node, "a text or a list of texts");
    else
        for (const cm_node *item = node->first; item; item = item->next)
            cm_scalar(reader, item, "a text");
}

void cm_read_id(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *text = cm_scalar(reader, node, "an id");
    const char **slot = cm_slot(key, record);
    if (text && has_control(text))
        cm_wrong(reader, &node->place, "an id may not contain line breaks, tabs or other control characters");
    else if (text && slot)
        *slot = text;
}

void cm_read_boolean(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *text = cm_scalar(reader, node, "true or false");
    bool *slot = cm_slot(key, record);
    bool yes = text && !strcmp(text, "true");
    if (text && !yes && strcmp(text, "false") != 0)
        cm_wrong(reader, &node->place, "'%s' is neither true nor false; write %s: true or %s: false", text,
                 key->name, key->name);
    else if (text && slot)
        *slot = yes;
}

static const char *choice_list(cm_reader *reader, const char *const *choices, int count)
{
    cm_text list = {.session = reader->session};
    for (int i = 0; i < count; i++)
        cm_text_print(&list, "%s%s", i == 0 ? "" : i + 1 < count ? ", " : " or ", choices[i]);
    return list.bytes ? list.bytes : "";
}

void cm_read_choice(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int count = 0;
    while (key->choices[count])
        count++;
    const char *text = cm_scalar(
        reader, node, cm_format(reader->session, "one of %s", choice_list(reader, key->choices, count)));
    if (!text)
        return;
    int found = 0;
    while (found < count && strcmp(text, key->choices[found]) != 0)
        found++;
    int *slot = cm_slot(key, record);
    if (found == count) {
        const char *nearest = cm_nearest(text, key->choices, count);
        cm_wrong(reader, &node->place, "%s cannot be '%s'; %s %s%s", key->name, text,
                 nearest ? "did you mean" : "choose",
                 nearest ? nearest : choice_list(reader, key->choices, count), nearest ? "?" : "");
    } else if (slot) {
        *slot = found;
    }
}

/* ---- units ---- */

static bool fits(cm_measure measure, const cm_unit *own, cm_quantity quantity)
{
    if (measure == CM_MEASURE_ANY)
        return true;
    if (measure == CM_MEASURE_VIBRATION)
        return own ? quantity == own->quantity : cm_is_vibration(quantity);
    return measure != CM_MEASURE_PLAIN && measure != CM_MEASURE_DEGREES &&
           quantity == CM_MEASURES[measure].quantity;
}

/* "g, kg, oz or lb" */
static const char *unit_list(cm_reader *reader, cm_measure measure, const cm_unit *own)
{
    const char *names[64];
    int count = 0;
    for (const cm_unit *unit = CM_UNITS; unit->name && count < 64; unit++)
        if (fits(measure, own, unit->quantity))
            names[count++] = unit->name;
    return count ? choice_list(reader, names, count) : NULL;
}

static void wrong_unit(cm_reader *reader, const char *name, cm_measure measure, const cm_unit *own,
                       const char *text, const cm_place *place, bool known)
{
    const char *units = unit_list(reader, measure, own);
    if (!units)
        cm_wrong(reader, place, "%s is %s and takes no unit, but '%s' follows the number", name,
                 CM_MEASURES[measure].words, text);
    else if (known && own && measure == CM_MEASURE_VIBRATION)
        cm_wrong(reader, place,
                 "'%s' is the wrong kind of unit for %s: this sensor reads in %s, and displacement, "
                 "velocity and acceleration are never converted into each other; use %s",
                 text, name, own->name, units);
    else if (known)
        cm_wrong(reader, place, "'%s' is the wrong kind of unit for %s; %s is %s: use %s", text, name, name,
                 CM_MEASURES[measure].words, units);
    else
        cm_wrong(reader, place, "'%s' is not a unit for %s: use %s", text, name, units);
}

void cm_read_unit(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *text = cm_scalar(reader, node, "the name of a unit");
    if (!text)
        return;
    const cm_unit *unit = cm_unit_find(text);
    const cm_unit **slot = cm_slot(key, record);
    if (!unit || !fits(key->measure, NULL, unit->quantity))
        wrong_unit(reader, key->name, key->measure, NULL, text, &node->place, unit != NULL);
    else if (slot)
        *slot = unit;
}

static double bare_factor(const cm_reader *reader, cm_measure measure)
{
    const cm_measure_row *row = &CM_MEASURES[measure];
    const cm_unit *unit = measure == CM_MEASURE_VIBRATION ? reader->unit : NULL;
    if (!unit && row->unit != CM_NOWHERE)
        unit = *(const cm_unit *const *)(const void *)((const char *)reader->c + row->unit);
    return unit ? unit->factor : row->factor;
}

/* ---- numbers ---- */

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\t')
        text++;
    return text;
}

static void not_a_number(cm_reader *reader, const char *name, cm_measure measure, const char *text,
                         const cm_place *place)
{
    static const char *const odd[] = {"nan",   ".nan", ".NaN",     "NaN",     "inf",  ".inf",
                                      "-.inf", "-inf", "Infinity", "+.inf",   ".Inf", ".NAN",
                                      ".INF",  "NAN",  "INF",      "infinity"};
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++)
        if (!strcmp(text, odd[i])) {
            cm_wrong(reader, place, "%s must be a finite number, not '%s'", name, text);
            return;
        }
    cm_wrong(reader, place, "'%s' is not a number; %s is %s, written like 12, 0.5 or 1.2e3", text, name,
             CM_MEASURES[measure].words);
}

/* Products of a few such sizes, and their squares, neither overflow nor vanish. */
static bool can_be_reckoned_with(double value)
{
    double size = fabs(value);
    return size <= 0 || (size >= 1e-30 && size <= 1e30);
}

/* One number, leading blanks allowed; returns where it stops, NULL after an error. */
static const char *plain_number(cm_reader *reader, const char *name, cm_measure measure, const char *text,
                                const cm_place *place, double *value)
{
    const char *end = cm_number_read(skip_blanks(text), value);
    if (!end) {
        not_a_number(reader, name, measure, text, place);
        return NULL;
    }
    if (!isfinite(*value)) {
        cm_wrong(reader, place, "%s: the number '%s' is too large", name, text);
        return NULL;
    }
    if (measure != CM_MEASURE_DEGREES && !can_be_reckoned_with(*value)) {
        cm_wrong(reader, place, "%s: the number '%s' is too %s; sizes are 0 or between 1e-30 and 1e30", name,
                 text, fabs(*value) > 1 ? "large" : "small");
        return NULL;
    }
    if (*end == ',' && end[1] >= '0' && end[1] <= '9') {
        cm_wrong(reader, place, "'%s': the decimal sign is a point, not a comma", text);
        return NULL;
    }
    if (*end == '.' || *end == '_' || (*end >= '0' && *end <= '9')) {
        not_a_number(reader, name, measure, text, place);
        return NULL;
    }
    return end;
}

/* The unit that ends at `stop` (trailing blanks cut): multiplies the value. */
static bool apply_unit(cm_reader *reader, const char *name, cm_measure measure, const char *from,
                       const char *stop, const cm_place *place, double *value)
{
    from = skip_blanks(from);
    while (stop > from && (stop[-1] == ' ' || stop[-1] == '\t'))
        stop--;
    size_t length = (size_t)(stop - from);
    if (length == 0) {
        *value *= bare_factor(reader, measure);
        return true;
    }
    char text[LONGEST_UNIT + 1] = {0};
    memcpy(text, from, length < LONGEST_UNIT ? length : LONGEST_UNIT);
    const cm_unit *own = measure == CM_MEASURE_VIBRATION ? reader->unit : NULL;
    const cm_unit *unit = length < LONGEST_UNIT ? cm_unit_find(text) : NULL;
    if (!unit || !fits(measure, own, unit->quantity)) {
        wrong_unit(reader, name, measure, own, text, place, unit != NULL);
        return false;
    }
    *value *= unit->factor;
    return true;
}

static bool in_range(cm_reader *reader, const char *name, cm_measure measure, cm_range range,
                     const char *text, const cm_place *place, double value)
{
    const cm_range_row *row = &CM_RANGES[range];
    bool inside =
        isfinite(value) && value >= row->least && value <= row->most && !(row->open && value == row->least);
    if (!inside)
        cm_wrong(reader, place, "%s must be %s, not '%s'", name, row->words, text);
    bool meant = measure != CM_MEASURE_DEGREES || fabs(value) <= MOST_DEGREES;
    if (inside && !meant)
        cm_wrong(reader, place, "%s: '%s' is surely a mistake: an angle lies between -1e6 and 1e6 degrees",
                 name, text);
    return inside && meant;
}

bool cm_number_of(cm_reader *reader, const char *name, cm_measure measure, cm_range range,
                  const cm_node *node, double *value)
{
    const char *text = cm_scalar(reader, node, CM_MEASURES[measure].words);
    double found = 0;
    const char *end = text ? plain_number(reader, name, measure, text, &node->place, &found) : NULL;
    if (!end)
        return false;
    if (strchr(end, '@')) {
        cm_wrong(reader, &node->place, "%s is %s without an angle, but '%s' has one", name,
                 CM_MEASURES[measure].words, text);
        return false;
    }
    if (!apply_unit(reader, name, measure, end, end + strlen(end), &node->place, &found) ||
        !in_range(reader, name, measure, range, text, &node->place, found))
        return false;
    *value = found;
    return true;
}

void cm_read_number(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double value;
    double *slot = cm_slot(key, record);
    if (cm_number_of(reader, key->name, key->measure, key->range, node, &value) && slot)
        *slot = value;
}

/* ---- phasors ---- */

static bool phasor_angle(cm_reader *reader, const char *name, const char *from, const cm_node *node,
                         double *degrees)
{
    const char *end =
        plain_number(reader, "the angle after @", CM_MEASURE_DEGREES, from, &node->place, degrees);
    if (!end)
        return false;
    if (*skip_blanks(end)) {
        cm_wrong(reader, &node->place, "%s: '%s' follows the angle, which is in degrees and ends the phasor",
                 name, skip_blanks(end));
        return false;
    }
    if (fabs(*degrees) > MOST_DEGREES) /* the format takes any finite angle here, modulo 360 */
        cm_report(
            reader->session, CM_WARNING, &node->place,
            "%s: the angle after @ is thousands of turns, in '%s', and is taken modulo 360; is it a mistake?",
            name, node->text);
    return true;
}

bool cm_phasor_of(cm_reader *reader, const char *name, cm_measure measure, const cm_node *node,
                  cm_polar *polar)
{
    const char *text = cm_scalar(reader, node, "a phasor such as 82 @ 143");
    if (!text)
        return false;
    const char *at = strchr(text, '@');
    if (!at) {
        cm_wrong(reader, &node->place, "%s: '%s' has no angle; write size @ degrees, such as 82 @ 143", name,
                 text);
        return false;
    }
    cm_polar found = {0, 0};
    const char *end = plain_number(reader, name, measure, text, &node->place, &found.size);
    if (!end)
        return false;
    if (end > at || !apply_unit(reader, name, measure, end, at, &node->place, &found.size) ||
        !in_range(reader, name, measure, CM_NOT_NEGATIVE, text, &node->place, found.size) ||
        !phasor_angle(reader, name, at + 1, node, &found.degrees))
        return false;
    *polar = found;
    return true;
}

void cm_read_phasor(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_polar polar;
    cm_polar *slot = cm_slot(key, record);
    if (cm_phasor_of(reader, key->name, key->measure, node, &polar) && slot)
        *slot = polar;
}
