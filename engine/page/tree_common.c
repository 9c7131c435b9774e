/* SPDX-License-Identifier: MIT */
/* Fields that several result trees share. */
#include "page/tree_common.h"

#include <math.h>

cm_node *cm_tree_open(cm_session *session, const char *result, const cm_job *job)
{
    cm_node *tree = cm_node_map(session);
    cm_node_add_text(session, tree, "result", result);
    cm_node_add_number(session, tree, "format", 1);
    cm_node_add_text(session, tree, "case", job->given->title);
    return tree;
}

void cm_tree_row(cm_session *session, cm_node *map, const cm_job *job, int row)
{
    cm_node_add_text(session, map, "speed", cm_speed_of(job, row)->id);
    cm_node_add_text(session, map, "sensor", cm_sensor_of(job, row)->id);
}

void cm_tree_polar(cm_session *session, cm_node *map, const char *key, const char *size, const char *angle,
                   cm_size_angle value)
{
    cm_node *polar = cm_node_add_map(session, map, key);
    cm_node_add_number(session, polar, size, value.size);
    cm_node_add_number(session, polar, angle, value.angle);
}

/* Adds the name of item `index` of a list of `count` under `key`; -1: nothing. */
#define ADD_PLACE(key, items, count, index)                                                                  \
    do {                                                                                                     \
        if ((index) >= 0 && (index) < (count))                                                               \
            cm_node_add_text(session, map, (key), (items)[index].id);                                        \
    } while (0)

static void add_finding(cm_session *session, cm_node *list, const cm_case *c, const cm_finding *finding)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "code", finding->code);
    cm_node_add_text(session, map, "severity", cm_severity_name(finding->severity));
    cm_node_add_text(session, map, "message", finding->message);
    ADD_PLACE("run", c->runs, c->run_count, finding->run);
    ADD_PLACE("speed", c->speeds, c->speed_count, finding->speed);
    ADD_PLACE("sensor", c->sensors, c->sensor_count, finding->sensor);
    ADD_PLACE("plane", c->planes, c->plane_count, finding->plane);
    if (finding->explained)
        cm_tree_explanations(session, map, c, finding->explained);
}

void cm_tree_findings(cm_session *session, cm_node *parent, const char *key, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, parent, key);
    for (int i = 0; job->findings && i < job->findings->count; i++)
        add_finding(session, list, job->given, &job->findings->items[i]);
}

static void add_condition(cm_session *session, cm_node *map, const char *key, const cm_job *job, int speed,
                          double value)
{
    cm_node_add_number(session, map, key, cm_condition_is_told(job, speed) ? value : NAN);
}

void cm_tree_condition(cm_session *session, cm_node *parent, const cm_job *job)
{
    const cm_condition *condition = job->condition;
    cm_node *map = cm_node_add_map(session, parent, "condition");
    add_condition(session, map, "overall", job, -1, condition ? condition->overall : NAN);
    cm_node *list = cm_node_add_list(session, map, "by_speed");
    for (int s = 0; s < job->given->speed_count; s++) {
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "speed", job->given->speeds[s].id);
        add_condition(session, entry, "value", job, s,
                      condition && s < condition->blocks ? condition->by_block[s] : NAN);
    }
}

const char *cm_objective_name(cm_objective objective)
{
    static const char *const names[] = {
        [CM_LEAST_SQUARES] = "least-squares", [CM_MIN_MAX] = "min-max",       [CM_LEAST_MASS] = "least-mass",
        [CM_LEAST_CHANGE] = "least-change",   [CM_WORST_CASE] = "worst-case", [CM_EXPECTED] = "expected",
        [CM_CONFIDENCE] = "confidence",
    };
    return names[objective];
}

const char *cm_severity_name(cm_severity severity)
{
    static const char *const names[] = {[CM_NOTE] = "note", [CM_WARNING] = "warning", [CM_ERROR] = "fault"};
    return names[severity];
}
