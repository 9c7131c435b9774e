/* SPDX-License-Identifier: MIT */
/*
 * What shifts readings besides masses: operating states, groups of runs, drift, a phase reference that moved.
 *
 * Levels are counted from the last run, since that is the machine that will be corrected: a column per other group (1 in
 * its runs), and for drift one column from -1 at the run farthest back to 0 at the last one.
 */
#include "case/arrays.h"
#include "model/moment.h"

#include <math.h>
#include <string.h>

/* ---- operating states ---- */

int cm_first_row(const cm_case *c, int sensor, int speed)
{
    for (int k = 0; k < c->speed_count; k++)
        if (c->speeds[k].root == c->speeds[speed].root && c->row_of[sensor + c->sensor_count * k] >= 0)
            return c->row_of[sensor + c->sensor_count * k];
    return -1;
}

void cm_put_states(cm_session *session, const cm_case *c, cm_runs *runs)
{
    bool any = false;
    for (int k = 0; k < c->speed_count; k++)
        any = any || c->speeds[k].root != k;
    if (!any)
        return;
    int *shares = CM_NEW(session, c->row_count, int), *block = CM_NEW(session, c->row_count, int);
    for (int i = 0; i < c->row_count; i++) {
        shares[i] = cm_first_row(c, c->row_sensor[i], c->row_speed[i]);
        block[i] = c->speeds[c->row_speed[i]].root;
    }
    runs->shares = shares;
    runs->shared_block = block;
}

/* ---- groups ---- */

static bool same_group(const cm_run *a, const cm_run *b)
{
    return a->group && b->group ? !strcmp(a->group, b->group) : !a->group && !b->group;
}

/* Number of the first run of the group that run k belongs to. */
static int first_of_group(const cm_case *c, int k)
{
    int first = 0;
    while (!same_group(&c->runs[first], &c->runs[k]))
        first++;
    return first;
}

static int put_groups(const cm_case *c, double *level)
{
    int columns = 0, last = c->run_count - 1;
    for (int g = 0; g < c->run_count; g++) {
        if (first_of_group(c, g) != g || same_group(&c->runs[g], &c->runs[last]))
            continue;
        for (int k = g; k < c->run_count; k++)
            level[k + columns * c->run_count] = same_group(&c->runs[g], &c->runs[k]);
        columns++;
    }
    return columns;
}

static int count_groups(const cm_case *c)
{
    int count = 0;
    for (int k = 0; k < c->run_count; k++)
        count += first_of_group(c, k) == k;
    return count;
}

/* ---- drift ---- */

static void put_drift(const cm_case *c, double *level)
{
    int last = c->run_count - 1, odd;
    bool timed = cm_times_of(c, &odd) == CM_TIMES_TOLD;
    double farthest = 0;
    for (int k = 0; k <= last; k++) {
        level[k] = k;
        if (timed)
            cm_moment_of(c->runs[k].at, &level[k]);
    }
    double end = level[last];
    for (int k = 0; k <= last; k++) {
        level[k] -= end;
        farthest = fmax(farthest, fabs(level[k]));
    }
    for (int k = 0; k <= last; k++)
        level[k] /= farthest;
}

void cm_put_levels(cm_session *session, const cm_case *c, cm_runs *runs)
{
    bool drifts = c->goal.drift == CM_DRIFT_LINEAR && c->run_count > 1;
    int groups = count_groups(c) - 1;
    if (c->run_count > 2) {
        double *positions = CM_NEW(session, c->run_count, double);
        put_drift(c, positions);
        runs->drift_level = positions;
    }
    runs->drift_fitted = drifts;
    if (groups < 1 && !drifts)
        return;
    runs->levels = groups + drifts;
    double *level = CM_NEW(session, (size_t)runs->levels * (size_t)c->run_count, double);
    int at = put_groups(c, level);
    if (drifts)
        put_drift(c, level + (size_t)at * (size_t)c->run_count);
    runs->level = level;
    runs->base_level = CM_NEW(session, runs->levels, double);
}
