/* SPDX-License-Identifier: MIT */
/*
 * Questions about runs in one state of masses: do their readings agree, and does the reference still hold?
 *
 * For run k and the earlier runs of its state, row by row, with weights w and m the sum of those of the earlier ones
 *     d_i = r_i(k) - weighted mean of the earlier ones,   E|d_i|² = s_i² (1/w_k + 1/m)
 *     chi² = sum |d_i|² / (s_i² (1/w_k + 1/m)),   Gamma(N) for N readings that agree
 * What the runs model besides masses (drift, groups) is taken out first: residuals of the fit differ by just d_i then.
 * A scatter that was estimated from these very residuals would hide what it measures, so s_i is the declared
 * repeatability, else the assumed 3 % + floor.
 */
#include "evidence/steps.h"
#include "evidence/weights.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"
#include "model/units.h"

#include <math.h>

#undef I

static const double CHANCE = 1e-3; /* of so large a difference when the runs do agree (our own figure) */

double cm_independent_scatter(const cm_notes *notes, int row)
{
    const cm_runs *runs = notes->job->runs;
    double sum = 0;
    int count = 0;
    if (runs->repeatability[row] > 0)
        return runs->repeatability[row];
    for (int k = 0; k < runs->runs; k++)
        if (cm_run_read(runs, row, k)) {
            sum += cabs(runs->readings[row + k * runs->rows]);
            count++;
        }
    return cm_assumed_scatter(count ? sum / count : 0, runs->assumed_floor[row]);
}

/* Where run k stands against earlier runs of its state. */
typedef struct cm_repeat {
    int first, earlier;            /* first run of the state; how many were before */
    bool returned;                 /* runs with other masses lie between */
    int count, worst;              /* readings compared; the one that differs most, -1: none */
    double chi2, most;             /* sum; the largest |d|/(s sqrt(1/w + 1/m)) */
    cm_complex difference, before; /* of the worst reading */
} cm_repeat;

/* Difference of a row in run k from the weighted mean of the earlier runs of its state; the sum of their weights. */
static double difference_of(const cm_notes *notes, int k, int row, cm_complex *d, cm_complex *before)
{
    const cm_runs *runs = notes->job->runs;
    const cm_complex *residual = notes->job->influence->residual;
    double sum = 0;
    double complex mean = 0, reading = 0;
    for (int q = 0; q < k; q++)
        if (cm_same_state(notes, q, k) && cm_run_read(runs, row, q)) {
            double weight = cm_weight_of(runs, row, q);
            mean += weight * residual[row + q * runs->rows];
            reading += weight * runs->readings[row + q * runs->rows];
            sum += weight;
        }
    if (sum > 0) {
        *d = residual[row + k * runs->rows] - mean / sum;
        *before = reading / sum;
    }
    return sum;
}

static cm_repeat compare(const cm_notes *notes, int k)
{
    const cm_runs *runs = notes->job->runs;
    cm_repeat repeat = {.first = -1, .worst = -1};
    for (int q = 0; q < k; q++)
        if (cm_same_state(notes, q, k)) {
            repeat.first = repeat.first < 0 ? q : repeat.first;
            repeat.earlier++;
        }
    for (int q = repeat.first; repeat.first >= 0 && q < k; q++)
        repeat.returned = repeat.returned || !cm_same_state(notes, q, k);
    for (int i = 0; repeat.first >= 0 && i < runs->rows; i++) {
        cm_complex d = 0, before = 0;
        double m = cm_run_read(runs, i, k) ? difference_of(notes, k, i, &d, &before) : 0;
        if (!(m > 0))
            continue;
        double away =
            cabs(d) / (cm_independent_scatter(notes, i) * sqrt(1 / cm_weight_of(runs, i, k) + 1 / m));
        repeat.count++;
        repeat.chi2 += away * away;
        if (away > repeat.most) {
            repeat.most = away;
            repeat.worst = i;
            repeat.difference = d;
            repeat.before = before;
        }
    }
    return repeat;
}

static void say_disagrees(cm_notes *notes, int k, const cm_repeat *r)
{
    cm_where where = cm_at_row(notes, r->worst);
    where.run = k;
    cm_note(
        notes, "state-disagrees", CM_WARNING, where,
        "Runs %s and %s carried the same masses, but their readings differ by more than scatter (chance "
        "below 1 in "
        "1000). The worst is %s: %s apart, %s times the spread of such a difference. Look at speed, load and "
        "temperature of both runs, then repeat the state; leave out the reading or run that was wrong.",
        notes->job->given->runs[r->first].id, notes->job->given->runs[k].id, cm_row_name(notes, r->worst),
        cm_row_size(notes, r->worst, cabs(r->difference)), cm_three_digits(notes->session, r->most));
}

static void say_drifted(cm_notes *notes, int k, const cm_repeat *r)
{
    cm_where where = cm_at_row(notes, r->worst);
    where.run = k;
    cm_complex after = r->before + r->difference;
    cm_note(
        notes, "reference-drifted", CM_WARNING, where,
        "Back in the state of run %s, run %s no longer matches it: %s changed by %s (%s %% in size, %s "
        "degrees) "
        "while other masses were on and off. Influence from runs on both sides of that change carries the "
        "error. "
        "Wait until the machine is settled and take reference and trial close together; `objective: {drift: "
        "linear}` or a `group` of runs can take an even drift or a step out.",
        notes->job->given->runs[r->first].id, notes->job->given->runs[k].id, cm_row_name(notes, r->worst),
        cm_row_size(notes, r->worst, cabs(r->difference)),
        cm_three_digits(notes->session, cm_percent_off(cabs(after), cabs(r->before))),
        cm_three_digits(notes->session, cm_degrees_between(after, r->before)));
}

void cm_ask_repeats(cm_notes *notes)
{
    const cm_step *steps = notes->steps;
    if (!steps || !notes->job->influence->residual || !notes->job->runs->repeatability)
        return;
    for (int k = 1; k < notes->job->runs->runs; k++) {
        if (steps[k].changes != 0 || steps[k].reference < 0)
            continue;
        cm_repeat repeat = compare(notes, k);
        bool apart = repeat.worst >= 0 && (cm_sum_tail(repeat.count, repeat.chi2, INFINITY) < CHANCE ||
                                           repeat.count * cm_tail(repeat.most, INFINITY) < CHANCE);
        if (apart)
            say_disagrees(notes, k, &repeat);
        if (apart && repeat.returned)
            say_drifted(notes, k, &repeat);
    }
}
