/* SPDX-License-Identifier: MIT */
/* A caller's runs: arrays and indices. What readings and known coefficients must be is checked by the fit, also for the
 * runs that the engine makes. */
#include "base/given.h"
#include "model/check_arrays.h"
#include "model/given.h"

#include <string.h>

enum { ONE, ROWS, PLANES, RUNS, KNOWN, LEVELS, SETS, MOVED, READINGS, EXTENTS };

#define ARRAY(member, down, across, element, ...)                                                            \
    {                                                                                                        \
#member, offsetof(cm_runs, member), down, across, element, __VA_ARGS__                               \
    }
#define NUMBERS(optional, rule) optional, rule, 0, -1

static const cm_array_rule ARRAYS[] = {
    ARRAY(block, ROWS, ONE, CM_OF_INT, false, NULL, 0, -1),
    ARRAY(pool, ROWS, ONE, CM_OF_INT, false, NULL, 0, -1),
    ARRAY(masses, RUNS, PLANES, CM_OF_COMPLEX, NUMBERS(false, NULL)),
    ARRAY(readings, ROWS, RUNS, CM_OF_COMPLEX, NUMBERS(false, NULL)),
    ARRAY(repeats, ROWS, RUNS, CM_OF_INT, false, NULL, 0, -1),
    ARRAY(repeat_spread, ROWS, RUNS, CM_OF_REAL, NUMBERS(true, &CM_NOT_NEGATIVE)),
    ARRAY(repeatability, ROWS, ONE, CM_OF_REAL, NUMBERS(true, &CM_NOT_NEGATIVE)),
    ARRAY(assumed_floor, ROWS, ONE, CM_OF_REAL, NUMBERS(false, &CM_NOT_NEGATIVE)),
    ARRAY(known, KNOWN, ONE, CM_OF_STRUCT, NUMBERS(false, NULL)),
    ARRAY(base, PLANES, ONE, CM_OF_COMPLEX, NUMBERS(false, NULL)),
    ARRAY(shares, ROWS, ONE, CM_OF_INT, true, NULL, 0, ROWS),
    ARRAY(shared_block, ROWS, ONE, CM_OF_INT, true, NULL, 0, -1),
    ARRAY(level, RUNS, LEVELS, CM_OF_REAL, NUMBERS(false, &CM_FINITE)),
    ARRAY(base_level, LEVELS, ONE, CM_OF_REAL, NUMBERS(false, &CM_FINITE)),
    ARRAY(turned_repeats, ROWS, RUNS, CM_OF_INT, true, NULL, 0, -1),
    ARRAY(moved_of, RUNS, ONE, CM_OF_INT, true, NULL, -1, MOVED),
    ARRAY(moved_reading, READINGS, ONE, CM_OF_COMPLEX, NUMBERS(true, NULL)),
    ARRAY(sets, PLANES, SETS, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(basis_of, ROWS, ONE, CM_OF_INT, true, NULL, -1, ROWS),
    ARRAY(drift_level, RUNS, ONE, CM_OF_REAL, NUMBERS(true, &CM_FINITE)),
};

static const struct {
    const char *name;
    size_t at;
    int extent, least;
} COUNTS[] = {
    {"rows", offsetof(cm_runs, rows), ROWS, 1},
    {"planes", offsetof(cm_runs, planes), PLANES, 0},
    {"runs", offsetof(cm_runs, runs), RUNS, 1},
    {"known_count", offsetof(cm_runs, known_count), KNOWN, 0},
    {"levels", offsetof(cm_runs, levels), LEVELS, 0},
    {"set_count", offsetof(cm_runs, set_count), SETS, 0},
    {"moved", offsetof(cm_runs, moved), MOVED, 0},
};

static void check_counts(cm_session *session, const cm_runs *runs, size_t *extent)
{
    extent[ONE] = 1;
    for (size_t i = 0; i < sizeof COUNTS / sizeof *COUNTS; i++) {
        int count;
        memcpy(&count, (const char *)runs + COUNTS[i].at, sizeof count);
        if (count < COUNTS[i].least)
            cm_fail(session, CM_BAD_INPUT, "cm_runs.%s is %d: it must be at least %d", COUNTS[i].name, count,
                    COUNTS[i].least);
        extent[COUNTS[i].extent] = (size_t)count;
    }
    extent[READINGS] = extent[ROWS] * extent[RUNS];
}

/* Arrays that go together. */
static void check_companions(cm_session *session, const cm_runs *runs)
{
    if (runs->moved > 0 && !(runs->moved_of && runs->moved_reading && runs->moved_gain))
        cm_fail(session, CM_BAD_INPUT,
                "cm_runs.moved is %d: that needs moved_of, moved_reading and moved_gain", runs->moved);
    for (int i = 0; runs->basis_of && i < runs->rows; i++)
        if (runs->basis_of[i] >= 0 && !runs->bases)
            cm_fail(session, CM_BAD_INPUT, "cm_runs.bases is NULL, but row %d has basis %d", i,
                    runs->basis_of[i]);
    for (int i = 0; runs->shares && i < runs->rows; i++)
        if (runs->shares[runs->shares[i]] != runs->shares[i] || runs->shares[i] > i)
            cm_fail(session, CM_BAD_INPUT,
                    "cm_runs.shares[%d] is %d: it must be the first row with the same coefficients", i,
                    runs->shares[i]);
    for (int k = 0; k < runs->known_count; k++)
        if (runs->known[k].set < 0 || runs->known[k].set > runs->set_count)
            cm_fail(session, CM_BAD_INPUT, "cm_runs.known[%d].set is %d: there are %d sets", k,
                    runs->known[k].set, runs->set_count);
}

/* Without `repeatability` no row declares one: put in once, so that the engine need not ask. */
static const cm_runs *complete(cm_session *session, const cm_runs *runs)
{
    if (runs->repeatability)
        return runs;
    cm_runs *own = CM_NEW(session, 1, cm_runs);
    *own = *runs;
    own->repeatability = CM_NEW(session, runs->rows, double);
    return own;
}

const cm_runs *cm_given_runs(cm_session *session, const cm_runs *given)
{
    const cm_runs *runs = CM_GIVEN(session, cm_runs, mass_zero, given);
    size_t extent[EXTENTS];
    check_counts(session, runs, extent);
    cm_check_arrays(session, "cm_runs", runs, (int)(sizeof ARRAYS / sizeof *ARRAYS), ARRAYS, extent);
    cm_check_number(session, runs->mass_zero, &CM_NOT_NEGATIVE, "cm_runs.mass_zero");
    check_companions(session, runs);
    return complete(session, runs);
}
