/* SPDX-License-Identifier: MIT */
/*
 * Ways out when the bounds of a trial mass cross: repeat the runs (the scatter
 * of a mean of n falls with sqrt(n)), use the correction itself as the trial,
 * or load two planes at once, whose effects partly cancel where it hurts.
 */
#include "starts/trial.h"

#include <math.h>

static double complex *pattern(const cm_trial_case *t, int plane)
{
    double complex *share = CM_NEW(t->session, t->c->plane_count, double complex);
    share[plane] = 1;
    return share;
}

static double repeats(const cm_trial *trial)
{
    double ratio = trial->lower / trial->upper, runs = ceil(ratio * ratio * (1 - 1e-12));
    return trial->upper > 0 && runs <= CM_TRIAL_REPEATS ? runs : 0;
}

/* No reading passes its ceiling with mass u at its own angle, coefficients off by their 99 % radius. */
static bool readings_stay(const cm_trial_case *t, double complex u)
{
    for (int i = 0; i < t->rows; i++) {
        const cm_trial_row *row = &t->row[i];
        if (!row->told ||
            !(cabs(row->y + row->a * u) + CM_TRIAL_SURE * row->spread * cabs(u) <= row->ceiling))
            return false;
    }
    return true;
}

/* The rules for masses of unknown effect do not bind the correction, whose effect is known; the plane's caps
 * do. */
static bool caps_hold(const cm_trial *trial, double mass)
{
    for (int k = 0; k < trial->bound_count; k++)
        if (trial->bounds[k].kind >= CM_BOUND_CAP && mass > trial->bounds[k].mass)
            return false;
    return true;
}

typedef struct {
    int count, room;
    cm_trial_pair *items;
} cm_pairs;

/* The pattern of two equal masses, if its own bounds do not cross. */
static void add_pair(cm_trial_case *t, cm_pairs *pairs, int plane, int other, int opposed)
{
    double complex *share = pattern(t, plane);
    share[other] = opposed ? -1 : 1;
    cm_trial_aim(t, share);
    cm_trial_bound *bounds;
    int row, count = cm_trial_bounds(t, share, &bounds);
    double lower = cm_trial_lower(t, &row);
    if (!count || row < 0 || !(bounds[0].mass > 0) || !(lower <= bounds[0].mass))
        return;
    pairs->items = cm_grow(t->session, pairs->items, pairs->count, &pairs->room, sizeof *pairs->items);
    pairs->items[pairs->count++] = (cm_trial_pair){other, opposed, lower, bounds[0].mass};
}

void cm_trial_ways(cm_trial_case *t, cm_trial *trial)
{
    double size = cabs(trial->correction);
    trial->repeats = repeats(trial);
    trial->correction_safe = trial->angle_known && size >= trial->lower &&
                             readings_stay(t, trial->correction) && caps_hold(trial, size);
    cm_pairs pairs = {0};
    for (int j = 0; j < t->c->plane_count; j++)
        for (int opposed = 0; opposed < 2; opposed++)
            if (trial->plane >= 0 && j != trial->plane)
                add_pair(t, &pairs, trial->plane, j, opposed);
    trial->pair_count = pairs.count;
    trial->pairs = pairs.items;
}
