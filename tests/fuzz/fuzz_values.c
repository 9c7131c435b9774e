/* SPDX-License-Identifier: MIT */
/* One scalar of the case file of any bytes: as a unit, a number of each kind, a phasor and a reading. */
#include "pipeline.h"

#include "base/number.h"
#include "case/sections.h"
#include "case/values.h"
#include "model/units.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { MOST_BYTES = 256 };

typedef struct attempt {
    cm_reader reader;
    cm_case c;
    cm_sensor sensor;
    cm_speed speed;
    cm_node scalar, of_sensor, of_speed;
} attempt;

/* A number that was read is finite and is printed so that it reads back. */
static void check_number(double value)
{
    char text[32];
    double again;
    need(isfinite(value), "a number that was read is finite");
    cm_number_round_trip(value, text);
    need(cm_number_read(text, &again) && again == value, "a number reads back as it was printed");
}

static void as_number(attempt *a, int measure, int range)
{
    double value;
    cm_polar polar;
    int errors = a->reader.errors.count;
    bool read = cm_number_of(&a->reader, "x", (cm_measure)measure, (cm_range)range, &a->scalar, &value);
    need(read || a->reader.errors.count > errors || cm_is_nothing(&a->scalar),
         "what is no number has a message");
    if (read)
        check_number(value);
    if (!cm_phasor_of(&a->reader, "x", (cm_measure)measure, &a->scalar, &polar))
        return;
    check_number(polar.size);
    check_number(polar.degrees);
    need(polar.size >= 0, "a size is not negative");
}

static void as_reading(attempt *a)
{
    static const cm_key key = {.name = "readings"};
    cm_run run = {.id = "r", .after = -1};
    cm_read_readings(&a->reader, &key, &a->of_speed, &run);
    for (int r = 0; r < run.reading_count; r++)
        for (int i = 0; i < run.readings[r].count; i++)
            need(isfinite(creal(run.readings[r].values[i])) && isfinite(cimag(run.readings[r].values[i])),
                 "a reading is finite");
}

/* The n-th unit of vibration; NULL when there are fewer: a sensor without a unit. */
static const cm_unit *sensor_unit(unsigned n)
{
    for (const cm_unit *unit = CM_UNITS; unit->name; unit++)
        if (cm_is_vibration(unit->quantity) && n-- == 0)
            return unit;
    return NULL;
}

static void prepare(attempt *a, cm_session *session, const char *text, unsigned choice)
{
    a->reader.session = session;
    a->reader.c = &a->c;
    cm_start_case(&a->reader);
    a->sensor.unit = sensor_unit(choice % 16);
    a->c.sensors = &a->sensor;
    a->c.speeds = &a->speed;
    a->c.sensor_count = a->c.speed_count = 1;
    cm_place place = {"f", 1, 1};
    cm_index_add(session, &a->reader.sensors, "A", 0, place);
    cm_index_add(session, &a->reader.speeds, "s", 0, place);
    a->scalar = (cm_node){.kind = CM_TEXT, .text = text, .key = "A", .place = place, .key_place = place};
    a->of_sensor = (cm_node){
        .kind = CM_MAP, .key = "s", .first = &a->scalar, .last = &a->scalar, .count = 1, .place = place};
    a->of_speed =
        (cm_node){.kind = CM_MAP, .first = &a->of_sensor, .last = &a->of_sensor, .count = 1, .place = place};
}

static cm_status attempt_all(cm_session *session, const char *text, unsigned choice)
{
    CM_ENTER(session);
    attempt *a = CM_NEW(session, 1, attempt);
    prepare(a, session, text, choice);
    as_number(a, (int)(choice % CM_MEASURE_COUNT), (int)(choice / 32 % CM_RANGE_COUNT));
    as_reading(a);
    return cm_leave(session);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    char text[MOST_BYTES + 1] = {0};
    unsigned choice = length ? bytes[0] : 0;
    if (length > 1)
        memcpy(text, bytes + 1, length - 1 < MOST_BYTES ? length - 1 : MOST_BYTES);
    const cm_unit *unit = cm_unit_find(text);
    need(!unit || (unit->factor > 0 && isfinite(unit->factor)), "a unit has a size");
    cm_session *session = cm_open(NULL);
    cm_status status = attempt_all(session, text, choice);
    need(status == CM_OK, "a scalar never ends the reading");
    cm_close(session);
    return 0;
}
