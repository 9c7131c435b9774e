/* SPDX-License-Identifier: MIT */
/* Questions about the readings: predicted over a limit or an alarm, never read in the reference run, scatter
 * only assumed, earlier knowledge that the runs contradict, planes that the evidence hardly sees. */
#include "evidence/notes.h"
#include "base/constants.h"
#include "linalg/dense.h"
#include "model/counts.h"
#include "model/units.h"
#include "model/judged.h"

#include <math.h>

#undef I

/* Rounding in a reading that sits on its limit is no excess. */
static bool exceeds(double size, double limit)
{
    return size > limit * (1 + 1e-9);
}

/* A probe pair's orbit against its limit. */
static void ask_orbit(cm_notes *notes, int k)
{
    const cm_job *job = notes->job;
    const cm_orbit_row *orbit = &job->given->orbits[k];
    const cm_pair *pair = &job->problem->pairs[k];
    const cm_unit *unit = job->given->sensors[job->given->pairs[orbit->pair].sensor[0]].unit;
    double size = cm_pair_size_at(pair, job->answer->r);
    cm_where where = CM_NOWHERE;
    where.speed = orbit->speed;
    if (exceeds(size, pair->limit))
        cm_note(notes, "over-limit", CM_WARNING, where,
                "The orbit of %s (%s) at %s is predicted at %s %s, over its limit of %s.",
                job->given->pairs[orbit->pair].id, orbit->axis == CM_ORBIT_FORWARD ? "forward" : "major-axis",
                job->given->speeds[orbit->speed].id, cm_three_digits(notes->session, size / unit->factor),
                cm_unit_words(unit), cm_three_digits(notes->session, pair->limit / unit->factor));
}

void cm_ask_readings(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->answer || job->answer->outcome != CM_OPTIMAL)
        return;
    for (int i = 0; i < job->problem->rows; i++) {
        const cm_sensor *sensor = &job->given->sensors[job->given->row_sensor[i]];
        int speed = job->given->row_speed[i];
        double size = cm_judged_level(job->problem, i, job->answer->r[i]);
        if (exceeds(size, sensor->alarm[speed]))
            cm_note(notes, "over-alarm", CM_ERROR, cm_at_row(notes, i),
                    "%s is predicted at %s, over its alarm of %s. Do not run with these masses.",
                    cm_row_name(notes, i), cm_row_size(notes, i, size),
                    cm_row_size(notes, i, sensor->alarm[speed]));
        else if (exceeds(size, sensor->limit[speed]))
            cm_note(notes, "over-limit", CM_WARNING, cm_at_row(notes, i),
                    "%s is predicted at %s, over its limit of %s.", cm_row_name(notes, i),
                    cm_row_size(notes, i, size), cm_row_size(notes, i, sensor->limit[speed]));
    }
    for (int k = 0; k < job->problem->pair_count; k++)
        ask_orbit(notes, k);
}

void cm_ask_base(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->influence)
        return;
    for (int i = 0; i < job->influence->rows; i++)
        if (job->influence->base_runs[i] == 0)
            cm_note(notes, "not-read-in-base", CM_NOTE, cm_at_row(notes, i),
                    "%s was not read with the masses of the reference run; its reading there is computed "
                    "from the "
                    "other runs.",
                    cm_row_name(notes, i));
}

void cm_ask_scatter(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->influence)
        return;
    int assumed = 0;
    for (int i = 0; i < job->influence->rows; i++)
        assumed += job->influence->scatter_source[i] == CM_SCATTER_ASSUMED;
    if (assumed > 0)
        cm_note(notes, "assumed-scatter", CM_NOTE, CM_NOWHERE,
                "Nothing tells how well %d of %d readings repeat; 3 %% of the reading plus a small floor is "
                "assumed (common practice, no source). State a repeatability or repeat a run.",
                assumed, job->influence->rows);
}

/* Normalised distance of an earlier coefficient from what the runs make of it. The estimate a contains the prior
 * p, so E|p - a|² = u² - std². Returns 0 where the runs add nothing to the prior. */
static double distance_of(const cm_influence *influence, const cm_known *known)
{
    int at = known->row + known->plane * influence->rows;
    double left = known->uncertainty * known->uncertainty - influence->std[at] * influence->std[at];
    if (left <= 1e-6 * known->uncertainty * known->uncertainty)
        return 0;
    return cabs(known->value - influence->a[at]) / sqrt(left);
}

/* A complex Gaussian error is farther out than k of its standard deviations with probability exp(-k²): 1 in 1000. */
static const double FAR_OUT = 2.628;

void cm_ask_priors(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->influence || !job->runs)
        return;
    for (int k = 0; k < job->runs->known_count; k++) {
        const cm_known *known = &job->runs->known[k];
        double distance = known->uncertainty > 0 && !known->set ? distance_of(job->influence, known) : 0;
        if (distance <= FAR_OUT)
            continue;
        cm_where where = cm_at_row(notes, known->row);
        where.plane = known->plane;
        cm_note(
            notes, "state-disagrees", CM_WARNING, where,
            "The earlier influence of %s on %s does not fit the runs: it is %s standard deviations from what "
            "they say together (chance below 1 in 1000). Check angles, units and radius of the earlier "
            "value, "
            "or raise its uncertainty.",
            job->given->planes[known->plane].id, cm_row_name(notes, known->row),
            cm_three_digits(notes->session, distance));
    }
}

/* The best-known coefficient of a plane: the least std/|a| over counted rows; row -1: there is none. */
static double best_seen(const cm_job *job, int plane, int *row)
{
    double best = INFINITY;
    *row = -1;
    for (int i = 0; i < job->influence->rows; i++) {
        int at = i + plane * job->influence->rows;
        double size = cabs(job->influence->a[at]);
        if (job->problem->weight[i] == 0 || !job->influence->determined[at] || size == 0)
            continue;
        if (job->influence->std[at] / size < best) {
            best = job->influence->std[at] / size;
            *row = i;
        }
    }
    return best;
}

/* Radius that holds 90 % of a complex Gaussian error, in standard deviations: sqrt(ln 10). */

void cm_ask_visibility(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->influence || !job->problem)
        return;
    for (int j = 0; j < job->problem->planes; j++) {
        int row;
        double best = best_seen(job, j, &row);
        if (job->problem->held[j] || row < 0 || CM_RADIUS_90 * best < 0.5)
            continue;
        cm_note(notes, "hardly-seen", CM_WARNING, cm_at_plane(j),
                "The evidence hardly sees %s: even its clearest coefficient, on %s, is known only to %s %% "
                "of its "
                "size (radius that holds 90 %%). Try a larger mass there, repeat the run, or leave the plane "
                "out.",
                job->given->planes[j].id, cm_row_name(notes, row),
                cm_three_digits(notes->session, 100 * CM_RADIUS_90 * best));
    }
}

void cm_ask_phases(cm_notes *notes)
{
    const cm_job *job = notes->job;
    for (int k = 0; job->runs && job->runs->phase_shift && k < job->runs->runs; k++) {
        cm_where where = CM_NOWHERE;
        where.run = k;
        if (isnan(job->runs->phase_shift[k]))
            cm_note(notes, "phase-shift-unknown", CM_WARNING, where,
                    "By how much the phases of %s are shifted cannot be found: no other run of its group "
                    "with a known "
                    "phase reference had the same masses. Its readings are not used. A run with these masses "
                    "would "
                    "settle it, or the shift written in degrees.",
                    job->given->runs[k].id);
    }
}

void cm_ask_overall(cm_notes *notes)
{
    const cm_job *job = notes->job;
    for (int i = 0; job->problem && job->problem->overall && i < job->problem->rows; i++) {
        double limit = job->given->sensors[job->given->row_sensor[i]].limit[job->given->row_speed[i]];
        if (cm_has_no_room(job->problem, i))
            cm_note(notes, "not-unbalance", CM_WARNING, cm_at_row(notes, i),
                    "Of %s, %s is not once per turn; that alone is over the limit of %s on the overall "
                    "level. No masses "
                    "can change it; find its cause. The limit weighs the once-per-turn part here, as if it "
                    "were on that.",
                    cm_row_name(notes, i), cm_row_size(notes, i, job->problem->rest[i]),
                    cm_row_size(notes, i, limit));
    }
}
