/* SPDX-License-Identifier: MIT */
/* Values of sets that can do equally well differ in their last digits: a plane that adds nothing would stand before or
 * after its smaller set by chance. So values are first put in order, then those that cannot be told from the best of
 * their group are made equal to it, and the number of planes decides. What their proofs leave open, at most 1e-10, and
 * otherwise 1e-12, cannot be told. */
#include "planes/rank.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME 1e-12
#define MOST_OPEN 1e-10

typedef struct cm_ranked {
    cm_plane_set set;
    double key; /* least is best; INFINITY: no value */
    int planes;
} cm_ranked;

static int by_key(const void *left, const void *right)
{
    const cm_ranked *a = left;
    const cm_ranked *b = right;
    return a->key < b->key ? -1 : a->key > b->key;
}

static int by_rank(const void *left, const void *right)
{
    const cm_ranked *a = left;
    const cm_ranked *b = right;
    if (a->key != b->key)
        return a->key < b->key ? -1 : 1;
    if (a->set.count != b->set.count)
        return a->set.count < b->set.count ? -1 : 1;
    return memcmp(b->set.in, a->set.in, (size_t)a->planes); /* earlier planes first */
}

/* Share of its value by which a set may be better than its value says. */
static double open_share(const cm_plane_set *set)
{
    double open = fabs(set->value - set->bound) / fabs(set->value);
    return open > SAME ? fmin(open, MOST_OPEN) : SAME; /* NaN, of a value of 0: SAME */
}

/* Values that cannot be told from the first of their group become that value. */
static void join_groups(int count, cm_ranked *ranked)
{
    for (int i = 1, first = 0; i < count; i++) {
        double share = fmax(open_share(&ranked[i].set), open_share(&ranked[first].set));
        if (ranked[i].key - ranked[first].key > share * fabs(ranked[i].key) || isinf(ranked[i].key)) {
            first = i;
            continue;
        }
        ranked[i].key = ranked[first].key;
        ranked[i].set.value = ranked[first].set.value;
    }
}

void cm_rank_sets(cm_session *session, int count, cm_plane_set *sets, int planes, bool descending)
{
    cm_mark mark = cm_mark_of(session);
    cm_ranked *ranked = CM_NEW(session, count, cm_ranked);
    for (int i = 0; i < count; i++) {
        double key = descending ? -sets[i].value : sets[i].value;
        ranked[i] = (cm_ranked){sets[i], isnan(key) ? INFINITY : key, planes};
    }
    qsort(ranked, (size_t)count, sizeof *ranked, by_key);
    join_groups(count, ranked);
    qsort(ranked, (size_t)count, sizeof *ranked, by_rank);
    for (int i = 0; i < count; i++)
        sets[i] = ranked[i].set;
    cm_release_to(session, mark);
}

/* Masses are compared with the same tolerance as values, or rounding would make sets look better by nothing. */
static bool beats(const cm_plane_set *a, const cm_plane_set *b, double sign)
{
    double slack = SAME * fabs(b->total_mass);
    bool as_good =
        sign * a->value <= sign * b->value && a->total_mass <= b->total_mass + slack && a->count <= b->count;
    bool better =
        sign * a->value < sign * b->value || a->total_mass < b->total_mass - slack || a->count < b->count;
    return as_good && better;
}

void cm_mark_pareto(int count, cm_plane_set *sets, bool descending)
{
    double sign = descending ? -1 : 1;
    for (int i = 0; i < count && !isnan(sets[i].value); i++) {
        sets[i].pareto = 1;
        for (int k = 0; k < i && sets[i].pareto; k++) /* only sets that stand before it can beat it */
            sets[i].pareto = !beats(&sets[k], &sets[i], sign);
        for (int k = i + 1; k < count && sets[k].value == sets[i].value && sets[i].pareto; k++)
            sets[i].pareto = !beats(&sets[k], &sets[i], sign);
    }
}
