/* SPDX-License-Identifier: MIT */
/*
 * How much the tree costs on top of libyaml: a case of 200 rows × 40 planes
 * of known coefficients, read into a tree with its numbers parsed, against
 * the bare event loop. Each runs in turn; the best of several times counts.
 */
#include "base/number.h"
#include "base/text.h"
#include "tree/node.h"

#include <stdio.h>
#include <string.h>
#include <time.h>
#include <yaml.h>

enum { ROWS = 200, PLANES = 40, TURNS = 15 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static cm_status write_case(cm_session *session, cm_text *text)
{
    CM_ENTER(session);
    cm_text_add(text, "case: {format: 1, title: benchmark}\ninfluence:\n");
    for (int row = 0; row < ROWS; row++)
        for (int plane = 0; plane < PLANES; plane++)
            cm_text_print(
                text,
                "  - {plane: P%d, speed: service, sensor: S%d, value: %.6f @ %.3f, uncertainty: 0.05}\n",
                plane + 1, row + 1, 0.1 + 0.001 * row + 0.01 * plane, (row * 37 + plane * 91) % 3600 / 10.0);
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

static double sum_of_numbers(const cm_node *node)
{
    double sum = 0, value;
    if (node->kind == CM_TEXT && cm_number_read(node->text, &value))
        sum += value;
    for (const cm_node *child = node->first; child; child = child->next)
        sum += sum_of_numbers(child);
    return sum;
}

static cm_status tree_loop(cm_session *session, const cm_text *text, double *seconds, double *sum)
{
    CM_ENTER(session);
    double start = now();
    cm_mark mark = cm_mark_of(session);
    *sum = sum_of_numbers(cm_yaml_read(session, "bench", text->bytes, text->length));
    cm_release_to(session, mark);
    *seconds = now() - start;
    return cm_leave(session);
}

int main(void)
{
    cm_session *session = cm_open(NULL);
    cm_text text = {.session = session};
    double bare = 1e9, tree = 1e9, seconds = 0, sum = 0;
    cm_status status = session ? write_case(session, &text) : CM_NO_MEMORY;
    for (int turn = 0; turn < TURNS && status == CM_OK; turn++) {
        double once = bare_loop(&text);
        bare = once < bare ? once : bare;
        status = tree_loop(session, &text, &seconds, &sum);
        tree = seconds < tree ? seconds : tree;
    }
    if (status == CM_OK)
        printf(
            "yaml_read: %zu bytes; libyaml alone %.2f ms, tree and numbers %.2f ms, ratio %.2f (sum %.6g)\n",
            text.length, 1e3 * bare, 1e3 * tree, tree / bare, sum);
    cm_close(session);
    return status != CM_OK;
}
