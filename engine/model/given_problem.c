/* SPDX-License-Identifier: MIT */
/* A caller's problem. Nothing in it may be passed over in silence: a cap of a plane that is not there would leave the
 * plane without one. */
#include "base/given.h"
#include "model/check_arrays.h"
#include "model/given.h"

#include <math.h>
#include <string.h>

enum { ONE, ROWS, PLANES, BLOCKS, TIES, DISCS, PAIRS, COLUMNS, LINES, EXTENTS };

#define ARRAY(member, down, across, element, ...)                                                            \
    {                                                                                                        \
#member, offsetof(cm_problem, member), down, across, element, __VA_ARGS__                            \
    }
#define NUMBERS(optional, rule) optional, rule, 0, -1

static const cm_array_rule ARRAYS[] = {
    ARRAY(block, ROWS, ONE, CM_OF_INT, false, NULL, 0, BLOCKS),
    ARRAY(y, ROWS, ONE, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(a, ROWS, PLANES, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(weight, ROWS, ONE, CM_OF_REAL, NUMBERS(false, &CM_NOT_NEGATIVE)),
    ARRAY(limit, ROWS, ONE, CM_OF_REAL, NUMBERS(true, &CM_LIMIT)),
    ARRAY(base, PLANES, ONE, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(now, PLANES, ONE, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(discs, DISCS, ONE, CM_OF_STRUCT, NUMBERS(false, NULL)),
    ARRAY(ties, TIES, PLANES, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(tie_value, TIES, ONE, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE)),
    ARRAY(pairs, PAIRS, ONE, CM_OF_STRUCT, NUMBERS(false, NULL)),
    ARRAY(columns, PLANES, COLUMNS, CM_OF_COMPLEX, NUMBERS(true, &CM_FINITE)),
    ARRAY(offset, ROWS, ONE, CM_OF_COMPLEX, NUMBERS(true, &CM_FINITE)),
    ARRAY(begin, PLANES, ONE, CM_OF_COMPLEX, NUMBERS(true, &CM_FINITE)),
    ARRAY(column_of, COLUMNS, ONE, CM_OF_INT, true, NULL, 0, -1),
};

static const struct {
    const char *name;
    size_t at;
    int extent;
} COUNTS[] = {
    {"rows", offsetof(cm_problem, rows), ROWS},
    {"planes", offsetof(cm_problem, planes), PLANES},
    {"blocks", offsetof(cm_problem, blocks), BLOCKS},
    {"tie_count", offsetof(cm_problem, tie_count), TIES},
    {"disc_count", offsetof(cm_problem, disc_count), DISCS},
    {"pair_count", offsetof(cm_problem, pair_count), PAIRS},
    {"column_count", offsetof(cm_problem, column_count), COLUMNS},
};

static void check_counts(cm_session *session, const cm_problem *p, size_t *extent)
{
    extent[ONE] = 1;
    for (size_t i = 0; i < sizeof COUNTS / sizeof *COUNTS; i++) {
        int count;
        memcpy(&count, (const char *)p + COUNTS[i].at, sizeof count);
        if (count < 0)
            cm_fail(session, CM_BAD_INPUT, "cm_problem.%s is %d: it must not be negative", COUNTS[i].name,
                    count);
        extent[COUNTS[i].extent] = (size_t)count;
    }
    extent[LINES] = (extent[PLANES] + 1) * (extent[PLANES] + 1);
}

static void check_objective(cm_session *session, const char *name, cm_objective objective)
{
    if ((unsigned)objective > CM_CONFIDENCE)
        cm_fail(session, CM_BAD_INPUT, "cm_problem.%s is %d: there is no such objective", name,
                (int)objective);
}

static void check_objectives(cm_session *session, const cm_problem *p)
{
    check_objective(session, "objective", p->objective);
    if (p->keeps) {
        check_objective(session, "kept", p->kept);
        cm_check_number(session, p->keep_at, &CM_FINITE, "cm_problem.keep_at");
    }
    if (!p->then)
        return;
    check_objective(session, "second", p->second);
    if (p->second == p->objective)
        cm_fail(session, CM_BAD_INPUT, "cm_problem.second is the objective itself: it must be another");
    cm_check_number(session, p->within, &CM_ABOVE_ZERO, "cm_problem.within");
}

static bool asks_for(const cm_problem *p, cm_objective objective)
{
    return p->objective == objective || (p->then && p->second == objective) ||
           (p->keeps && p->kept == objective);
}

/* What objectives cannot do without. */
static void check_needs(cm_session *session, const cm_problem *p, const size_t *extent)
{
    static const cm_array_rule REQUIRED[] = {
        ARRAY(spread, LINES, ROWS, CM_OF_COMPLEX, NUMBERS(false, &CM_FINITE))};
    if (asks_for(p, CM_WORST_CASE))
        cm_check_number(session, p->influence_error, &CM_NOT_NEGATIVE, "cm_problem.influence_error");
    if (asks_for(p, CM_EXPECTED) || asks_for(p, CM_CONFIDENCE))
        cm_check_arrays(session, "cm_problem", p, 1, REQUIRED, extent);
    cm_check_number(session, p->mass_unit, &CM_NOT_NEGATIVE, "cm_problem.mass_unit");
    cm_check_number(session, p->mass_zero, &CM_NOT_NEGATIVE, "cm_problem.mass_zero");
}

static void check_discs(cm_session *session, const cm_problem *p)
{
    for (int d = 0; d < p->disc_count; d++) {
        const cm_disc *disc = &p->discs[d];
        if (disc->plane < 0 || disc->plane >= p->planes)
            cm_fail(session, CM_BAD_INPUT, "cm_problem.discs[%d].plane is %d: there are %d planes", d,
                    disc->plane, p->planes);
        if (!cm_is_finite(disc->centre))
            cm_fail(session, CM_BAD_INPUT, "cm_problem.discs[%d].centre must be finite", d);
        cm_check_number(session, disc->radius, &CM_RADIUS, "cm_problem.discs[%d].radius", d);
    }
}

static void check_held(cm_session *session, const cm_problem *p)
{
    for (int j = 0; p->held && j < p->planes; j++) {
        if (p->held[j] > 1)
            cm_fail(session, CM_BAD_INPUT, "cm_problem.held[%d] is %d: it must be 0 or 1", j, p->held[j]);
        if (p->held[j] && !p->held_value)
            cm_fail(session, CM_BAD_INPUT, "cm_problem.held_value is NULL, but plane %d is held", j);
        if (p->held[j] && !cm_is_finite(p->held_value[j]))
            cm_fail(session, CM_BAD_INPUT, "cm_problem.held_value[%d] must be finite", j);
    }
}

static void check_pair_rows(cm_session *session, const cm_problem *p, int k)
{
    const cm_pair *pair = &p->pairs[k];
    if (pair->parts < 0 || pair->parts > 2)
        cm_fail(session, CM_BAD_INPUT, "cm_problem.pairs[%d].parts is %d: it must be 0, 1 or 2", k,
                pair->parts);
    if (pair->forward < 0 || pair->forward >= p->rows)
        cm_fail(session, CM_BAD_INPUT, "cm_problem.pairs[%d].forward is %d: there are %d rows", k,
                pair->forward, p->rows);
    if (pair->backward >= p->rows || (pair->parts > 0 && pair->backward < 0))
        cm_fail(session, CM_BAD_INPUT, "cm_problem.pairs[%d].backward is %d: there are %d rows%s", k,
                pair->backward, p->rows, pair->parts > 0 ? ", and parts need two" : "");
}

static void check_pairs(cm_session *session, const cm_problem *p)
{
    for (int k = 0; k < p->pair_count; k++) {
        const cm_pair *pair = &p->pairs[k];
        check_pair_rows(session, p, k);
        cm_check_number(session, pair->weight, &CM_NOT_NEGATIVE, "cm_problem.pairs[%d].weight", k);
        cm_check_number(session, pair->limit, &CM_LIMIT, "cm_problem.pairs[%d].limit", k);
        for (int i = 0; i < 2 * pair->parts; i++)
            if (!cm_is_finite(pair->mix[i]))
                cm_fail(session, CM_BAD_INPUT, "cm_problem.pairs[%d].mix[%d] must be finite", k, i);
    }
}

/* Without `held` no plane is held, without `limit` no row has one: put in once, so that the engine need not ask. */
static const cm_problem *complete(cm_session *session, const cm_problem *p)
{
    if (p->held && p->limit)
        return p;
    cm_problem *own = CM_NEW(session, 1, cm_problem);
    double *limit = CM_NEW(session, p->rows, double);
    for (int i = 0; i < p->rows; i++)
        limit[i] = INFINITY;
    *own = *p;
    own->limit = p->limit ? p->limit : limit;
    if (p->held)
        return own;
    own->held = CM_NEW(session, p->planes, unsigned char);
    own->held_value = CM_NEW(session, p->planes, cm_complex);
    return own;
}

const cm_problem *cm_given_problem(cm_session *session, const cm_problem *given)
{
    const cm_problem *p = CM_GIVEN(session, cm_problem, mass_zero, given);
    size_t extent[EXTENTS];
    check_counts(session, p, extent);
    cm_check_arrays(session, "cm_problem", p, (int)(sizeof ARRAYS / sizeof *ARRAYS), ARRAYS, extent);
    check_objectives(session, p);
    check_needs(session, p, extent);
    check_discs(session, p);
    check_held(session, p);
    check_pairs(session, p);
    return complete(session, p);
}
