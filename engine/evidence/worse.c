/* SPDX-License-Identifier: MIT */
/* Questions about what is worse than it looks: readings that the answer makes worse, slow roll that is no run-out, and
 * sensors on which no mass shows. */
#include "evidence/steps.h"
#include "base/constants.h"
#include "linalg/dense.h"
#include "model/units.h"
#include "model/judged.h"

#include <math.h>

#undef I

/* Radius that holds 90 % of a complex Gaussian error, in standard deviations: sqrt(ln 10). */

/* Reading before correction: mean of the runs without masses, else what is expected in the base state. */
static double size_before(const cm_job *job, int row)
{
    const cm_runs *runs = job->runs;
    double complex sum = 0;
    int count = 0;
    for (int k = 0; k < runs->runs; k++) {
        bool bare = cm_run_read(runs, row, k);
        for (int j = 0; j < runs->planes; j++)
            bare = bare && runs->masses[k + j * runs->runs] == 0;
        sum += bare ? runs->readings[row + k * runs->rows] : 0;
        count += bare;
    }
    return cabs(count ? sum / count : job->influence->y[row]);
}

void cm_ask_worse(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->answer || job->answer->outcome != CM_OPTIMAL || !notes->steps || !job->influence->y)
        return;
    for (int i = 0; i < job->problem->rows; i++) {
        const cm_sensor *sensor = &job->given->sensors[job->given->row_sensor[i]];
        double limit = sensor->limit[job->given->row_speed[i]];
        double before = size_before(job, i), after = cabs(cm_compensated(job->problem, i, job->answer->r[i]));
        double spread = job->spread ? job->spread->after_std[i] : NAN;
        double error = CM_RADIUS_90 * (isnan(spread) ? job->influence->scatter[i] : spread);
        if (!(after > before + error) || (job->determination && !job->determination->determined[i]))
            continue;
        bool matters = !isfinite(limit) || after > 0.5 * limit;
        cm_note(notes, "made-worse", matters ? CM_WARNING : CM_NOTE, cm_at_row(notes, i),
                "%s gets worse with these masses: from %s to %s, more than the spread of the prediction (%s "
                "holds 90 "
                "%%). Accept it for the sake of the others, or give it more weight or a limit.",
                cm_row_name(notes, i), cm_row_size(notes, i, before), cm_row_size(notes, i, after),
                cm_row_size(notes, i, error));
    }
}

/* ---- slow roll ---- */

static const double MOST_SLOW_ROLL = 0.25; /* of the limit (common practice, no source) */

static void ask_roll(cm_notes *notes, int s, double complex roll, int run)
{
    const cm_sensor *sensor = &notes->job->given->sensors[s];
    double limit = INFINITY;
    for (int v = 0; v < notes->job->given->speed_count; v++)
        limit = fmin(limit, sensor->limit[v]);
    const char *size =
        cm_format(notes->session, "%s %s", cm_three_digits(notes->session, cabs(roll) / sensor->unit->factor),
                  cm_unit_words(sensor->unit));
    cm_where where = {run, -1, s, -1};
    if (sensor->kind == CM_HOUSING)
        cm_note(notes, "slow-roll", CM_WARNING, where,
                "%s is on a housing, which has no run-out: its slow roll of %s is no error of the surface. "
                "Leave it "
                "out of `slow_roll` (common practice, no source).",
                sensor->id, size);
    else if (cabs(roll) > MOST_SLOW_ROLL * limit)
        cm_note(
            notes, "slow-roll", CM_WARNING, where,
            "The slow roll of %s is %s, %s %% of its limit (more than 25 %% is too much; common practice, no "
            "source). If the shaft is bowed, taking it off hides real vibration: measure run-out and bow "
            "apart, and "
            "mend the surface or straighten the shaft first.",
            sensor->id, size, cm_three_digits(notes->session, 100 * cabs(roll) / limit));
}

void cm_ask_slow_roll(cm_notes *notes)
{
    const cm_case *c = notes->job->given;
    for (int s = 0; s < c->sensor_count; s++) {
        if (cabs(c->sensors[s].slow_roll) > 0)
            ask_roll(notes, s, c->sensors[s].slow_roll, -1);
        for (int k = 0; k < c->run_count; k++)
            if (c->runs[k].slow_roll && cabs(c->runs[k].slow_roll[s]) > 0)
                ask_roll(notes, s, c->runs[k].slow_roll[s], k);
    }
}

/* ---- sensors ---- */

/* The clearest coefficient of a sensor over all planes and speeds: the least 90 % radius over size; INFINITY: none. */
static double clearest(const cm_job *job, int sensor)
{
    double best = INFINITY;
    for (int i = 0; i < job->influence->rows; i++)
        for (int j = 0; job->given->row_sensor[i] == sensor && j < job->influence->planes; j++) {
            int at = i + j * job->influence->rows;
            double size = cabs(job->influence->a[at]);
            if (job->problem->weight[i] > 0 && job->influence->determined[at] && size > 0)
                best = fmin(best, CM_RADIUS_90 * job->influence->std[at] / size);
        }
    return best;
}

void cm_ask_blind_sensors(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->influence || !job->problem || job->given->sensor_count < 2)
        return;
    for (int s = 0; s < job->given->sensor_count; s++) {
        double best = clearest(job, s);
        if (isfinite(best) && best >= 0.5)
            cm_note(notes, "hardly-seen", CM_NOTE, (cm_where){-1, -1, s, -1},
                    "On %s hardly any mass shows: even its clearest coefficient is known only to %s %% of "
                    "its size "
                    "(radius that holds 90 %%). It counts, but masses can do little about it; look whether "
                    "its reading "
                    "has another cause, try larger masses, or give it less weight.",
                    job->given->sensors[s].id, cm_three_digits(notes->session, 100 * best));
    }
}
