/* SPDX-License-Identifier: MIT */
/* From the bytes of a case file to a checked case. */
#include "case/sections.h"

#include "base/file.h"

#include <string.h>

enum { MOST_BYTES = 32 * 1024 * 1024 };

static const char *file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash && slash[1] ? slash + 1 : path;
}

/* Rows are the (sensor, speed) pairs that a run read, by speed, then sensor. */
static void number_rows(cm_session *session, cm_case *c)
{
    int pairs = c->sensor_count * c->speed_count;
    c->row_of = CM_NEW(session, pairs, int);
    c->row_sensor = CM_NEW(session, pairs, int);
    c->row_speed = CM_NEW(session, pairs, int);
    for (int k = 0; k < c->run_count; k++)
        for (int r = 0; r < c->runs[k].reading_count && !c->runs[k].turned; r++)
            c->row_of[c->runs[k].readings[r].sensor + c->sensor_count * c->runs[k].readings[r].speed] = 1;
    for (int p = 0; p < pairs; p++) {
        bool is_read = c->row_of[p];
        c->row_of[p] = is_read ? c->row_count : -1;
        if (!is_read)
            continue;
        c->row_sensor[c->row_count] = p % c->sensor_count;
        c->row_speed[c->row_count++] = p / c->sensor_count;
    }
}

/* A record given where a case belongs would be told of every one of its keys. */
static void refuse_record(cm_reader *reader, const cm_node *root)
{
    const cm_node *record = root->kind == CM_MAP ? cm_node_get(root, "record") : NULL;
    if (!record || cm_node_get(root, "case"))
        return;
    cm_wrong(reader, &record->key_place,
             "this is an influence record, not a case; a case uses it with influence: [{record: %s}]",
             file_name(reader->c->file));
    cm_errors_fail(reader->session, &reader->errors);
}

static const cm_case *read_case(cm_session *session, const char *name, const char *bytes, size_t length)
{
    int first = session->message_count;
    cm_reader *reader = CM_NEW(session, 1, cm_reader);
    cm_case *c = CM_NEW(session, 1, cm_case);
    reader->session = session;
    reader->c = c;
    c->file = cm_copy_text(session, name, strlen(name));
    c->title = file_name(c->file);
    c->source = cm_copy_text(session, bytes, length);
    cm_node *root = cm_yaml_read(session, c->file, bytes, length);
    cm_errors_take(session, &reader->errors, first);
    reader->root = root;
    refuse_record(reader, root);
    cm_start_case(reader);
    cm_check_sizes(reader);
    cm_read_section(reader, &CM_CASE_FILE, root, c);
    cm_apply_zone(reader);
    cm_settle_records(reader);
    cm_check_expected(reader);
    cm_errors_fail(session, &reader->errors);
    if (!c->goal.use)
        cm_start_goal(reader);
    number_rows(session, c);
    cm_number_orbits(session, c);
    return c;
}

cm_status cm_case_read(cm_session *session, const char *path, const cm_case **out)
{
    CM_ENTER(session);
    size_t length;
    const char *bytes = cm_file_read(session, path, MOST_BYTES, &length);
    *out = read_case(session, path, bytes, length);
    return cm_leave(session);
}

cm_status cm_case_parse(cm_session *session, const char *name, const char *bytes, size_t length,
                        const cm_case **out)
{
    CM_ENTER(session);
    *out = read_case(session, name, bytes, length);
    return cm_leave(session);
}

int cm_case_has_readings(const cm_case *c)
{
    return c->row_count > 0;
}

int cm_case_expects(const cm_case *c, const char *result)
{
    return c->expected && cm_node_get(c->expected, result);
}
