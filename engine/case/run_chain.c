/* SPDX-License-Identifier: MIT */
/* Runs told by what was added (`after`, `added`) become total masses; readings that are left out are taken away. */
#include "case/refer.h"
#include "base/constants.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>
#include <string.h>

enum { MOST_MASSES = 1000000 };

/* `after` of a run that follows the run before it, and of one whose `after` is not looked up yet. */
enum { BY_TOTALS = -1, THE_RUN_BEFORE = -2, BY_NAME = -3 };

void cm_read_after(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    const char *id = NULL;
    cm_key to_id = *key;
    cm_run *run = record;
    to_id.offset = 0;
    cm_read_id(reader, &to_id, node, &id);
    if (!id)
        return;
    run->after = BY_NAME;
    run->after_place = node->place;
    run->after_id = id;
}

void cm_check_run(cm_reader *reader, const cm_node *node, cm_run *run)
{
    const cm_node *masses = cm_node_get(node, "masses"), *added = cm_node_get(node, "added");
    const cm_node *change = cm_node_get(node, "after") ? cm_node_get(node, "after") : added;
    if (masses && change)
        cm_wrong(reader, &change->key_place,
                 "this run says what was on the rotor twice: as totals in 'masses' and as a change in '%s'; "
                 "keep one",
                 change->key);
    if (added && run->after == BY_TOTALS)
        run->after = THE_RUN_BEFORE;
}

void cm_read_phase_shift(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_run *run = record;
    double degrees;
    run->phase_place = node->place;
    if (node->kind == CM_TEXT && !strcmp(node->text, "unknown"))
        run->phase_shift = NAN;
    else if (cm_number_of(reader, key->name, CM_MEASURE_DEGREES, CM_ANY_VALUE, node, &degrees))
        run->phase_shift = (reader->c->phase_lag ? -1 : 1) * fmod(degrees, 360) * (CM_PI / 180);
}

/* ---- totals ---- */

static void look_up(cm_reader *reader, int number)
{
    cm_run *run = &reader->c->runs[number];
    if (run->after == BY_NAME)
        run->after = cm_refer(reader, &reader->runs, "run", run->after_id, &run->after_place);
    else if (run->after == THE_RUN_BEFORE)
        run->after = number - 1;
}

/* The run at the end of the chain of `after` that still waits for its masses; -1 after a cycle. */
static int first_waiting(cm_reader *reader, const unsigned char *done, int from)
{
    const cm_case *c = reader->c;
    int at = from;
    for (int steps = 0; c->runs[at].after >= 0 && !done[c->runs[at].after]; steps++) {
        at = c->runs[at].after;
        if (steps <= c->run_count)
            continue;
        cm_wrong(reader, &c->runs[from].after_place,
                 "the runs named by 'after' lead in a circle from '%s' back to it; one of them must give its "
                 "'masses'",
                 c->runs[from].id ? c->runs[from].id : "");
        return -1;
    }
    return at;
}

static void inherit(cm_reader *reader, cm_run *run)
{
    const cm_mass_list *before = &reader->c->runs[run->after].masses;
    reader->inherited += before->count;
    if (reader->inherited > MOST_MASSES) {
        cm_wrong(reader, &run->place, "the runs carry more than %d masses in all", MOST_MASSES);
        cm_errors_fail(reader->session, &reader->errors);
    }
    cm_mass_list total = {0};
    for (int i = 0; i < before->count; i++)
        cm_add_mass(reader->session, &total, before->items[i]);
    for (int i = 0; i < run->masses.count; i++)
        cm_add_mass(reader->session, &total, run->masses.items[i]);
    run->masses = total;
}

void cm_chain_runs(cm_reader *reader)
{
    cm_case *c = reader->c;
    unsigned char *done = CM_NEW(reader->session, c->run_count, unsigned char);
    for (int k = 0; k < c->run_count; k++)
        look_up(reader, k);
    for (int k = 0; k < c->run_count; k++)
        for (int at = 0; at >= 0 && !done[k];) {
            at = first_waiting(reader, done, k);
            if (at >= 0 && c->runs[at].after >= 0)
                inherit(reader, &c->runs[at]);
            done[at < 0 ? k : at] = 1;
        }
}

/* ---- readings left out ---- */

static unsigned char *marks(cm_reader *reader, const cm_node *node, const cm_key *key, const cm_index *index,
                            const char *what, int count)
{
    unsigned char *list = CM_NEW(reader->session, count, unsigned char);
    if (cm_need_list(reader, node, key->name))
        for (const cm_node *item = node->first; item; item = item->next) {
            int number = cm_refer_node(reader, index, what, item);
            if (number >= 0)
                list[number] = 1;
        }
    return list;
}

void cm_read_sensors(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    *(unsigned char **)cm_slot(key, record) =
        marks(reader, node, key, &reader->sensors, "sensor", reader->c->sensor_count);
}

void cm_read_speed_list(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    *(unsigned char **)cm_slot(key, record) =
        marks(reader, node, key, &reader->speeds, "speed", reader->c->speed_count);
}

void cm_leave_out_readings(cm_run *run)
{
    const cm_leave_out *out = &run->leave_out;
    int kept = 0;
    for (int r = 0; out->because && r < run->reading_count; r++) {
        const cm_reading *reading = &run->readings[r];
        bool left =
            (!out->sensors || out->sensors[reading->sensor]) && (!out->speeds || out->speeds[reading->speed]);
        if (!left)
            run->readings[kept++] = *reading;
    }
    if (!out->because)
        return;
    run->left_out = run->reading_count - kept;
    run->reading_count = kept;
}
