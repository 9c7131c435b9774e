/* SPDX-License-Identifier: MIT */
/* The fit list: what goes where, with running totals, forces and rim speeds. */
#include "base/constants.h"
#include "place/fitting.h"

#include "optimise/certificate.h"
#include "place/groove.h"
#include "standards/hazard.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int pieces_put_on(cm_session *session, const cm_shop_plane *shop, const cm_load *load,
                         cm_fit_entry *entry)
{
    cm_fit_piece *list = CM_NEW(session, shop->piece_count, cm_fit_piece);
    int count = 0;
    for (int k = 0; load->count && k < shop->piece_count; k++) {
        const cm_shop_piece *piece = &shop->pieces[k];
        if (!load->count[k])
            continue;
        list[count++] = (cm_fit_piece){k, piece->mass, piece->screw, piece->replaces, load->count[k]};
        entry->screw += load->count[k] * piece->screw;
    }
    if (load->kind == CM_FIT_ADD)
        entry->screw += shop->site_screw;
    entry->pieces = list;
    return count;
}

static int pieces_taken_out(cm_session *session, const cm_shop_plane *shop, int site, const cm_load *load,
                            cm_fit_entry *entry)
{
    cm_fit_piece *list = CM_NEW(session, shop->installed_count, cm_fit_piece);
    int count = 0;
    for (int k = 0; cm_installed_at(shop, site, k) >= 0; k++)
        if (load->taken_out >> k & 1) {
            double mass = shop->installed[cm_installed_at(shop, site, k)].mass;
            list[count] = (cm_fit_piece){.kind = -1, .mass = mass, .count = 1};
            count++;
        }
    entry->pieces = list;
    return count;
}

/* Greatest force of one piece with its own screw and that of the position, and of all that is put on. */
static void put_forces(const cm_shop_plane *shop, double omega, cm_fit_entry *entry)
{
    double heaviest = 0, all = entry->screw;
    entry->rim_speed = cm_rim_speed(shop->radius, omega);
    for (int i = 0; i < entry->piece_count && entry->pieces[i].kind >= 0; i++) {
        const cm_fit_piece *piece = &entry->pieces[i];
        heaviest =
            fmax(heaviest, piece->mass + piece->screw + (entry->kind == CM_FIT_ADD ? shop->site_screw : 0));
        all += piece->count * piece->mass;
    }
    bool on = entry->kind == CM_FIT_ADD || entry->kind == CM_FIT_EXCHANGE;
    entry->piece_force = on ? cm_centrifugal_force(heaviest, shop->radius, omega) : NAN;
    entry->force = on ? cm_centrifugal_force(all, shop->radius, omega) : NAN;
}

static cm_fit_entry entry_of(cm_session *session, const cm_shop_plane *shop, int plane,
                             const cm_used_load *used, double omega)
{
    const cm_shop_site *site = &shop->sites[used->site];
    const cm_load *load = used->load;
    cm_fit_entry entry = {.kind = load->kind,
                          .plane = plane,
                          .site = used->site,
                          .number = site->number,
                          .direction = site->direction,
                          .mass = load->mass,
                          .reduced = load->mass * shop->reduce * site->direction,
                          .radius = shop->radius,
                          .depth = NAN,
                          .full_depth = NAN};
    if (load->kind == CM_FIT_TAKE_OUT)
        entry.piece_count = pieces_taken_out(session, shop, used->site, load, &entry);
    else
        entry.piece_count = pieces_put_on(session, shop, load, &entry);
    if (load->kind == CM_FIT_DRILL) {
        entry.depth = load->depth;
        entry.full_depth = cm_full_depth(shop, load->depth);
    }
    put_forces(shop, omega, &entry);
    return entry;
}

static const int *loads_on(const cm_chosen *chosen, int k)
{
    return chosen->load ? chosen->load[k] : NULL;
}

/* The loads of a plane in order of position; returns their number. */
static int loads_of(const cm_shelf *shelf, const cm_chosen *chosen, int k, cm_used_load *list)
{
    const int *load = loads_on(chosen, k);
    int count = 0;
    if (!load)
        return cm_shelf_loads(shelf, chosen->point[k], list);
    for (int s = 0; s < shelf->loads.shop->site_count; s++)
        if (load[s] >= 0)
            list[count++] = (cm_used_load){s, &shelf->loads.load[load[s]]};
    return count;
}

/* Entries of one plane behind those there are; returns how many there are then. */
static int add_plane(cm_session *session, const cm_board *board, int k, const cm_shelf *shelf,
                     const cm_chosen *chosen, double omega, cm_fit_entry *entries, int count)
{
    int plane = board->plane[k];
    const cm_shop_plane *shop = shelf->loads.shop;
    cm_used_load *used = CM_NEW(session, shop->site_count, cm_used_load);
    int loads = loads_of(shelf, chosen, k, used);
    double complex running = board->p->now[plane];
    for (int i = 0; i < loads; i++) {
        entries[count] = entry_of(session, shop, plane, &used[i], omega);
        running += entries[count].reduced;
        entries[count++].running = running;
    }
    return count;
}

/* ---- grooves ---- */

/* Pieces in a groove by plane: NULL where there is none. */
typedef struct cm_in_groove {
    int count;
    cm_slid *list;
} cm_in_groove;

enum { ROUNDS = 3 };

/* Lets the pieces of all grooves slide; x follows. */
static cm_in_groove *slide_all(cm_session *session, const cm_board *board, const cm_shelf *shelves,
                               const int *point, double deadline, double complex *x)
{
    cm_in_groove *in = CM_NEW(session, board->n, cm_in_groove);
    int grooves = 0;
    for (int k = 0; k < board->n; k++) {
        const cm_shelf *shelf = &shelves[board->plane[k]];
        if (!shelf->slide)
            continue;
        in[k].list = CM_NEW(session, CM_MOST_SLID, cm_slid);
        in[k].count = cm_groove_pieces(shelf, point[k], in[k].list);
        grooves++;
    }
    for (int round = 0; round < (grooves > 1 ? ROUNDS : 1); round++)
        for (int k = 0; k < board->n; k++)
            if (in[k].list)
                cm_groove_slide(session, deadline, board->p, shelves[board->plane[k]].loads.shop,
                                board->plane[k], in[k].list, in[k].count, x);
    return in;
}

static cm_fit_entry slid_entry(cm_session *session, const cm_shop_plane *shop, int plane, const cm_slid *slid,
                               double omega)
{
    const cm_shop_piece *piece = &shop->pieces[slid->kind];
    cm_fit_piece *list = CM_NEW(session, 1, cm_fit_piece);
    double complex direction = cexp(slid->angle * _Complex_I);
    double mass = piece->mass + piece->screw;
    *list = (cm_fit_piece){slid->kind, piece->mass, piece->screw, 0, 1};
    cm_fit_entry entry = {.kind = CM_FIT_ADD,
                          .plane = plane,
                          .site = -1,
                          .direction = direction,
                          .mass = mass,
                          .reduced = mass * shop->reduce * direction,
                          .radius = shop->radius,
                          .screw = piece->screw,
                          .depth = NAN,
                          .full_depth = NAN,
                          .piece_count = 1,
                          .pieces = list};
    put_forces(shop, omega, &entry);
    return entry;
}

static int by_angle(const void *a, const void *b)
{
    double first = ((const cm_slid *)a)->angle, second = ((const cm_slid *)b)->angle;
    return (first > second) - (first < second);
}

static int add_groove(cm_session *session, const cm_board *board, int k, const cm_shelf *shelf,
                      cm_in_groove *in, double omega, cm_fit_entry *entries, int count)
{
    double complex running = board->p->now[board->plane[k]];
    for (int i = 0; i < in->count; i++) {
        in->list[i].angle = fmod(in->list[i].angle, 2 * CM_PI);
        in->list[i].angle += in->list[i].angle < 0 ? 2 * CM_PI : 0;
    }
    qsort(in->list, (size_t)in->count, sizeof *in->list, by_angle);
    for (int i = 0; i < in->count; i++) {
        entries[count] = slid_entry(session, shelf->loads.shop, board->plane[k], &in->list[i], omega);
        running += entries[count].reduced;
        entries[count++].running = running;
    }
    return count;
}

/* ---- all planes ---- */

static int room_of(const cm_board *board, const cm_shelf *shelves)
{
    int room = 0;
    for (int k = 0; k < board->n; k++) {
        const cm_shelf *shelf = &shelves[board->plane[k]];
        room += shelf->slide ? CM_MOST_SLID : shelf->loads.shop->site_count;
    }
    return room;
}

static int pieces_of(const cm_board *board, const cm_shelf *shelves, const cm_chosen *chosen)
{
    int pieces = 0;
    for (int k = 0; k < board->n; k++) {
        const cm_shelf *shelf = &shelves[board->plane[k]];
        const int *load = loads_on(chosen, k);
        for (int s = 0; load && s < shelf->loads.shop->site_count; s++)
            pieces += load[s] >= 0 ? shelf->loads.load[load[s]].handled : 0;
        pieces += load ? 0 : board->points[k].handled[chosen->point[k]];
    }
    return pieces;
}

/* Total masses of a choice. */
static void put_masses(const cm_board *board, const cm_shelf *shelves, const cm_chosen *chosen,
                       double complex *x)
{
    memcpy(x, board->still, (size_t)board->p->planes * sizeof *x);
    for (int k = 0; k < board->n; k++) {
        int plane = board->plane[k];
        const cm_shop_plane *shop = shelves[plane].loads.shop;
        const int *load = loads_on(chosen, k);
        x[plane] = load ? board->p->now[plane] : board->points[k].x[chosen->point[k]];
        for (int s = 0; load && s < shop->site_count; s++)
            if (load[s] >= 0)
                x[plane] += shelves[plane].loads.load[load[s]].mass * shop->reduce * shop->sites[s].direction;
    }
}

cm_fitting cm_fitting_of(cm_session *session, const cm_board *board, const cm_shelf *shelves,
                         const cm_chosen *chosen, double omega, double deadline)
{
    const cm_problem *p = board->p;
    int count = 0;
    cm_fit_entry *entries = CM_NEW(session, room_of(board, shelves), cm_fit_entry);
    double complex *x = CM_NEW(session, p->planes, double complex);
    put_masses(board, shelves, chosen, x);
    cm_in_groove *in = slide_all(session, board, shelves, chosen->point, deadline, x);
    for (int k = 0; k < board->n; k++) {
        const cm_shelf *shelf = &shelves[board->plane[k]];
        count = shelf->slide ? add_groove(session, board, k, shelf, &in[k], omega, entries, count)
                             : add_plane(session, board, k, shelf, chosen, omega, entries, count);
    }
    return (cm_fitting){.value = cm_recheck_value(p, x),
                        .largest_ratio = cm_recheck_ratio(p, x),
                        .pieces = pieces_of(board, shelves, chosen),
                        .x = x,
                        .entry_count = count,
                        .entries = entries};
}
