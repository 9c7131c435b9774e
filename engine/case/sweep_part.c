/* SPDX-License-Identifier: MIT */
/* Sweeps: tables of readings over speed beside the case. */
#include "case/csv.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>
#include <string.h>

enum { RUN, SPEED, SENSOR, AMPLITUDE, PHASE, COLUMNS };

static const char *const NAMES[COLUMNS] = {"run", "speed", "sensor", "amplitude", "phase"};
static const cm_csv_form SWEEP = {COLUMNS, 0, NAMES, "run, speed, sensor, amplitude, phase"};

void *cm_begin_sweep(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_case *c = reader->c;
    c->sweeps = cm_grow(reader->session, c->sweeps, c->sweep_count, &c->sweep_room, sizeof *c->sweeps);
    cm_sweep *sweep = &c->sweeps[c->sweep_count++];
    *sweep = (cm_sweep){.run = -1, .place = node->place, .seconds = NAN};
    return sweep;
}

void cm_read_sweep_table(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)key;
    if (cm_scalar(reader, node, "the name of a file"))
        ((cm_sweep *)record)->table = node;
}

void cm_read_sweep_time(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double minutes;
    if (cm_number_of(reader, key->name, CM_MEASURE_PLAIN, CM_ABOVE_ZERO, node, &minutes))
        ((cm_sweep *)record)->seconds = 60 * minutes;
}

static void take_line(cm_reader *reader, const cm_node *line, cm_sweep *sweep)
{
    double amplitude, phase, omega;
    int sensor = cm_refer_node(reader, &reader->sensors, "sensor", &line[SENSOR]);
    bool told = cm_number_of(reader, "speed", CM_MEASURE_SPEED, CM_ABOVE_ZERO, &line[SPEED], &omega);
    reader->unit = sensor < 0 ? NULL : reader->c->sensors[sensor].unit;
    told = cm_number_of(reader, "amplitude", CM_MEASURE_VIBRATION, CM_NOT_NEGATIVE, &line[AMPLITUDE],
                        &amplitude) &&
           told;
    told = cm_number_of(reader, "phase", CM_MEASURE_DEGREES, CM_ANY_VALUE, &line[PHASE], &phase) && told;
    reader->unit = NULL;
    if (!told || sensor < 0)
        return;
    sweep->points =
        cm_grow(reader->session, sweep->points, sweep->count, &sweep->room, sizeof *sweep->points);
    sweep->points[sweep->count++] =
        (cm_sweep_point){sensor, omega, cm_reading_from_user(reader->c, amplitude, phase)};
}

void cm_end_sweep(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    (void)node;
    cm_sweep *sweep = record;
    const cm_csv *csv = sweep->table ? cm_csv_of(reader, &SWEEP, sweep->table) : NULL;
    const char *own = sweep->run >= 0 ? reader->c->runs[sweep->run].id : NULL;
    int taken = 0;
    for (int i = 0; csv && own && i < csv->count; i++) {
        const cm_node *line = csv->lines[i];
        if (strcmp(line[RUN].text, own) != 0) {
            cm_refer(reader, &reader->runs, "run", line[RUN].text, &line[RUN].place);
            continue;
        }
        take_line(reader, line, sweep);
        taken++;
    }
    if (csv && own && csv->count && taken == 0)
        cm_wrong(reader, &sweep->table->place, "no line of this file is of the run '%s'", own);
}
