/* SPDX-License-Identifier: MIT */
/*
 * Loading a whole case (tree, checks, conversions, arrays) of 200 sensors and
 * 40 planes with 8000 known coefficients, against libyaml's bare event loop
 * over the same file. Each runs in turn; the best of several times counts.
 * The aim is a ratio below 2.
 */
#include "base/text.h"
#include "countermass/case.h"

#include <stdio.h>
#include <time.h>
#include <yaml.h>

enum { SENSORS = 200, PLANES = 40, TURNS = 15 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static cm_status write_case(cm_session *session, cm_text *text)
{
    CM_ENTER(session);
    cm_text_add(text, "case: {format: 1}\nconventions: {phase: lag, mass_angle: against-rotation}\n"
                      "speeds: [{id: service, speed: 3000}]\nsensors:\n");
    for (int i = 0; i < SENSORS; i++)
        cm_text_print(text, "  - {id: S%d, limit: 60}\n", i);
    cm_text_add(text, "planes:\n");
    for (int j = 0; j < PLANES; j++)
        cm_text_print(text, "  - {id: P%d, radius: 260}\n", j);
    cm_text_add(text, "runs:\n  - id: as-found\n    readings:\n      service:\n");
    for (int i = 0; i < SENSORS; i++)
        cm_text_print(text, "        S%d: %d @ %d\n", i, 20 + i % 7, i % 360);
    cm_text_add(text, "influence:\n");
    for (int i = 0; i < SENSORS; i++)
        for (int j = 0; j < PLANES; j++)
            cm_text_print(
                text,
                "  - {plane: P%d, speed: service, sensor: S%d, value: %.6f @ %.3f, uncertainty: 0.05}\n", j,
                i, 0.1 + 0.001 * i + 0.01 * j, (i * 37 + j * 91) % 3600 / 10.0);
    return cm_leave(session);
}

static double bare_loop(const cm_text *text)
{
    double start = now();
    yaml_parser_t parser;
    yaml_event_t event;
    if (!yaml_parser_initialize(&parser))
        return 0;
    yaml_parser_set_input_string(&parser, (const unsigned char *)text->bytes, text->length);
    for (bool more = true; more;) {
        more = yaml_parser_parse(&parser, &event) && event.type != YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return now() - start;
}

static cm_status case_loop(const cm_text *text, double *seconds, int *coefficients)
{
    double start = now();
    cm_session *session = cm_open(NULL);
    const cm_case *c = NULL;
    const cm_runs *runs = NULL;
    cm_status status =
        session ? cm_case_parse(session, "bench", text->bytes, text->length, &c) : CM_NO_MEMORY;
    if (status == CM_OK)
        status = cm_case_runs(session, c, &runs);
    *coefficients = status == CM_OK ? runs->known_count : 0;
    cm_close(session);
    *seconds = now() - start;
    return status;
}

int main(void)
{
    cm_session *session = cm_open(NULL);
    cm_text text = {.session = session};
    double bare = 1e9, whole = 1e9, seconds = 0;
    int coefficients = 0;
    cm_status status = session ? write_case(session, &text) : CM_NO_MEMORY;
    for (int turn = 0; turn < TURNS && status == CM_OK; turn++) {
        double once = bare_loop(&text);
        bare = once < bare ? once : bare;
        status = case_loop(&text, &seconds, &coefficients);
        whole = seconds < whole ? seconds : whole;
    }
    if (status == CM_OK)
        printf(
            "case_read: %zu bytes, %d coefficients; libyaml alone %.2f ms, whole case %.2f ms, ratio %.2f\n",
            text.length, coefficients, 1e3 * bare, 1e3 * whole, whole / bare);
    cm_close(session);
    return status != CM_OK;
}
