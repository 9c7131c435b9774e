/* SPDX-License-Identifier: MIT */
/*
 * A groove: angles are continuous, so its sums cannot be listed. What is listed is a sample: the pieces lie in one or two
 * rows without gaps, each row at angles some degrees apart; coarser for many pieces, so that the list stays short. The
 * search chooses among these; afterwards every piece slides by itself while that lowers the objective (groove_slide.c).
 * The bound does not rest on the sample: it takes any mass within reach of the plane's pieces, at any angle.
 */
#include "place/groove.h"
#include "base/constants.h"

#include "linalg/dense.h"

#include <limits.h>
#include <math.h>
#include <string.h>

enum { MOST_POINTS = 150000, MOST_CHOICES = 1200, MOST_STEPS = 360, FEWEST_STEPS = 12 };

/* Of more pieces than this only two halves are tried. */
enum { DEALT_FREELY = 24 };

/* Two rows of pieces: counts of each kind. */
typedef struct cm_two_rows {
    int *first, *second;
    int pieces, in_first;
} cm_two_rows;

typedef struct cm_grooving {
    cm_session *session;
    const cm_problem *p;
    int plane;
    const cm_shop_plane *shop;
    cm_shelf *shelf;
    int choices;
    cm_two_rows choice[MOST_CHOICES];
    int count, room, handled_room, slide_room;
    double complex *x;
    int *handled;
    cm_slide *slide;
} cm_grooving;

/* ---- how much fits ---- */

static int pieces_that_fit(const cm_shop_plane *shop)
{
    double count = 0;
    for (int i = 0; i < shop->arc_count; i++)
        count += floor(shop->arcs[i].width / shop->piece_angle * (1 + 1e-12));
    return (int)fmin(count, shop->most);
}

static double net_mass(const cm_shop_piece *piece)
{
    return piece->mass + piece->screw;
}

/* No choice of pieces can be heavier than the heaviest that fit. */
static double greatest(const cm_shop_plane *shop)
{
    double sum = 0, below = INFINITY;
    for (int left = pieces_that_fit(shop); left > 0;) {
        double heaviest = 0;
        int stock = 0;
        for (int k = 0; k < shop->piece_count; k++) {
            double mass = net_mass(&shop->pieces[k]);
            if (mass < below && mass > heaviest)
                heaviest = mass;
        }
        for (int k = 0; k < shop->piece_count; k++)
            if (net_mass(&shop->pieces[k]) >= heaviest && net_mass(&shop->pieces[k]) <= heaviest)
                stock = shop->pieces[k].stock > INT_MAX - stock ? INT_MAX : stock + shop->pieces[k].stock;
        if (!(heaviest > 0))
            break;
        int taken = stock < left ? stock : left;
        sum += taken * heaviest;
        left -= taken;
        below = heaviest;
    }
    return sum * shop->reduce;
}

/* ---- which pieces in which row ---- */

static void add_choice(cm_grooving *g, const int *first, const int *second, int in_first, int pieces)
{
    size_t size = (size_t)g->shop->piece_count * sizeof(int);
    if (g->choices == MOST_CHOICES)
        return;
    cm_two_rows *rows = &g->choice[g->choices++];
    *rows = (cm_two_rows){CM_NEW(g->session, g->shop->piece_count, int),
                          CM_NEW(g->session, g->shop->piece_count, int), pieces, in_first};
    memcpy(rows->first, first, size);
    memcpy(rows->second, second, size);
}

/* Deals `left` more pieces of kinds `kind` on into the two rows; the first row gets at least half of all. */
static void deal(cm_grooving *g, int *first, int *second, int kind, int left, int in_first, int pieces)
{
    const cm_shop_plane *shop = g->shop;
    if (kind == shop->piece_count || g->choices == MOST_CHOICES) {
        bool halves = 2 * in_first <= pieces + 1;
        if (left == 0 && 2 * in_first >= pieces && (halves || pieces <= DEALT_FREELY))
            add_choice(g, first, second, in_first, pieces);
        return;
    }
    int most = shop->pieces[kind].stock < left ? shop->pieces[kind].stock : left;
    for (first[kind] = 0; first[kind] <= most; first[kind]++)
        for (second[kind] = 0; first[kind] + second[kind] <= most; second[kind]++)
            deal(g, first, second, kind + 1, left - first[kind] - second[kind], in_first + first[kind],
                 pieces);
    first[kind] = second[kind] = 0;
}

/* Few pieces first, until there are enough choices. */
static void choose(cm_grooving *g)
{
    int *first = CM_NEW(g->session, g->shop->piece_count, int),
        *second = CM_NEW(g->session, g->shop->piece_count, int);
    int most = pieces_that_fit(g->shop);
    most = most < CM_MOST_SLID ? most : CM_MOST_SLID;
    for (int pieces = 1; pieces <= most && g->choices < MOST_CHOICES; pieces++)
        deal(g, first, second, 0, pieces, 0, pieces);
}

/* ---- angles ---- */

/* Mass of a row as if its middle were at angle 0: piece after piece in the order of their kinds. */
static double complex row_mass(const cm_shop_plane *shop, const int *counts, int pieces)
{
    double complex sum = 0;
    int at = 0;
    for (int k = 0; k < shop->piece_count; k++)
        for (int i = 0; i < counts[k]; i++, at++)
            sum +=
                net_mass(&shop->pieces[k]) * cexp((at - 0.5 * (pieces - 1)) * shop->piece_angle * _Complex_I);
    return sum * shop->reduce;
}

static double on_circle(double angle)
{
    double turned = fmod(angle, 2 * CM_PI);
    return turned < 0 ? turned + 2 * CM_PI : turned;
}

bool cm_groove_has_room(const cm_shop_plane *shop, double angle, double width)
{
    for (int i = 0; i < shop->arc_count; i++) {
        const cm_shop_arc *arc = &shop->arcs[i];
        double into = on_circle(angle - arc->from);
        if (arc->width >= 2 * CM_PI ||
            (into >= width / 2 * (1 - 1e-9) && into <= arc->width - width / 2 * (1 - 1e-9)))
            return true;
    }
    return false;
}

static bool is_allowed(const cm_grooving *g, double complex x)
{
    for (int d = 0; d < g->p->disc_count; d++) {
        const cm_disc *disc = &g->p->discs[d];
        if (disc->plane == g->plane && cabs(x - disc->centre) > disc->radius * (1 + 1e-12))
            return false;
    }
    return true;
}

static void add_point(cm_grooving *g, int choice, double first, double second, double complex change)
{
    double complex x = g->p->now[g->plane] + change;
    if (!is_allowed(g, x))
        return;
    g->x = cm_grow(g->session, g->x, g->count, &g->room, sizeof *g->x);
    g->handled = cm_grow(g->session, g->handled, g->count, &g->handled_room, sizeof *g->handled);
    g->slide = cm_grow(g->session, g->slide, g->count, &g->slide_room, sizeof *g->slide);
    g->x[g->count] = x;
    g->handled[g->count] = choice < 0 ? 0 : g->choice[choice].pieces;
    g->slide[g->count++] = (cm_slide){choice < 0 ? NULL : g->choice[choice].first,
                                      choice < 0 ? NULL : g->choice[choice].second,
                                      {first, second}};
}

/* One row at the ends of the free stretches. */
static void sample_ends(cm_grooving *g, int choice, double width, double complex mass)
{
    for (int i = 0; i < g->shop->arc_count; i++) {
        const cm_shop_arc *arc = &g->shop->arcs[i];
        const double ends[] = {arc->from + width / 2, arc->from + arc->width - width / 2};
        for (int k = 0; arc->width >= width && k < 2; k++)
            add_point(g, choice, ends[k], 0, mass * cexp(ends[k] * _Complex_I));
    }
}

/* All angles of the two rows, `steps` around the circle. */
static void sample(cm_grooving *g, int choice, int steps)
{
    const cm_two_rows *rows = &g->choice[choice];
    int in_second = rows->pieces - rows->in_first;
    double width = rows->in_first * g->shop->piece_angle, other = in_second * g->shop->piece_angle;
    double complex first = row_mass(g->shop, rows->first, rows->in_first);
    double complex second = row_mass(g->shop, rows->second, in_second);
    if (!in_second)
        sample_ends(g, choice, width, first);
    for (int i = 0; i < steps; i++) {
        double at = 2 * CM_PI * i / steps;
        if (!cm_groove_has_room(g->shop, at, width))
            continue;
        double complex here = first * cexp(at * _Complex_I);
        if (!in_second)
            add_point(g, choice, at, 0, here);
        for (int j = 0; in_second && j < steps; j++) {
            double there = 2 * CM_PI * j / steps, apart = fabs(remainder(at - there, 2 * CM_PI));
            if (apart >= (width + other) / 2 * (1 - 1e-9) && cm_groove_has_room(g->shop, there, other))
                add_point(g, choice, at, there, here + second * cexp(there * _Complex_I));
        }
    }
}

static void sample_all(cm_grooving *g)
{
    int two = 0;
    for (int i = 0; i < g->choices; i++)
        two += g->choice[i].in_first < g->choice[i].pieces;
    int steps = (int)sqrt((double)MOST_POINTS / (two ? two : 1));
    steps = steps > MOST_STEPS ? MOST_STEPS : steps < FEWEST_STEPS ? FEWEST_STEPS : steps;
    add_point(g, -1, 0, 0, 0);
    for (int i = 0; i < g->choices; i++)
        sample(g, i, g->choice[i].in_first < g->choice[i].pieces ? steps : MOST_STEPS);
}

void cm_groove_list(cm_session *session, const cm_problem *p, int plane, cm_shelf *shelf)
{
    cm_grooving *g = CM_NEW(session, 1, cm_grooving);
    *g = (cm_grooving){.session = session, .p = p, .plane = plane, .shop = shelf->loads.shop, .shelf = shelf};
    choose(g);
    if (!g->choices)
        return;
    sample_all(g);
    shelf->allowed = g->count > 0;
    shelf->moves = g->count > 1 || (g->count == 1 && g->handled[0] > 0);
    shelf->partial = true;
    if (!shelf->moves)
        return;
    int *origin = CM_NEW(session, g->count, int);
    for (int i = 0; i < g->count; i++)
        origin[i] = i;
    shelf->points = cm_points_new(session, g->count, g->x, g->handled, origin);
    shelf->slide = g->slide;
    shelf->centre = p->now[plane];
    shelf->reach = greatest(shelf->loads.shop);
    for (int d = 0; d < p->disc_count; d++)
        if (p->discs[d].plane == plane && p->discs[d].radius < shelf->reach) {
            shelf->centre = p->discs[d].centre;
            shelf->reach = p->discs[d].radius;
        }
    shelf->spacing = cm_points_spacing(&shelf->points);
}

int cm_groove_pieces(const cm_shelf *shelf, int point, cm_slid *list)
{
    const cm_shop_plane *shop = shelf->loads.shop;
    const cm_slide *slide = &shelf->slide[shelf->points.origin[point]];
    int count = 0;
    for (int row = 0; slide->first && row < 2; row++) {
        const int *counts = row ? slide->second : slide->first;
        int pieces = 0, at = 0;
        for (int k = 0; k < shop->piece_count; k++)
            pieces += counts[k];
        for (int k = 0; k < shop->piece_count; k++)
            for (int i = 0; i < counts[k]; i++, at++)
                list[count++] =
                    (cm_slid){k, slide->angle[row] + (at - 0.5 * (pieces - 1)) * shop->piece_angle};
    }
    return count;
}
