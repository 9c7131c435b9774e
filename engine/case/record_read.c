/* SPDX-License-Identifier: MIT */
/*
 * Reading influence records.
 *
 * A record has the form of a case file: the same conventions, units, ids and
 * coefficients, read by the same table. It lies in the folder of the case (or
 * below), or was named on the command line; nothing else is opened.
 */
#include "case/record.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include "base/file.h"

#include <math.h>
#include <string.h>

enum { MOST_BYTES = 32 * 1024 * 1024, MOST_RECORDS = 64 };

/* A factor that was written with the coefficients makes their uncertainty to the last digits. */
static const double SAME_SPREAD = 1e-6;

/* ---- coefficients ---- */

void cm_end_recorded(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    cm_known_entry *entry = record;
    bool given = cm_node_get(node, "uncertainty") != NULL;
    if (!given && !entry->exact)
        cm_wrong(reader, &node->place,
                 "this coefficient has no 'uncertainty'; give one, or write exact: true");
    else if (given && entry->exact)
        cm_wrong(reader, &node->place,
                 "this coefficient has an 'uncertainty' and is said to be exact; keep one of them");
    else
        cm_file_known(reader, entry, node);
}

/* ---- covariance ---- */

static int most_columns(const cm_reader *reader)
{
    return reader->c->plane_count + 1;
}

/* Root of the sum of squares of a line; NAN after an error. */
static double length_of_line(cm_reader *reader, const cm_node *line)
{
    double sum = 0;
    bool good = true;
    for (const cm_node *item = line->first; item; item = item->next) {
        cm_polar polar = {0, 0};
        good = cm_phasor_of(reader, "an entry of the factor", CM_MEASURE_VIBRATION, item, &polar) && good;
        sum = hypot(sum, polar.size);
    }
    return good ? sum : NAN;
}

/* The line must make the uncertainty that its coefficient has. */
static void check_line(cm_reader *reader, const cm_known_entry *entry, const cm_node *line, int plane)
{
    double spread = length_of_line(reader, line);
    const char *name = cm_triple_name(reader->session, plane, entry->speed, entry->sensor);
    int known = cm_index_find(&reader->coefficients, name);
    if (line->count == 0 || line->count > most_columns(reader)) {
        cm_wrong(reader, &line->place, "a line of the factor has 1 to %d entries, not %d",
                 most_columns(reader), line->count);
    } else if (known < 0) {
        cm_wrong(reader, &line->key_place,
                 "the factor has a line for %s, but the record has no coefficient of it here", line->key);
    } else if (!isnan(spread)) {
        double unit = reader->unit->factor,
               said = reader->c->known[known].uncertainty * reader->c->mass_unit->factor;
        if (fabs(spread - said) > SAME_SPREAD * said)
            cm_wrong(reader, &line->place,
                     "this line makes an uncertainty of %.6g, but the coefficient's is %.6g: one of them was "
                     "changed",
                     spread / unit, said / unit);
    }
}

void cm_read_factor(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const cm_known_entry *entry = record;
    if (!cm_need_map(reader, node, key->name))
        return;
    for (const cm_node *line = node->first; line; line = line->next) {
        int plane = cm_refer_key(reader, &reader->planes, "plane", line);
        if (cm_need_list(reader, line, "a line of the factor") && plane >= 0 && entry->speed >= 0 &&
            entry->sensor >= 0)
            check_line(reader, entry, line, plane);
    }
}

void cm_end_covariance(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    const cm_known_entry *entry = record;
    reader->unit = NULL;
    if (entry->speed < 0 || entry->sensor < 0)
        return;
    const char *name = cm_triple_name(reader->session, 0, entry->speed, entry->sensor);
    int earlier = cm_index_entry(&reader->records, name);
    if (earlier >= 0)
        cm_wrong(reader, &node->place, "the covariance of this speed and sensor is already given at line %d",
                 reader->records.places[earlier].line);
    else
        cm_index_add(reader->session, &reader->records, name, 0, node->place);
}

/* ---- the file ---- */

static void check_speeds(cm_reader *record)
{
    for (int k = 0; k < record->c->speed_count; k++)
        if (isnan(record->c->speeds[k].omega))
            cm_wrong(record, &record->c->speeds[k].place,
                     "speeds: the key 'speed' is missing; write, for example, speed: 3000");
}

const cm_case *cm_read_record(cm_reader *reader, const char *path, const char *bytes, size_t length)
{
    int first = reader->session->message_count;
    cm_reader *record = CM_NEW(reader->session, 1, cm_reader);
    record->session = reader->session;
    record->c = CM_NEW(reader->session, 1, cm_case);
    record->c->file = path;
    record->root = cm_yaml_read(reader->session, path, bytes, length);
    cm_errors_take(reader->session, &record->errors, first);
    cm_start_case(record);
    cm_check_sizes(record);
    cm_read_section(record, &CM_RECORD_FILE, record->root, record->c);
    check_speeds(record);
    for (int i = 0; i < record->errors.count; i++)
        cm_wrong(reader, &record->errors.items[i].place, "%s", record->errors.items[i].text);
    return record->errors.count ? NULL : record->c;
}

/* ---- where it lies ---- */

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* One of the files named on the command line, or NULL. */
static const char *named_file(const cm_session *session, const char *name)
{
    for (int i = 0; i < session->host.record_count; i++)
        if (!strcmp(session->host.records[i], name) || !strcmp(base_name(session->host.records[i]), name))
            return session->host.records[i];
    return NULL;
}

/* The path of a record that may be opened; NULL after an error. */
static const char *path_of(cm_reader *reader, const cm_node *name)
{
    const char *named = named_file(reader->session, name->text);
    const char *path = named ? named : cm_path_beside(reader->session, reader->c->file, name->text);
    if (!path || (!named && cm_path_strays(reader->c->file, path))) {
        cm_wrong(reader, &name->place,
                 "the record '%s' lies outside the folder of the case; name it on the command line with "
                 "--record-from %s",
                 name->text, name->text);
        return NULL;
    }
    if (cm_file_is_there(path))
        return path;
    cm_wrong(reader, &name->place, "the record '%s' cannot be opened: there is no file %s that may be read",
             name->text, path);
    return NULL;
}

static bool is_new(cm_reader *reader, const cm_node *name, const char *path)
{
    int earlier = cm_index_entry(&reader->records, path);
    if (earlier >= 0)
        cm_wrong(reader, &name->place, "the record '%s' is already named at line %d; it would count twice",
                 name->text, reader->records.places[earlier].line);
    else if (reader->records.count >= MOST_RECORDS)
        cm_wrong(reader, &name->place, "a case may name at most %d records", MOST_RECORDS);
    return earlier < 0 && reader->records.count < MOST_RECORDS;
}

void cm_add_record(cm_reader *reader, const cm_known_entry *entry)
{
    const char *path = path_of(reader, entry->record);
    if (!path || !is_new(reader, entry->record, path))
        return;
    cm_index_add(reader->session, &reader->records, path, 0, entry->record->place);
    size_t length;
    const char *bytes = cm_file_read(reader->session, path, MOST_BYTES, &length);
    cm_known_entry kept = *entry; /* the reader's entry at hand is used again below */
    const cm_case *record = cm_read_record(reader, path, bytes, length);
    if (record)
        cm_match_record(reader, record, &kept, reader->records.count);
}

/* A coefficient that the case itself gives wins over those of records. */
void cm_settle_records(cm_reader *reader)
{
    cm_case *c = reader->c;
    int kept = 0;
    for (int k = 0; k < c->known_count; k++) {
        const cm_coefficient *known = &c->known[k];
        const char *name = cm_triple_name(reader->session, known->plane, known->speed, known->sensor);
        if (known->record == 0 || cm_index_entry(&reader->coefficients, name) < 0)
            c->known[kept++] = *known;
    }
    c->known_count = kept;
}
