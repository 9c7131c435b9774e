/* SPDX-License-Identifier: MIT */
/*
 * Where the sums of a plane are too many to list, the search sees a sample of them. Here the positions themselves are
 * looked at: the load of one position, or of any two of all planes together, is changed while that lowers the objective
 * (a piece put on, taken off, exchanged, moved; a hole drilled deeper and another one less deep). Where nothing more can be
 * gained, a few positions are disturbed at random and it begins again from there: iterated local search (Lourenço, Martin
 * and Stützle 2003, from memory).
 *
 * All loads of a position lie on one line of the plane. With the other positions as they are, the best mass on that line
 * follows from the sum of squares in closed form, so of many loads only those next to it are tried.
 *
 * The score is the squared value; a broken cap or limit counts far above any value, and the more the farther it is from
 * being kept. Nothing here is a proof: the bound comes from elsewhere. Numbers are drawn from a fixed sequence: the same
 * number of rounds gives the same answer.
 */
#include "place/singles.h"

#include "base/clock.h"
#include "linalg/dense.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Loads of a position that are all tried; of more, those next to the best mass. */
enum { TRY_ALL = 6, TRY_NEAR = 2, FIRST_OF_PAIR = 48, TRIES_A_LOOK = 1 << 14 };
/* Positions disturbed at a time; rounds without gain after which a disturbed choice is given up for the best again. */
enum { LEAST_DISTURBED = 2, MORE_DISTURBED = 5, PATIENT_ROUNDS = 12, ROUNDS_A_WORD = 64 };

#define SAME 1e-12
#define WITHIN (1 + 1e-12)
#define CAP_NOT_KEPT 1e80

typedef struct cm_option {
    double mass;
    int load; /* -1: nothing */
} cm_option;

/* A position with something to choose from. */
typedef struct cm_spot {
    int k, site;
    double complex unit;     /* reduced mass per mass */
    const cm_option *option; /* by mass */
    int options;
    int now; /* number of the option */
} cm_spot;

typedef struct cm_hands {
    cm_session *session;
    const cm_single_question *q;
    const cm_board *b;
    int spots;
    cm_spot *spot;
    double complex *x; /* n */
    uint64_t *used;    /* n */
    double outside;    /* by how much caps are exceeded, as shares */
    double complex *r; /* rows */
    double complex *h; /* n × n: quadratic part of the weighted sum of squares ... */
    double complex *g; /* n: ... and half its gradient at x */
    double complex *trial;
    double *weight2;              /* rows: of that sum */
    const double complex *toward; /* n: only as near as possible to these totals; NULL: the objective */
    double score, equal;
    int pieces, tries;
    bool over;
    uint64_t random;
} cm_hands;

/* ---- score ---- */

static double cap_excess(const cm_hands *w, int k, double complex x)
{
    const cm_problem *p = w->b->p;
    double sum = 0;
    for (int d = 0; d < p->disc_count; d++) {
        const cm_disc *disc = &p->discs[d];
        if (disc->plane != w->b->plane[k] || !(cabs(x - disc->centre) > disc->radius * WITHIN))
            continue;
        double scale = fmax(disc->radius, cabs(disc->centre));
        sum += (cabs(x - disc->centre) - disc->radius) / (scale > 0 ? scale : 1);
    }
    return sum;
}

static double limit_excess(const cm_board *b, const double complex *r)
{
    double most = 0;
    for (int i = 0; i < b->rows; i++)
        most = fmax(most, cabs(r[i]) / b->limit[i]);
    for (int k = 0; k < b->pairs; k++) {
        const cm_pair *pair = &b->pair[k];
        most = fmax(most, (cabs(r[pair->forward]) + (pair->backward < 0 ? 0 : cabs(r[pair->backward]))) /
                              pair->limit);
    }
    return most;
}

static double score_of_readings(const cm_board *b, const double complex *r)
{
    double value2 = cm_board_value2(b, r);
    return isfinite(value2) ? value2 : CM_NOT_KEPT * (1 + limit_excess(b, r));
}

/* Change of the sum of squares by d on plane k and e on plane l. */
static double change_of_squares(const cm_hands *w, int k, double complex d, int l, double complex e)
{
    int n = w->b->n;
    return 2 * creal(conj(d) * w->g[k] + conj(e) * w->g[l]) + creal(w->h[k + n * k]) * cm_abs2(d) +
           creal(w->h[l + n * l]) * cm_abs2(e) + 2 * creal(conj(d) * w->h[k + n * l] * e);
}

/* Score with d more on plane k and e more on plane l. */
static double score_with(cm_hands *w, int k, double complex d, int l, double complex e)
{
    const cm_board *b = w->b;
    double outside = w->outside - cap_excess(w, k, w->x[k]);
    if (k == l)
        outside += cap_excess(w, k, w->x[k] + d + e);
    else
        outside += cap_excess(w, k, w->x[k] + d) + cap_excess(w, l, w->x[l] + e) - cap_excess(w, l, w->x[l]);
    w->tries++;
    double penalty = outside > SAME ? CAP_NOT_KEPT * outside : 0;
    if (w->toward || !(b->minmax || b->limits))
        return penalty + fmax(0, (w->outside > SAME ? 0 : w->score) + change_of_squares(w, k, d, l, e));
    for (int i = 0; i < b->rows; i++) {
        w->trial[i] = w->r[i] + b->a[i + b->rows * k] * d + b->a[i + b->rows * l] * e;
        if (b->minmax && b->weight[i] * b->weight[i] * cm_abs2(w->trial[i]) > w->score * (1 + SAME))
            return INFINITY;
    }
    return penalty + score_of_readings(b, w->trial);
}

/* Readings, gradient and score at the totals as they are. */
static void settle(cm_hands *w)
{
    const cm_board *b = w->b;
    w->outside = 0;
    for (int k = 0; k < b->n; k++)
        w->outside += cap_excess(w, k, w->x[k]);
    memcpy(w->r, b->start, (size_t)b->rows * sizeof *w->r);
    for (int k = 0; k < b->n; k++)
        for (int i = 0; i < b->rows; i++)
            w->r[i] += b->a[i + b->rows * k] * w->x[k];
    w->score = 0;
    for (int k = 0; k < b->n; k++) {
        w->g[k] = w->toward ? w->x[k] - w->toward[k] : 0;
        for (int i = 0; !w->toward && i < b->rows; i++)
            w->g[k] += w->weight2[i] * conj(b->a[i + b->rows * k]) * w->r[i];
        w->score += w->toward ? cm_abs2(w->g[k]) : 0;
    }
    w->score = w->toward ? w->score : score_of_readings(b, w->r);
    w->score += w->outside > SAME ? CAP_NOT_KEPT * w->outside : 0;
}

static void set_squares(cm_hands *w)
{
    const cm_board *b = w->b;
    for (int k = 0; k < b->n; k++)
        for (int l = 0; l < b->n; l++) {
            double complex sum = w->toward && k == l ? 1 : 0;
            for (int i = 0; !w->toward && i < b->rows; i++)
                sum += w->weight2[i] * conj(b->a[i + b->rows * k]) * b->a[i + b->rows * l];
            w->h[k + b->n * l] = sum;
        }
}

/* ---- loads ---- */

static const cm_loads *loads_of(const cm_hands *w, const cm_spot *spot)
{
    return &w->q->shelves[w->b->plane[spot->k]].loads;
}

static uint64_t used_by(const cm_hands *w, const cm_spot *spot, int option)
{
    int load = spot->option[option].load;
    return load < 0 ? 0 : loads_of(w, spot)->load[load].used;
}

static int handled_by(const cm_hands *w, const cm_spot *spot, int option)
{
    int load = spot->option[option].load;
    return load < 0 ? 0 : loads_of(w, spot)->load[load].handled;
}

static double complex step_of(const cm_spot *spot, int option)
{
    return (spot->option[option].mass - spot->option[spot->now].mass) * spot->unit;
}

static void put(cm_hands *w, cm_spot *spot, int option)
{
    w->used[spot->k] += used_by(w, spot, option) - used_by(w, spot, spot->now);
    w->pieces += handled_by(w, spot, option) - handled_by(w, spot, spot->now);
    w->x[spot->k] += step_of(spot, option);
    spot->now = option;
}

/* What plane k uses without the spots that are being changed. */
static uint64_t rest_of(const cm_hands *w, const cm_spot *spot, const cm_spot *other)
{
    uint64_t rest = w->used[spot->k] - used_by(w, spot, spot->now);
    return other && other->k == spot->k ? rest - used_by(w, other, other->now) : rest;
}

/* Option whose mass is next to `mass`, from below. */
static int next_to(const cm_spot *spot, double mass)
{
    int low = 0, high = spot->options - 1;
    while (low < high) {
        int middle = (low + high + 1) / 2;
        if (spot->option[middle].mass <= mass)
            low = middle;
        else
            high = middle - 1;
    }
    return low;
}

/* First and last option that is tried when the sum of squares has gradient g at the spot's plane. */
static void range_of(const cm_hands *w, const cm_spot *spot, double complex g, int *first, int *last)
{
    *first = 0;
    *last = spot->options - 1;
    if (spot->options <= TRY_ALL)
        return;
    double size = creal(w->h[spot->k + w->b->n * spot->k]) * cm_abs2(spot->unit);
    double mass = spot->option[spot->now].mass - (size > 0 ? creal(conj(spot->unit) * g) / size : 0);
    int at = next_to(spot, mass);
    *first = at - TRY_NEAR + 1 > 0 ? at - TRY_NEAR + 1 : 0;
    *last = at + TRY_NEAR < *last ? at + TRY_NEAR : *last;
}

/* ---- moves ---- */

typedef struct cm_move {
    cm_spot *spot[2];
    int option[2]; /* of the second -1: it stays */
    double score;
    int pieces; /* more than before */
} cm_move;

static bool is_better(const cm_hands *w, const cm_move *move, double score, int pieces)
{
    double same = SAME * move->score + w->equal;
    return score < move->score - same || (score < move->score + same && pieces < move->pieces);
}

static bool time_is_over(cm_hands *w)
{
    if (w->tries >= TRIES_A_LOOK) {
        w->tries = 0;
        w->over = w->over || cm_is_over(w->session, w->q->deadline);
    }
    return w->over;
}

static void try_single(cm_hands *w, cm_spot *spot, cm_move *move)
{
    int first, last;
    uint64_t rest = rest_of(w, spot, NULL);
    range_of(w, spot, w->g[spot->k], &first, &last);
    for (int o = first; o <= last; o++) {
        if (o == spot->now || !cm_in_stock(loads_of(w, spot), rest, used_by(w, spot, o)))
            continue;
        int pieces = handled_by(w, spot, o) - handled_by(w, spot, spot->now);
        double score = score_with(w, spot->k, step_of(spot, o), spot->k, 0);
        if (is_better(w, move, score, pieces))
            *move = (cm_move){{spot, NULL}, {o, -1}, score, pieces};
    }
}

/* The second spot of a pair whose first one is changed to option o. */
static void try_second(cm_hands *w, cm_spot *spot, int o, cm_spot *second, cm_move *move)
{
    int first, last;
    double complex d = step_of(spot, o);
    uint64_t rest = rest_of(w, second, spot);
    if (second->k == spot->k)
        rest += used_by(w, spot, o);
    range_of(w, second, w->g[second->k] + w->h[second->k + w->b->n * spot->k] * d, &first, &last);
    int more = handled_by(w, spot, o) - handled_by(w, spot, spot->now) - handled_by(w, second, second->now);
    for (int s = first; s <= last; s++) {
        if (s == second->now || !cm_in_stock(loads_of(w, second), rest, used_by(w, second, s)))
            continue;
        int pieces = more + handled_by(w, second, s);
        double score = score_with(w, spot->k, d, second->k, step_of(second, s));
        if (is_better(w, move, score, pieces))
            *move = (cm_move){{spot, second}, {o, s}, score, pieces};
    }
}

static void try_pairs(cm_hands *w, int number, cm_move *move)
{
    cm_spot *spot = &w->spot[number];
    int stride = 1 + (spot->options - 1) / FIRST_OF_PAIR;
    for (int o = spot->now % stride; o < spot->options && !time_is_over(w); o += stride) {
        uint64_t rest = rest_of(w, spot, NULL);
        /* a pair on one plane may free what it needs; across planes each must have it */
        bool alone = cm_in_stock(loads_of(w, spot), rest, used_by(w, spot, o));
        for (int second = 0; o != spot->now && second < w->spots; second++)
            if (second != number && (alone || w->spot[second].k == spot->k))
                try_second(w, spot, o, &w->spot[second], move);
    }
}

static bool take(cm_hands *w, const cm_move *move)
{
    if (!move->spot[0])
        return false;
    put(w, move->spot[0], move->option[0]);
    if (move->option[1] >= 0)
        put(w, move->spot[1], move->option[1]);
    settle(w);
    return true;
}

static cm_move no_move(const cm_hands *w)
{
    return (cm_move){{NULL, NULL}, {-1, -1}, w->score, 0};
}

static bool change_one(cm_hands *w)
{
    cm_move move = no_move(w);
    for (int i = 0; i < w->spots && !time_is_over(w); i++)
        try_single(w, &w->spot[i], &move);
    return take(w, &move);
}

/* The first position that has a pair to gain by; the next time it goes on behind it. */
static bool change_two(cm_hands *w, int *at)
{
    for (int i = 0; i < w->spots && !time_is_over(w); i++) {
        cm_move move = no_move(w);
        int number = (*at + i) % w->spots;
        try_pairs(w, number, &move);
        if (take(w, &move)) {
            *at = (number + 1) % w->spots;
            return true;
        }
    }
    return false;
}

static void descend(cm_hands *w)
{
    int at = 0;
    do
        while (change_one(w))
            ;
    while (!w->over && change_two(w, &at));
}

/* ---- rounds ---- */

static uint64_t draw(cm_hands *w, int below)
{
    uint64_t z = w->random += 0x9e3779b97f4a7c15ULL; /* splitmix64, Steele, Lea and Flood 2014, from memory */
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ z >> 27) * 0x94d049bb133111ebULL;
    return (z ^ z >> 31) % (uint64_t)below;
}

static void disturb(cm_hands *w)
{
    int count = LEAST_DISTURBED + (int)draw(w, MORE_DISTURBED);
    for (int i = 0; i < count; i++) {
        cm_spot *spot = &w->spot[draw(w, w->spots)];
        int option = (int)draw(w, spot->options);
        if (cm_in_stock(loads_of(w, spot), rest_of(w, spot, NULL), used_by(w, spot, option)))
            put(w, spot, option);
    }
    settle(w);
}

/* The loads as they are now become a choice among the best. */
static void keep(cm_hands *w, cm_singles *out)
{
    int at = out->count;
    double same = SAME * w->score + w->equal;
    for (int i = 0; i < out->count; i++)
        if (fabs(out->best[i].score - w->score) <= same && out->best[i].pieces <= w->pieces)
            return;
    while (at > 0 &&
           w->score < out->best[at - 1].score + (w->pieces < out->best[at - 1].pieces ? same : -same))
        at--;
    if (at == out->keep || !(w->score < CM_NOT_KEPT))
        return;
    out->count += out->count < out->keep;
    cm_single one = out->best[out->count - 1];
    for (int i = out->count - 1; i > at; i--)
        out->best[i] = out->best[i - 1];
    one.score = w->score;
    one.pieces = w->pieces;
    memcpy(one.x, w->x, (size_t)w->b->n * sizeof *one.x);
    for (int i = 0; i < w->spots; i++)
        one.load[w->spot[i].k][w->spot[i].site] = w->spot[i].option[w->spot[i].now].load;
    out->best[at] = one;
}

static void go_to(cm_hands *w, int spot, int load)
{
    cm_spot *s = &w->spot[spot];
    for (int o = 0; o < s->options; o++)
        if (s->option[o].load == load)
            put(w, s, o);
}

static void go_back(cm_hands *w, const cm_single *best)
{
    for (int i = 0; i < w->spots; i++)
        if (w->spot[i].option[w->spot[i].now].load != best->load[w->spot[i].k][w->spot[i].site])
            go_to(w, i, best->load[w->spot[i].k][w->spot[i].site]);
    settle(w);
}

static void clear(cm_hands *w)
{
    for (int i = 0; i < w->spots; i++)
        go_to(w, i, -1);
}

/* The choice behind points of the lists. */
static void go_to_points(cm_hands *w, const int *point)
{
    clear(w);
    for (int k = 0; k < w->b->n; k++) {
        const cm_shelf *shelf = &w->q->shelves[w->b->plane[k]];
        if (shelf->slide)
            continue;
        cm_used_load *list = CM_NEW(w->session, shelf->loads.shop->site_count, cm_used_load);
        int count = cm_shelf_loads(shelf, point[k], list);
        for (int i = 0; i < w->spots; i++)
            for (int u = 0; w->spot[i].k == k && u < count; u++)
                if (list[u].site == w->spot[i].site)
                    go_to(w, i, (int)(list[u].load - shelf->loads.load));
    }
    settle(w);
}

/* As near as possible to the best masses of any size, from nothing. */
static void round_aim(cm_hands *w)
{
    double complex *aim = CM_NEW(w->session, w->b->n, double complex);
    for (int k = 0; k < w->b->n; k++)
        aim[k] = w->q->aim[w->b->plane[k]];
    clear(w);
    w->toward = aim;
    set_squares(w);
    settle(w);
    descend(w);
    w->toward = NULL;
    set_squares(w);
    settle(w);
}

static void begin(cm_hands *w, cm_singles *out)
{
    for (int i = 0; i < w->q->begins; i++) {
        go_to_points(w, w->q->begin[i]);
        descend(w);
        keep(w, out);
    }
    clear(w);
    settle(w);
    descend(w);
    keep(w, out);
    if (!w->q->aim)
        return;
    round_aim(w);
    descend(w);
    keep(w, out);
}

static void tell(const cm_hands *w, const cm_singles *out, int round)
{
    const cm_place_question *told = w->q->told;
    if (told && told->progress && round % ROUNDS_A_WORD == 0)
        told->progress(told->context, round, out->count ? sqrt(out->best[0].score) : NAN, w->q->bound);
}

static void go_on(cm_hands *w, cm_singles *out)
{
    double least = w->score;
    for (int round = 0, patient = 0; round < w->q->most_rounds && !w->over; round++) {
        if (out->count && (out->best[0].score <= w->q->enough2))
            return;
        if (out->count && patient++ == PATIENT_ROUNDS) {
            go_back(w, &out->best[draw(w, out->count)]);
            least = w->score;
            patient = 0;
        }
        disturb(w);
        descend(w);
        keep(w, out);
        if (w->score < least) {
            least = w->score;
            patient = 0;
        }
        w->over = w->over || cm_is_over(w->session, w->q->deadline);
        tell(w, out, round);
    }
}

/* ---- what there is ---- */

static int by_mass(const void *a, const void *b)
{
    const cm_option *first = a, *second = b;
    if (first->mass < second->mass || first->mass > second->mass)
        return first->mass < second->mass ? -1 : 1;
    return first->load - second->load;
}

/* Nothing, and the loads of a position. */
static const cm_option *options_of(cm_session *session, const cm_loads *loads, int site)
{
    int count = loads->count[site];
    cm_option *list = CM_NEW(session, count + 1, cm_option);
    list[count] = (cm_option){0, -1};
    for (int i = 0; i < count; i++)
        list[i] = (cm_option){loads->load[loads->first[site] + i].mass, loads->first[site] + i};
    qsort(list, (size_t)count + 1, sizeof *list, by_mass);
    return list;
}

static int nothing_of(const cm_spot *spot)
{
    int at = 0;
    while (spot->option[at].load >= 0)
        at++;
    return at;
}

/* Positions that offer the same loads share their list. */
static void add_spots(cm_hands *w, int k)
{
    const cm_shelf *shelf = &w->q->shelves[w->b->plane[k]];
    const cm_shop_plane *shop = shelf->loads.shop;
    const cm_spot *like = NULL;
    for (int s = 0; !shelf->slide && s < shop->site_count; s++) {
        if (!shelf->loads.count[s])
            continue;
        bool own = shop->sites[s].taken || !like;
        cm_spot *spot = &w->spot[w->spots++];
        *spot = (cm_spot){.k = k,
                          .site = s,
                          .unit = shop->sites[s].direction * shop->reduce,
                          .option = own ? options_of(w->session, &shelf->loads, s) : like->option,
                          .options = shelf->loads.count[s] + 1};
        spot->now = nothing_of(spot);
        like = shop->sites[s].taken ? like : spot;
    }
}

static int positions_of(const cm_board *b, const cm_shelf *shelves)
{
    int count = 0;
    for (int k = 0; k < b->n; k++)
        for (int s = 0; !shelves[b->plane[k]].slide && s < shelves[b->plane[k]].loads.shop->site_count; s++)
            count += shelves[b->plane[k]].loads.count[s] > 0;
    return count;
}

bool cm_singles_possible(const cm_board *b, const cm_shelf *shelves)
{
    return positions_of(b, shelves) > 0;
}

/* What a groove keeps: the point of the first choice, or what is next to the present. */
static int point_of(const cm_single_question *q, int k)
{
    return q->begins ? q->begin[0][k]
                     : cm_points_nearest(&q->board->points[k], q->board->p->now[q->board->plane[k]]);
}

static cm_hands hands_of(cm_session *session, const cm_single_question *q)
{
    const cm_board *b = q->board;
    cm_hands w = {.session = session,
                  .q = q,
                  .b = b,
                  .spot = CM_NEW(session, positions_of(b, q->shelves), cm_spot),
                  .x = CM_NEW(session, b->n, double complex),
                  .used = CM_NEW(session, b->n, uint64_t),
                  .r = CM_NEW(session, b->rows, double complex),
                  .trial = CM_NEW(session, b->rows, double complex),
                  .h = CM_NEW(session, (size_t)b->n * (size_t)b->n, double complex),
                  .g = CM_NEW(session, b->n, double complex),
                  .weight2 = CM_NEW(session, b->rows, double)};
    for (int k = 0; k < b->n; k++) {
        const cm_shelf *shelf = &q->shelves[b->plane[k]];
        w.x[k] = shelf->slide ? b->points[k].x[point_of(q, k)] : b->p->now[b->plane[k]];
        add_spots(&w, k);
    }
    for (int i = 0; i < b->rows; i++) {
        double weight = b->minmax ? q->levels->row_weight[i] : b->weight[i];
        w.weight2[i] = weight * weight;
        w.equal += b->weight[i] * b->weight[i] * cm_abs2(b->start[i]);
    }
    w.equal *= 1e-14;
    return w;
}

static cm_singles room_for(cm_session *session, const cm_single_question *q)
{
    const cm_board *b = q->board;
    cm_singles out = {.keep = q->keep, .best = CM_NEW(session, q->keep, cm_single)};
    for (int i = 0; i < q->keep; i++) {
        cm_single *one = &out.best[i];
        *one = (cm_single){.x = CM_NEW(session, b->n, double complex),
                           .load = CM_NEW(session, b->n, int *),
                           .point = CM_NEW(session, b->n, int)};
        for (int k = 0; k < b->n; k++) {
            const cm_shelf *shelf = &q->shelves[b->plane[k]];
            one->point[k] = shelf->slide ? point_of(q, k) : 0;
            one->load[k] = shelf->slide ? NULL : CM_NEW(session, shelf->loads.shop->site_count, int);
            for (int s = 0; one->load[k] && s < shelf->loads.shop->site_count; s++)
                one->load[k][s] = -1;
        }
    }
    return out;
}

cm_singles cm_singles_of(cm_session *session, const cm_single_question *question)
{
    cm_singles out = room_for(session, question);
    cm_hands w = hands_of(session, question);
    if (!w.spots)
        return out;
    set_squares(&w);
    settle(&w);
    begin(&w, &out);
    go_on(&w, &out);
    return out;
}
