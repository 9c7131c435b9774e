/* SPDX-License-Identifier: MIT */
/* Every run: what the runs before it let expect, and what was measured. */
#include "page/tree_common.h"
#include "base/constants.h"

#include <math.h>

static void add_reading(cm_session *session, cm_node *list, const cm_job *job, int row, bool told,
                        double complex reading)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_size_angle shown = cm_user_reading(job, row, reading);
    cm_tree_row(session, map, job, row);
    cm_node_add_text(session, map, "unit", cm_sensor_of(job, row)->unit->name);
    cm_node_add_number(session, map, "amplitude", told ? shown.size : NAN);
    cm_node_add_number(session, map, "phase", told ? shown.angle : NAN);
}

/* Overall level read beside a reading, repeats averaged as powers; NAN: not read. */
static double overall_of(const cm_job *job, int row, int run)
{
    const cm_case *c = job->given;
    double square = 0;
    int count = 0;
    for (int r = 0; c->overall_read && r < c->runs[run].reading_count; r++) {
        const cm_reading *reading = &c->runs[run].readings[r];
        bool same = reading->sensor == c->row_sensor[row] && reading->speed == c->row_speed[row];
        for (int k = 0; same && k < reading->count; k++) {
            square += isnan(reading->overall[k]) ? 0 : reading->overall[k] * reading->overall[k];
            count += !isnan(reading->overall[k]);
        }
    }
    return count ? cm_user_amplitude(job, row, sqrt(square / count)) : NAN;
}

static void add_circumstances(cm_session *session, cm_node *map, const cm_run *run)
{
    static const char *const taken[] = {NULL, "holding", "run-up", "run-down"};
    cm_node_add_text(session, map, "group", run->group);
    cm_node_add_text(session, map, "taken", taken[run->taken]);
    cm_node_add_text(session, map, "at", run->at);
    cm_node_add_number(session, map, "load_MW", run->load / 1e6);
    cm_node_add_number(session, map, "left_out", run->left_out);
    cm_node_add_text(session, map, "because", run->leave_out.because);
}

/* Degrees in the case's phase convention, from -180 to 180. */
static void add_phase_shift(cm_session *session, cm_node *map, const cm_job *job, int run)
{
    const double degree = CM_PI / 180;
    const cm_runs *runs = job->runs;
    const double *std = job->influence->phase_shift_std;
    double shift = runs->phase_shift ? remainder(runs->phase_shift[run] / degree, 360) : 0;
    cm_node_add_number(session, map, "phase_shift",
                       job->given->phase_lag && fabs(shift) > 0 ? -shift : shift);
    cm_node_add_number(session, map, "phase_shift_std", std && std[run] > 0 ? std[run] / degree : NAN);
}

static void add_run(cm_session *session, cm_node *list, const cm_job *job, int run)
{
    const cm_runs *runs = job->runs;
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "run", job->given->runs[run].id);
    cm_node *predicted = cm_node_add_list(session, map, "predicted");
    cm_node *measured = cm_node_add_list(session, map, "measured");
    for (int i = 0; i < runs->rows; i++) {
        size_t at = (size_t)i + (size_t)run * (size_t)runs->rows;
        if (runs->repeats[at] == 0)
            continue;
        add_reading(session, predicted, job, i, job->foretold->told[at], job->foretold->expected[at]);
        add_reading(session, measured, job, i, true, runs->readings[at]);
        cm_node_add_number(session, measured->last, "overall", overall_of(job, i, run));
    }
    add_circumstances(session, map, &job->given->runs[run]);
    add_phase_shift(session, map, job, run);
}

void cm_tree_runs(cm_session *session, cm_node *tree, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, tree, "runs");
    for (int k = 0; job->foretold && k < job->runs->runs; k++)
        add_run(session, list, job, k);
}
