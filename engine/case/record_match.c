/* SPDX-License-Identifier: MIT */
/*
 * What a case can use of a record.
 *
 * Both are in SI and one frame (angles with rotation from the reference mark,
 * phase lead), so units, conventions and the planes' own zeros are converted
 * by being read. What remains: ids are matched; a mass m at radius r of the
 * case is the unbalance of a mass m·r/R at the record's radius R, so
 *
 *     A(case) = A(record)·r/R,      u² = (u(record)·r/R)² + (the case's own `uncertainty`)²
 *
 * and what describes another rotor is refused.
 */
#include "case/record.h"
#include "case/sections.h"

#include "base/constants.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* Speeds of one id may differ by so much of the case's: more, and near a resonance the coefficients are others. */
static const double SAME_SPEED = 0.01;

static const double SAME_ANGLE = CM_PI / 180; /* of a sensor that both places */

typedef struct match {
    cm_reader *reader;
    const cm_case *record;
    const cm_known_entry *entry;
    int *plane, *speed, *sensor; /* of the record: number in the case, -1: not there */
    double *scale;               /* planes of the record: r/R */
    cm_index taken;              /* coefficients of the case that this record has given */
} match;

/* ---- conventions ---- */

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

static void check_rotation(const match *m)
{
    const cm_case *c = m->reader->c, *record = m->record;
    cm_place whole = {record->file, 1, 1};
    if (c->rotation && record->rotation && c->rotation != record->rotation &&
        same_text(c->seen_from, record->seen_from))
        cm_wrong(m->reader, &whole, "this record is of a rotor that turns the other way");
}

/* ---- speeds ---- */

static void check_speed(const match *m, const cm_speed *theirs, const cm_speed *ours)
{
    double unit = m->reader->c->speed_unit->factor;
    if (fabs(theirs->omega - ours->omega) > SAME_SPEED * ours->omega)
        cm_wrong(m->reader, &theirs->place,
                 "the record's speed '%s' is %.6g %s, the case's is %.6g %s: they differ by more than %g %%",
                 theirs->id, theirs->omega / unit, m->reader->c->speed_unit->name, ours->omega / unit,
                 m->reader->c->speed_unit->name, 100 * SAME_SPEED);
}

/* ---- sensors ---- */

static bool turned_away(double a, double b)
{
    return fabs(remainder(a - b, 2 * CM_PI)) > SAME_ANGLE; /* false when one is not given */
}

static void check_sensor(const match *m, const cm_sensor *theirs, const cm_sensor *ours)
{
    if (theirs->unit->quantity != ours->unit->quantity)
        cm_wrong(m->reader, &theirs->place,
                 "the record's sensor '%s' reads in %s, the case's in %s: displacement, velocity and "
                 "acceleration are "
                 "never converted into each other",
                 theirs->id, theirs->unit->name, ours->unit->name);
    else if (theirs->kind && ours->kind && theirs->kind != ours->kind)
        cm_wrong(m->reader, &theirs->place, "the record's sensor '%s' is of another kind than the case's",
                 theirs->id);
    else if (turned_away(theirs->angle, ours->angle))
        cm_wrong(m->reader, &theirs->place, "the record's sensor '%s' sits at another angle than the case's",
                 theirs->id);
}

/* ---- planes ---- */

static double scale_of(const match *m, const cm_plane *theirs, const cm_plane *ours)
{
    double length = m->reader->c->length_unit->factor;
    const char *unit = m->reader->c->length_unit->name;
    if (isnan(theirs->radius) && isnan(ours->radius))
        return 1;
    if (isnan(theirs->radius))
        cm_wrong(m->reader, &theirs->place,
                 "the record's plane '%s' has no radius, the case's has %.6g %s: they cannot be compared",
                 theirs->id, ours->radius / length, unit);
    else if (isnan(ours->radius))
        cm_wrong(m->reader, &theirs->place,
                 "the record's plane '%s' has a radius of %.6g %s, the case's has none; give the case's "
                 "plane its radius",
                 theirs->id, theirs->radius / length, unit);
    else
        return ours->radius / theirs->radius;
    return 1;
}

/* ---- ids ---- */

static void note_unknown(const match *m, const char *what, cm_text *names)
{
    cm_place whole = {m->record->file, 1, 1};
    if (names->bytes)
        cm_report(m->reader->session, CM_NOTE, &whole, "the case does not have these %ss of the record: %s",
                  what, names->bytes);
}

/* Number in the case, or -1 and one name more in the list. */
static int find(const cm_index *index, const char *id, cm_text *unknown)
{
    int number = cm_index_find(index, id);
    if (number < 0)
        cm_text_print(unknown, "%s%s", unknown->bytes ? ", " : "", id);
    return number;
}

static void match_speeds(match *m)
{
    cm_text unknown = {.session = m->reader->session};
    m->speed = CM_NEW(m->reader->session, m->record->speed_count, int);
    for (int k = 0; k < m->record->speed_count; k++) {
        const cm_speed *theirs = &m->record->speeds[k];
        m->speed[k] = find(&m->reader->speeds, theirs->id, &unknown);
        if (m->speed[k] >= 0)
            check_speed(m, theirs, &m->reader->c->speeds[m->speed[k]]);
    }
    note_unknown(m, "speed", &unknown);
}

static void match_sensors(match *m)
{
    cm_text unknown = {.session = m->reader->session};
    m->sensor = CM_NEW(m->reader->session, m->record->sensor_count, int);
    for (int k = 0; k < m->record->sensor_count; k++) {
        const cm_sensor *theirs = &m->record->sensors[k];
        m->sensor[k] = find(&m->reader->sensors, theirs->id, &unknown);
        if (m->sensor[k] >= 0)
            check_sensor(m, theirs, &m->reader->c->sensors[m->sensor[k]]);
    }
    note_unknown(m, "sensor", &unknown);
}

static void match_planes(match *m)
{
    cm_text unknown = {.session = m->reader->session};
    m->plane = CM_NEW(m->reader->session, m->record->plane_count, int);
    m->scale = CM_NEW(m->reader->session, m->record->plane_count, double);
    for (int k = 0; k < m->record->plane_count; k++) {
        const cm_plane *theirs = &m->record->planes[k];
        m->plane[k] = find(&m->reader->planes, theirs->id, &unknown);
        if (m->plane[k] >= 0)
            m->scale[k] = scale_of(m, theirs, &m->reader->c->planes[m->plane[k]]);
    }
    note_unknown(m, "plane", &unknown);
}

/* ---- sets ---- */

static double complex ratio_of(const cm_bundle *set, int plane)
{
    for (int t = 0; t < set->count; t++)
        if (set->terms[t].plane == plane)
            return set->terms[t].factor;
    return 0;
}

/* Ratios of sets that agree to this share of each other are the same. */
static const double SAME_RATIO = 1e-9;

/* What a unit of the case's set is in units of the record's, which has the same planes in the same ratios once radii are
 * allowed for; 0 when it does not. */
static double complex units_of(const match *m, const cm_bundle *theirs, const cm_bundle *ours)
{
    double complex units = 0;
    if (theirs->count != ours->count)
        return 0;
    for (int t = 0; t < theirs->count; t++) {
        int plane = theirs->terms[t].plane;
        double complex own = m->plane[plane] < 0 ? 0 : ratio_of(ours, m->plane[plane]);
        double complex here = own * m->scale[plane] / theirs->terms[t].factor;
        if (t == 0)
            units = here;
        if (cabs(here - units) > SAME_RATIO * cabs(units))
            return 0;
    }
    return units;
}

/* Number of a set of the record among the planes and sets of the case, or -1. */
static int match_set(const match *m, int set, double complex *units)
{
    const cm_bundle *theirs = &m->record->sets[set];
    int number = cm_index_find(&m->reader->sets, theirs->id);
    *units = number < 0 ? 0 : units_of(m, theirs, &m->reader->c->sets[number]);
    return cabs(*units) > 0 ? m->reader->c->plane_count + number : -1;
}

/* ---- coefficients ---- */

/* The record's spread and what the case adds to it, for one coefficient. */
static void widen(const match *m, cm_coefficient *known)
{
    cm_reader *reader = m->reader;
    double mass = reader->c->mass_unit->factor;
    cm_known_entry added = {.value = {cabs(known->value) * mass, 0}};
    const cm_node *node = m->entry->widen;
    bool is_relative = node->kind == CM_MAP || (node->kind == CM_TEXT && strchr(node->text, '%'));
    if (is_relative && added.value.size <= 0)
        return; /* a share of nothing */
    reader->unit = reader->c->sensors[known->sensor].unit;
    cm_read_uncertainty(reader, m->entry->widen_key, node, &added);
    reader->unit = NULL;
    double own = known->uncertainty, more = added.uncertainty / mass, both = hypot(own, more);
    if (!(both > 0))
        return;
    known->uncertainty = both;
    known->common =
        fmin(1, own / both * (own / both) * known->common + more / both * (more / both) * added.common);
}

static bool take(match *m, const cm_coefficient *theirs, int number)
{
    cm_case *c = m->reader->c;
    cm_coefficient known = *theirs;
    double complex units = 1;
    bool is_set = theirs->plane >= m->record->plane_count;
    known.plane =
        is_set ? match_set(m, theirs->plane - m->record->plane_count, &units) : m->plane[theirs->plane];
    if (!is_set)
        units = m->scale[theirs->plane];
    known.speed = m->speed[theirs->speed];
    known.sensor = m->sensor[theirs->sensor];
    if (known.plane < 0 || known.speed < 0 || known.sensor < 0)
        return false;
    known.speed = c->speeds[known.speed].root; /* coefficients belong to all states of a speed */
    const char *name = cm_triple_name(m->reader->session, known.plane, known.speed, known.sensor);
    if (cm_index_entry(&m->taken, name) >= 0)
        return false;
    cm_index_add(m->reader->session, &m->taken, name, 0, theirs->place);
    known.value *= units;
    known.uncertainty *= cabs(units);
    known.record = number;
    if (m->entry->widen)
        widen(m, &known);
    if (!isfinite(cabs(known.value)) || !isfinite(known.uncertainty))
        cm_wrong(m->reader, &theirs->place,
                 "this coefficient is too large at the radius of the case's plane");
    c->known = cm_grow(m->reader->session, c->known, c->known_count, &c->known_room, sizeof *c->known);
    c->known[c->known_count++] = known;
    return true;
}

void cm_match_record(cm_reader *reader, const cm_case *record, const cm_known_entry *entry, int number)
{
    match m = {.reader = reader, .record = record, .entry = entry};
    int errors = reader->errors.count, taken = 0;
    check_rotation(&m);
    match_speeds(&m);
    match_sensors(&m);
    match_planes(&m);
    for (int k = 0; k < record->known_count && reader->errors.count == errors; k++)
        taken += take(&m, &record->known[k], number);
    if (taken == 0 && reader->errors.count == errors)
        cm_wrong(reader, &entry->record->place,
                 "the record '%s' has no coefficient for a plane, speed and sensor of this case",
                 entry->record->text);
}
