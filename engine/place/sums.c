/* SPDX-License-Identifier: MIT */
/*
 * Attainable sums, position by position.
 *
 *   S_0 = {0},   S_s = S_(s-1) ∪ {x + reduce · mass_l · direction_s : x in S_(s-1), l a load of s, nothing runs out}
 *
 * Holes in a ring make the same sum in many ways: twelve of them with one piece size make 361 different sums out of 4096
 * choices. So sums are kept in a hash table by a fine grid over their value together with what they use of limited
 * stocks; of several ways the one with the fewest pieces stays. The list only grows, because later sums point to earlier
 * ones. Two equal sums that rounding puts on two sides of a cell's edge are kept twice, which costs a moment and nothing
 * else.
 */
#include "place/sums.h"

#include "base/clock.h"

#include <math.h>

#define CELL 1e-8
/* Cells begin here, so that no natural value sits on an edge. */
#define OFFSET 0.3819660112501051

/* Sums tried between two looks at the clock. */
enum { SUMS_A_LOOK = 1 << 16 };

typedef struct cm_table_of_sums {
    cm_session *session;
    const cm_loads *loads;
    double cell, deadline;
    int pieces, most, room;
    int tried; /* since the last look at the clock */
    int pass;  /* positions begun */
    cm_sums out;
    int *slot;
    size_t slots;
} cm_table_of_sums;

double cm_sums_cell(const cm_loads *loads)
{
    double largest = 0;
    for (int l = 0; l < loads->total; l++)
        largest = fmax(largest, fabs(loads->load[l].mass));
    return CELL * (largest > 0 ? largest : 1) * loads->shop->reduce;
}

static int64_t cell_of(double value, double cell)
{
    return (int64_t)floor(value / cell + OFFSET);
}

static uint64_t mix(uint64_t h)
{
    h ^= h >> 33;
    h *= 0xff51afd7ed558ccdULL;
    h ^= h >> 33;
    h *= 0xc4ceb9fe1a85ec53ULL;
    return h ^ h >> 33;
}

static size_t start_of(const cm_table_of_sums *t, double complex x, uint64_t used)
{
    uint64_t h = mix((uint64_t)cell_of(creal(x), t->cell));
    h = mix(h ^ (uint64_t)cell_of(cimag(x), t->cell));
    return (size_t)mix(h ^ used) & (t->slots - 1);
}

static bool is_same(const cm_table_of_sums *t, const cm_sum *sum, double complex x, uint64_t used)
{
    return sum->used == used && cell_of(creal(sum->x), t->cell) == cell_of(creal(x), t->cell) &&
           cell_of(cimag(sum->x), t->cell) == cell_of(cimag(x), t->cell);
}

/* The slot of a sum: holds its number + 1, or 0. */
static int *find(const cm_table_of_sums *t, double complex x, uint64_t used)
{
    size_t at = start_of(t, x, used);
    while (t->slot[at] && !is_same(t, &t->out.sum[t->slot[at] - 1], x, used))
        at = (at + 1) & (t->slots - 1);
    return &t->slot[at];
}

static void grow_slots(cm_table_of_sums *t)
{
    t->slots *= 4;
    t->slot = CM_NEW(t->session, t->slots, int);
    for (int i = 0; i < t->out.count; i++)
        if (!t->out.sum[i].dead)
            *find(t, t->out.sum[i].x, t->out.sum[i].used) = i + 1;
}

static void put(cm_table_of_sums *t, cm_sum sum)
{
    int *slot = find(t, sum.x, sum.used);
    cm_sum *old = *slot && t->out.sum ? &t->out.sum[*slot - 1] : NULL;
    if (old && old->handled <= sum.handled)
        return;
    if (t->out.count >= t->most) {
        t->out.all = false;
        return;
    }
    if (old)
        old->dead = t->pass;
    t->out.sum = cm_grow(t->session, t->out.sum, t->out.count, &t->room, sizeof *t->out.sum);
    t->out.sum[t->out.count++] = sum;
    *slot = t->out.count;
    if ((size_t)t->out.count * 2 > t->slots)
        grow_slots(t);
}

static void look_at_clock(cm_table_of_sums *t, int tried)
{
    t->tried += tried;
    if (t->tried < SUMS_A_LOOK)
        return;
    t->tried = 0;
    t->out.all = t->out.all && !cm_is_over(t->session, t->deadline);
}

/* Every sum so far with every load of one position. A sum that this very position makes with fewer pieces is replaced
 * from the next position on only: the new one uses this position, the old one may still take it. */
static void add_site(cm_table_of_sums *t, int site)
{
    const cm_loads *loads = t->loads;
    int before = t->out.count;
    t->pass++;
    double complex unit = loads->shop->sites[site].direction * loads->shop->reduce;
    for (int i = 0; i < before && t->out.all; i++) {
        look_at_clock(t, loads->count[site]);
        for (int l = loads->first[site]; l < loads->first[site] + loads->count[site]; l++) {
            const cm_load *load = &loads->load[l];
            const cm_sum from = t->out.sum[i];
            if ((from.dead && from.dead < t->pass) || from.handled + load->handled > t->pieces ||
                !cm_in_stock(loads, from.used, load->used))
                continue;
            put(t, (cm_sum){.x = from.x + load->mass * unit,
                            .used = from.used + load->used,
                            .handled = from.handled + load->handled,
                            .parent = i,
                            .site = site,
                            .load = l});
        }
    }
}

cm_sums cm_sums_of(cm_session *session, const cm_loads *loads, const unsigned char *which, int pieces,
                   int most, double cell, double deadline)
{
    cm_mark mark = cm_mark_of(session);
    cm_table_of_sums t = {.session = session,
                          .loads = loads,
                          .cell = cell,
                          .deadline = deadline,
                          .pieces = pieces,
                          .most = most,
                          .slots = 1024};
    t.out.all = true;
    t.slot = CM_NEW(session, t.slots, int);
    put(&t, (cm_sum){.parent = -1, .site = -1, .load = -1});
    for (int s = 0; s < loads->shop->site_count && t.out.all; s++)
        if (!which || which[s])
            add_site(&t, s);
    if (!t.out.all) {
        cm_release_to(session, mark);
        t.out.sum = NULL;
    }
    return t.out;
}
