/* SPDX-License-Identifier: MIT */
/*
 * Problem: rows that are one sensor at one speed in several operating states, t = 0 … T-1, and readings that move
 * with the group a run belongs to or drift from run to run, levels l:
 *
 *     v_kt = y0 + d_t + sum_l q_kl e_l + sum_j m_kj a_j + error          d_0 = 0
 *
 * a_j is the same in all states; d_t and e_l are unknowns of the row. Both are columns of known entries (1 where a
 * reading belongs to state t; q_kl), so they are planes to the plain fit: weights, ranks, priors, scatter and spread
 * need nothing new. The entries are brought to the size of the masses, since states nearer than the smallest mass are
 * equal there.
 *
 * The base state of the readings of state t has the entry of d_t set and the levels of the base. So there is one fit
 * per state; each tells the rows of its state.
 */
#include "fit/wide.h"

#include <math.h>
#include <string.h>

static double unit_of_masses(const cm_runs *runs)
{
    double largest = 0;
    for (int k = 0; k < runs->runs * runs->planes; k++)
        largest = fmax(largest, cabs(runs->masses[k]));
    return largest > 0 ? largest : 1;
}

static int number_families(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    int families = 0;
    int *size = CM_NEW(session, given->rows, int);
    for (int i = 0; i < given->rows; i++) {
        int first = given->shares ? given->shares[i] : i;
        wide->family[i] = first == i ? families++ : wide->family[first];
        wide->member[i] = size[wide->family[i]]++;
        if (size[wide->family[i]] > wide->members)
            wide->members = size[wide->family[i]];
    }
    return families;
}

static void put_masses(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    int runs = wide->runs.runs;
    double complex *masses = CM_NEW(session, (size_t)runs * (size_t)wide->runs.planes, double complex);
    for (int k = 0; k < runs; k++) {
        int run = k / wide->members, member = k % wide->members;
        for (int j = 0; j < given->planes; j++)
            masses[k + j * runs] = given->masses[run + j * given->runs];
        if (member > 0)
            masses[k + (given->planes + member - 1) * runs] = wide->unit;
        for (int l = 0; l < given->levels; l++)
            masses[k + (given->planes + wide->members - 1 + l) * runs] =
                wide->unit * given->level[run + l * given->runs];
    }
    wide->runs.masses = masses;
}

/* Where the reading of a row in a run stands among the wide ones. */
static size_t cell_of(const cm_wide *wide, int row, int run)
{
    return (size_t)wide->family[row] +
           (size_t)(run * wide->members + wide->member[row]) * (size_t)wide->runs.rows;
}

static void put_readings(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    size_t cells = (size_t)wide->runs.rows * (size_t)wide->runs.runs;
    double complex *readings = CM_NEW(session, cells, double complex);
    int *repeats = CM_NEW(session, cells, int);
    double *spread = given->repeat_spread ? CM_NEW(session, cells, double) : NULL;
    for (int k = 0; k < given->runs; k++)
        for (int i = 0; i < given->rows; i++) {
            size_t from = (size_t)i + (size_t)k * (size_t)given->rows;
            size_t to = cell_of(wide, i, k);
            readings[to] = given->readings[from];
            repeats[to] = given->repeats[from];
            if (spread)
                spread[to] = given->repeat_spread[from];
        }
    wide->runs.readings = readings;
    wide->runs.repeats = repeats;
    wide->runs.repeat_spread = spread;
}

/* Members of a family may repeat differently well: the weights of their readings take that in, so that one scatter
 * serves the family. */
static void put_weights(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    size_t cells = (size_t)wide->runs.rows * (size_t)wide->runs.runs;
    bool plain = given->reading_weight == NULL;
    for (int i = 0; i < given->rows; i++)
        plain = plain && wide->times[i] == 1;
    if (plain)
        return;
    double *weight = CM_NEW(session, cells, double);
    for (int k = 0; k < given->runs; k++)
        for (int i = 0; i < given->rows; i++) {
            size_t from = (size_t)i + (size_t)k * (size_t)given->rows;
            size_t to = cell_of(wide, i, k);
            weight[to] = given->reading_weight ? given->reading_weight[from] : 1;
            weight[to] /= wide->times[i] * wide->times[i];
        }
    wide->runs.reading_weight = weight;
}

/* A family is in the block of its coefficients; its first member with a repeatability speaks for all that have none. */
static void put_rows(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    int *block = CM_NEW(session, wide->runs.rows, int), *pool = CM_NEW(session, wide->runs.rows, int);
    double *repeatability = CM_NEW(session, wide->runs.rows, double);
    double *floors = CM_NEW(session, wide->runs.rows, double);
    for (int i = given->rows - 1; i >= 0; i--) {
        int f = wide->family[i];
        block[f] = given->shared_block ? given->shared_block[i] : given->block[i];
        pool[f] = given->pool[i];
        floors[f] = given->assumed_floor[i];
        if (given->repeatability[i] > 0)
            repeatability[f] = given->repeatability[i];
    }
    for (int i = 0; i < given->rows; i++)
        wide->times[i] =
            given->repeatability[i] > 0 ? given->repeatability[i] / repeatability[wide->family[i]] : 1;
    wide->runs.block = block;
    wide->runs.pool = pool;
    wide->runs.repeatability = repeatability;
    wide->runs.assumed_floor = floors;
}

/* Bases of rows, with the additional columns as they are. */
static void put_bases(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    int n = given->planes, w = wide->runs.planes, bases = 0;
    int *of = CM_NEW(session, wide->runs.rows, int);
    for (int i = given->rows - 1; i >= 0; i--) {
        of[wide->family[i]] = given->basis_of[i];
        bases = given->basis_of[i] >= bases ? given->basis_of[i] + 1 : bases;
    }
    double complex *wider = CM_NEW(session, (size_t)bases * (size_t)w * (size_t)w, double complex);
    for (int b = 0; b < bases; b++)
        for (int j = 0; j < w; j++)
            for (int k = 0; k < w; k++)
                wider[k + w * (j + b * w)] = j < n && k < n ? given->bases[k + n * (j + b * n)] : j == k;
    wide->runs.basis_of = of;
    wide->runs.bases = wider;
}

/* Angles that phases were turned back by. */
static void put_moved(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    size_t cells = (size_t)wide->runs.rows * (size_t)wide->runs.runs;
    int *of = CM_NEW(session, wide->runs.runs, int);
    double complex *reading = CM_NEW(session, cells, double complex);
    double complex *gain = CM_NEW(session, cells * (size_t)given->moved, double complex);
    for (int k = 0; k < wide->runs.runs; k++)
        of[k] = given->moved_of[k / wide->members];
    for (int k = 0; k < given->runs; k++)
        for (int i = 0; i < given->rows; i++) {
            size_t from = (size_t)i + (size_t)k * (size_t)given->rows, to = cell_of(wide, i, k);
            reading[to] = given->moved_reading[from];
            for (size_t m = 0; m < (size_t)given->moved; m++)
                gain[to + m * cells] =
                    given->moved_gain[from + m * (size_t)given->rows * (size_t)given->runs];
        }
    wide->runs.moved = given->moved;
    wide->runs.moved_of = of;
    wide->runs.moved_reading = reading;
    wide->runs.moved_gain = gain;
}

static void put_known(cm_session *session, cm_wide *wide)
{
    const cm_runs *given = wide->given;
    cm_known *known = CM_NEW(session, given->known_count, cm_known);
    for (int k = 0; k < given->known_count; k++) {
        if (given->known[k].row < 0 || given->known[k].row >= given->rows)
            cm_fail(session, CM_BAD_INPUT, "known coefficient %d: row or plane out of range", k);
        known[k] = given->known[k];
        known[k].row = wide->family[known[k].row];
    }
    wide->runs.known = known;
    wide->runs.known_count = given->known_count;
}

void cm_wide_base(cm_wide *wide, int member)
{
    const cm_runs *given = wide->given;
    memset(wide->base, 0, (size_t)wide->runs.planes * sizeof *wide->base);
    for (int j = 0; j < given->planes; j++)
        wide->base[j] = given->base[j];
    if (member > 0)
        wide->base[given->planes + member - 1] = wide->unit;
    for (int l = 0; l < given->levels; l++)
        wide->base[given->planes + wide->members - 1 + l] = wide->unit * given->base_level[l];
}

cm_wide cm_widen(cm_session *session, const cm_runs *runs)
{
    cm_wide wide = {.given = runs, .members = 1, .unit = unit_of_masses(runs)};
    wide.family = CM_NEW(session, runs->rows, int);
    wide.member = CM_NEW(session, runs->rows, int);
    wide.times = CM_NEW(session, runs->rows, double);
    wide.runs = (cm_runs){.size = sizeof wide.runs, .mass_zero = runs->mass_zero};
    wide.runs.rows = number_families(session, &wide);
    wide.extra = wide.members - 1 + runs->levels;
    wide.runs.planes = runs->planes + wide.extra;
    wide.runs.runs = runs->runs * wide.members;
    put_masses(session, &wide);
    put_readings(session, &wide);
    put_rows(session, &wide);
    put_weights(session, &wide);
    put_known(session, &wide);
    wide.runs.set_count = runs->set_count;
    if (runs->basis_of)
        put_bases(session, &wide);
    if (runs->moved)
        put_moved(session, &wide);
    wide.base = CM_NEW(session, wide.runs.planes, double complex);
    wide.runs.base = wide.base;
    return wide;
}
