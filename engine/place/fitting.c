/* SPDX-License-Identifier: MIT */
/* The fit list: what goes where, with running totals, forces and rim speeds. */
#include "place/fitting.h"

#include "optimise/certificate.h"
#include "standards/hazard.h"

#include <math.h>

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
        if (load->taken_out >> k & 1)
            list[count++] = (cm_fit_piece){
                .kind = -1, .mass = shop->installed[cm_installed_at(shop, site, k)].mass, .count = 1};
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

/* Entries of one plane behind those there are; returns how many there are then. */
static int add_plane(cm_session *session, const cm_board *board, int k, const cm_shelf *shelf, int point,
                     double omega, cm_fit_entry *entries, int count)
{
    int plane = board->plane[k];
    const cm_shop_plane *shop = shelf->loads.shop;
    cm_used_load *used = CM_NEW(session, shop->site_count, cm_used_load);
    int loads = cm_shelf_loads(shelf, point, used);
    double complex running = board->p->now[plane];
    for (int i = 0; i < loads; i++) {
        entries[count] = entry_of(session, shop, plane, &used[i], omega);
        running += entries[count].reduced;
        entries[count++].running = running;
    }
    return count;
}

cm_fitting cm_fitting_of(cm_session *session, const cm_board *board, const cm_shelf *shelves,
                         const int *point, double omega)
{
    const cm_problem *p = board->p;
    int room = 0, count = 0, pieces = 0;
    for (int k = 0; k < board->n; k++)
        room += shelves[board->plane[k]].loads.shop->site_count;
    cm_fit_entry *entries = CM_NEW(session, room, cm_fit_entry);
    double complex *x = CM_NEW(session, p->planes, double complex);
    cm_board_masses(board, point, x);
    for (int k = 0; k < board->n; k++) {
        pieces += board->points[k].handled[point[k]];
        count = add_plane(session, board, k, &shelves[board->plane[k]], point[k], omega, entries, count);
    }
    return (cm_fitting){.value = cm_recheck_value(p, x),
                        .largest_ratio = cm_recheck_ratio(p, x),
                        .pieces = pieces,
                        .x = x,
                        .entry_count = count,
                        .entries = entries};
}
