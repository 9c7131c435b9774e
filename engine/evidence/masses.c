/* SPDX-License-Identifier: MIT */
/* Questions about the masses and the proof: far beyond what was tried, over what a plane may carry, not
 * determined, not proven. */
#include "evidence/notes.h"
#include "linalg/dense.h"
#include "model/overspeed.h"

#include <math.h>

#undef I

static double largest_tried(const cm_runs *runs, int plane)
{
    double most = 0;
    for (int k = 0; k < runs->runs; k++)
        most = fmax(most, cabs(runs->masses[k + plane * runs->runs]));
    return most;
}

/* Beyond three times the mass that was tried, a machine may no longer answer in proportion (common practice, no
 * source). */
void cm_ask_trial_size(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->answer || job->answer->outcome != CM_OPTIMAL || !job->runs)
        return;
    for (int j = 0; j < job->problem->planes; j++) {
        double tried = largest_tried(job->runs, j);
        double change = cabs(job->answer->x[j] - job->problem->now[j]);
        if (tried > job->problem->mass_zero && change > 3 * tried)
            cm_note(
                notes, "far-from-trial", CM_WARNING, cm_at_plane(j),
                "%s is to change by %s, over 3 times the largest mass tried there (%s; common practice, no "
                "source). Mount a part of it first and measure.",
                job->given->planes[j].id, cm_mass_size(notes, change), cm_mass_size(notes, tried));
    }
}

double cm_carries(const cm_case *given, const cm_plane *plane)
{
    bool assumed;
    double omega = cm_overspeed_of(given, &assumed);
    double by_force = plane->cap_force / (plane->radius * omega * omega);
    return isfinite(by_force) ? fmin(plane->cap, by_force) : plane->cap;
}

static bool over(double size, double most)
{
    return size > most * (1 + 1e-9);
}

/* Sum of the masses on the rotor now that have to stay on a plane. */
static double complex staying(const cm_case *given, int plane)
{
    const cm_mass_list *now = given->has_now     ? &given->now
                              : given->run_count ? &given->runs[given->run_count - 1].masses
                                                 : NULL;
    double complex sum = 0;
    for (int k = 0; now && k < now->count; k++)
        if (now->items[k].stays && now->items[k].plane == plane)
            sum += now->items[k].mass;
    return sum;
}

/* Masses that stay use up the plane as pieces of their own: |s| + |x - s| counts against the greatest mass. */
static bool too_much(const cm_case *given, int plane, double complex x)
{
    double complex s = staying(given, plane);
    return over(cabs(x), cm_carries(given, &given->planes[plane])) ||
           over(cabs(s) + cabs(x - s), given->planes[plane].cap);
}

static void ask_plane(cm_notes *notes, int j)
{
    const cm_job *job = notes->job;
    const cm_plane *plane = &job->given->planes[j];
    double most = cm_carries(job->given, plane);
    double total = cabs(job->answer->x[j]);
    double now = cabs(job->problem->now[j]);
    double step = cabs(job->answer->x[j] - job->problem->now[j]);
    if (job->problem->held[j] && too_much(job->given, j, job->answer->x[j]))
        cm_note(notes, "over-cap", CM_WARNING, cm_at_plane(j),
                "%s is held at %s, more than the %s it may carry.", plane->id, cm_mass_size(notes, total),
                cm_mass_size(notes, most));
    if (!job->problem->held[j] && too_much(job->given, j, job->problem->now[j]))
        cm_note(notes, "over-cap", CM_WARNING, cm_at_plane(j),
                "%s carries %s now, more than the %s it may carry; the answer brings it down.", plane->id,
                cm_mass_size(notes, now), cm_mass_size(notes, most));
    if (job->problem->held[j] && over(step, plane->change_cap))
        cm_note(notes, "over-cap", CM_WARNING, cm_at_plane(j),
                "%s is held at a mass %s from what is there now, more than the greatest step of %s.",
                plane->id, cm_mass_size(notes, step), cm_mass_size(notes, plane->change_cap));
}

void cm_ask_caps(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->answer || job->answer->outcome != CM_OPTIMAL)
        return;
    for (int j = 0; j < job->problem->planes; j++)
        ask_plane(notes, j);
}

static bool any_marked(const unsigned char *marked, int planes)
{
    for (int j = 0; j < planes; j++)
        if (marked[j])
            return true;
    return false;
}

static const char *taken_up(const cm_determination *determination, int row)
{
    static const char *const WORDS[] = {
        [CM_NOTHING_TAKEN] = "",
        [CM_TAKEN_BY_DRIFT] =
            " The drift takes up a run: with `objective: {drift: none}` they would; with drift, one "
            "run more is needed.",
        [CM_TAKEN_BY_GROUPS] =
            " Every `group` takes up a run for its own reference level: with all runs in one group "
            "they would.",
        [CM_TAKEN_BY_BOTH] = " The drift and every `group` take up a run each: without them they would.",
    };
    return WORDS[determination->taken_up ? determination->taken_up[row] : CM_NOTHING_TAKEN];
}

void cm_ask_undetermined(cm_notes *notes)
{
    const cm_job *job = notes->job;
    if (!job->determination || !job->problem)
        return;
    int planes = job->problem->planes;
    for (int i = 0; i < job->problem->rows; i++) {
        if (job->determination->determined[i] || job->problem->weight[i] == 0)
            continue;
        unsigned char *marked = CM_NEW(notes->session, planes, unsigned char);
        for (int j = 0; j < planes; j++)
            marked[j] = job->determination->unknown[i + j * job->problem->rows];
        if (!any_marked(marked, planes))
            cm_note(
                notes, "undetermined", CM_ERROR, cm_at_row(notes, i),
                "The runs do not tell what %s reads in the reference run.%s Read it there, or leave it out "
                "with "
                "drop_rows; `solve` shows both.",
                cm_row_name(notes, i), taken_up(job->determination, i));
        else
            cm_note(notes, "undetermined", CM_ERROR, cm_at_row(notes, i),
                    "The runs do not tell how %s answers to %s.%s Read it in the trial runs of these planes "
                    "too, or "
                    "leave it out with drop_rows; `solve` shows both.",
                    cm_row_name(notes, i), cm_plane_names(notes, marked), taken_up(job->determination, i));
    }
}

void cm_ask_proof(cm_notes *notes)
{
    const cm_answer *answer = notes->job->answer;
    if (!answer || answer->outcome != CM_OPTIMAL)
        return;
    bool then = notes->job->problem->then && !isnan(answer->then_best);
    double gap = then ? fmax(answer->then_best_gap, answer->then_gap) : answer->gap;
    if (!(gap > 1e-8) && !(then && isnan(answer->then_gap)))
        return;
    cm_note(notes, "not-proven", CM_WARNING, CM_NOWHERE,
            "The answer keeps every cap, but the proof that none is better leaves a gap of %s.",
            cm_three_digits(notes->session, gap));
}
