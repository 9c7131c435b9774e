/* SPDX-License-Identifier: MIT */
/* The loads of every position, from what the plane offers and what may be done to it. */
#include "place/loads.h"

#include <limits.h>
#include <math.h>

/* A position with more choices than this has no use for them all. */
enum { MOST_LOADS = 100000, MOST_INSTALLED_AT_ONE = 12 };

/* Masses this close are the same piece. */
#define SAME_MASS 1e-9

typedef struct cm_loading {
    cm_session *session;
    cm_loads *loads;
} cm_loading;

static void add_load(cm_loading *to, cm_load load)
{
    cm_loads *loads = to->loads;
    if (loads->total >= MOST_LOADS)
        cm_fail(
            to->session, CM_BAD_INPUT,
            "the plane '%s' offers more than %d ways to load one position; take fewer kinds of 'pieces', a "
            "smaller 'per_site' or a coarser 'step' of the drill",
            to->loads->shop->name ? to->loads->shop->name : "", MOST_LOADS);
    loads->load = cm_grow(to->session, loads->load, loads->total, &loads->room, sizeof *loads->load);
    loads->load[loads->total++] = load;
}

/* ---- what runs out ---- */

static int filled_most(const cm_shop_plane *shop)
{
    double pieces = (double)shop->per_site * shop->site_count + shop->installed_count;
    return pieces < INT_MAX ? (int)pieces : INT_MAX;
}

static void add_counter(cm_session *session, cm_loads *loads, int most)
{
    int shift = loads->counters ? loads->counter[loads->counters - 1].shift : 0;
    uint64_t mask = loads->counters ? loads->counter[loads->counters - 1].mask : 0, wide = 1;
    while (mask) {
        shift++;
        mask >>= 1;
    }
    while (wide - 1 < 2 * (uint64_t)most)
        wide <<= 1;
    int bits = 0;
    while ((uint64_t)1 << bits < wide)
        bits++;
    if (loads->counters == CM_MOST_COUNTERS || shift + bits > 63)
        cm_fail(
            session, CM_BAD_INPUT,
            "the plane '%s' has more 'pieces' with a 'stock' of their own than can be counted; leave out the "
            "stock of those that will not run out",
            loads->shop->name ? loads->shop->name : "");
    loads->counter[loads->counters++] = (cm_counter){shift, wide - 1, (uint64_t)most};
}

/* One counter for each kind whose stock can run out, then one for the pieces in all when these are limited. */
static void set_counters(cm_session *session, cm_loads *loads, int *counter_of)
{
    const cm_shop_plane *shop = loads->shop;
    int most = filled_most(shop);
    for (int k = 0; k < shop->piece_count; k++) {
        counter_of[k] = shop->pieces[k].stock < most ? loads->counters : -1;
        if (counter_of[k] >= 0)
            add_counter(session, loads, shop->pieces[k].stock);
    }
    counter_of[shop->piece_count] = shop->most < most ? loads->counters : -1;
    if (counter_of[shop->piece_count] >= 0)
        add_counter(session, loads, shop->most);
}

bool cm_in_stock(const cm_loads *loads, uint64_t a, uint64_t b)
{
    for (int i = 0; i < loads->counters; i++) {
        const cm_counter *c = &loads->counter[i];
        if ((a >> c->shift & c->mask) + (b >> c->shift & c->mask) > c->most)
            return false;
    }
    return true;
}

static uint64_t uses(const cm_loads *loads, int counter, int count)
{
    return counter < 0 ? 0 : (uint64_t)count << loads->counter[counter].shift;
}

/* A load is possible at all when its own counts fit. */
static bool fits(const cm_loads *loads, const cm_shop_plane *shop, const int *count, int handled)
{
    for (int k = 0; k < shop->piece_count; k++)
        if (count && count[k] > shop->pieces[k].stock)
            return false;
    (void)loads;
    return handled <= shop->most;
}

/* ---- adding ---- */

static void add_pieces(cm_loading *to, const int *counter_of, const int *count, int handled)
{
    const cm_shop_plane *shop = to->loads->shop;
    int *kept = CM_NEW(to->session, shop->piece_count, int);
    double mass = shop->site_screw;
    uint64_t used = uses(to->loads, counter_of[shop->piece_count], handled);
    for (int k = 0; k < shop->piece_count; k++) {
        const cm_shop_piece *piece = &shop->pieces[k];
        kept[k] = count[k];
        mass += count[k] * (piece->mass + piece->screw - piece->replaces);
        used += uses(to->loads, counter_of[k], count[k]);
    }
    add_load(to,
             (cm_load){.kind = CM_FIT_ADD, .mass = mass, .handled = handled, .used = used, .count = kept});
}

/* All choices of kinds `from` on that fill up to `room` more places. */
static void choose_pieces(cm_loading *to, const int *counter_of, int *count, int from, int handled, int room)
{
    const cm_shop_plane *shop = to->loads->shop;
    for (int k = from; room > 0 && k < shop->piece_count; k++) {
        count[k]++;
        if (fits(to->loads, shop, count, handled + 1)) {
            add_pieces(to, counter_of, count, handled + 1);
            choose_pieces(to, counter_of, count, k, handled + 1, room - 1);
        }
        count[k]--;
    }
}

static void choose_depths(cm_loading *to, const int *counter_of)
{
    const cm_shop_plane *shop = to->loads->shop;
    int steps =
        shop->drill_diameter > 0
            ? (int)fmin(floor(shop->drill_deepest / shop->drill_step * (1 + SAME_MASS)), MOST_LOADS + 1)
            : 0;
    for (int s = 1; s <= steps; s++)
        add_load(to, (cm_load){.kind = CM_FIT_DRILL,
                               .mass = -cm_drilled_mass(shop, s * shop->drill_step),
                               .handled = 1,
                               .used = uses(to->loads, counter_of[shop->piece_count], 1),
                               .depth = s * shop->drill_step});
}

/* ---- taking out, exchanging ---- */

int cm_installed_at(const cm_shop_plane *shop, int site, int k)
{
    for (int i = 0; i < shop->installed_count; i++)
        if (shop->installed[i].site == site && k-- == 0)
            return i;
    return -1;
}

static void take_out(cm_loading *to, const int *counter_of, int site, int there)
{
    const cm_shop_plane *shop = to->loads->shop;
    for (unsigned chosen = 1; chosen < 1u << there; chosen++) {
        double mass = 0;
        int handled = 0;
        for (int k = 0; k < there; k++)
            if (chosen >> k & 1) {
                mass += shop->installed[cm_installed_at(shop, site, k)].mass;
                handled++;
            }
        if (handled <= shop->most)
            add_load(to, (cm_load){.kind = CM_FIT_TAKE_OUT,
                                   .mass = -mass,
                                   .handled = handled,
                                   .taken_out = chosen,
                                   .used = uses(to->loads, counter_of[shop->piece_count], handled)});
    }
}

/* A piece that replaces just what sits there may take its place. */
static void exchange(cm_loading *to, const int *counter_of, int site, int there)
{
    const cm_shop_plane *shop = to->loads->shop;
    for (int k = 0; k < shop->piece_count; k++) {
        const cm_shop_piece *piece = &shop->pieces[k];
        double sits = there == 1 ? shop->installed[cm_installed_at(shop, site, 0)].mass : 0;
        if (piece->stock < 1 || shop->most < 1 || !(sits > 0) ||
            fabs(piece->replaces - sits) > SAME_MASS * sits)
            continue;
        int *count = CM_NEW(to->session, shop->piece_count, int);
        count[k] = 1;
        add_load(to, (cm_load){.kind = CM_FIT_EXCHANGE,
                               .mass = piece->mass + piece->screw - sits,
                               .handled = 1,
                               .used = uses(to->loads, counter_of[k], 1) +
                                       uses(to->loads, counter_of[shop->piece_count], 1),
                               .count = count,
                               .taken_out = 1});
    }
}

/* ---- positions ---- */

static void load_free(cm_loading *to, const int *counter_of)
{
    const cm_shop_plane *shop = to->loads->shop;
    int *count = CM_NEW(to->session, shop->piece_count, int);
    if (shop->action != CM_ACTION_REMOVE)
        choose_pieces(to, counter_of, count, 0, 0, shop->per_site);
    if (shop->action != CM_ACTION_ADD)
        choose_depths(to, counter_of);
}

static void load_taken(cm_loading *to, const int *counter_of, int site)
{
    const cm_shop_plane *shop = to->loads->shop;
    int there = 0;
    while (there < MOST_INSTALLED_AT_ONE && cm_installed_at(shop, site, there) >= 0)
        there++;
    if (shop->action != CM_ACTION_ADD)
        take_out(to, counter_of, site, there);
    if (shop->action == CM_ACTION_EITHER)
        exchange(to, counter_of, site, there);
}

cm_loads cm_loads_of(cm_session *session, const cm_shop_plane *shop)
{
    cm_loads loads = {.shop = shop,
                      .first = CM_NEW(session, shop->site_count, int),
                      .count = CM_NEW(session, shop->site_count, int)};
    cm_loading to = {session, &loads};
    int *counter_of = CM_NEW(session, shop->piece_count + 1, int);
    set_counters(session, &loads, counter_of);
    load_free(&to, counter_of);
    int free_count = loads.total;
    for (int s = 0; s < shop->site_count; s++) {
        if (shop->sites[s].blocked && !shop->sites[s].taken)
            continue;
        loads.first[s] = shop->sites[s].taken ? loads.total : 0;
        if (shop->sites[s].taken)
            load_taken(&to, counter_of, s);
        loads.count[s] = shop->sites[s].taken ? loads.total - loads.first[s] : free_count;
    }
    return loads;
}
