/* SPDX-License-Identifier: MIT */
/*
 * Sliding the pieces of a groove. With all others where they are, the sum of squares over the angle t of one piece of mass
 * m is  const + 2 Re(conj(g) m exp(it)),  so it is least at t = arg(-g); where there is no room, at the end of a free
 * stretch. Pieces take turns until nothing moves. For a largest reading, and for whatever is left, single pieces and all
 * pieces together try ever smaller steps instead. A local search: what it reaches is valued as it is, and the bound does
 * not rest on it.
 */
#include "base/constants.h"
#include "place/groove.h"

#include "base/clock.h"
#include "linalg/dense.h"
#include "optimise/certificate.h"

#include <math.h>

#define FIRST_STEP (4 * CM_PI / 180)
#define LAST_STEP 1e-9
#define STILL 1e-13

enum { MOST_TURNS = 4000 };

typedef struct cm_sliding {
    const cm_session *session;
    double deadline;
    const cm_problem *p;
    const cm_shop_plane *shop;
    int plane, count;
    cm_slid *list;
    double complex *x;
    double value;
} cm_sliding;

static double complex mass_of(const cm_sliding *s, int i)
{
    const cm_shop_piece *piece = &s->shop->pieces[s->list[i].kind];
    return (piece->mass + piece->screw) * s->shop->reduce * cexp(s->list[i].angle * _Complex_I);
}

static bool has_room(const cm_sliding *s, int i)
{
    if (!cm_groove_has_room(s->shop, s->list[i].angle, s->shop->piece_angle))
        return false;
    for (int k = 0; k < s->count; k++)
        if (k != i && fabs(remainder(s->list[k].angle - s->list[i].angle, 2 * CM_PI)) <
                          s->shop->piece_angle * (1 - 1e-9))
            return false;
    return true;
}

/* Takes the angles as they are now, when they have room, keep the caps and lower the objective. */
static bool accept(cm_sliding *s, double complex change)
{
    for (int i = 0; i < s->count; i++)
        if (!has_room(s, i))
            return false;
    s->x[s->plane] += change;
    double value = cm_recheck_value(s->p, s->x);
    if (value < s->value && cm_recheck_violation(s->p, s->x) <= 1e-12) {
        s->value = value;
        return true;
    }
    s->x[s->plane] -= change;
    return false;
}

static bool move_to(cm_sliding *s, int i, double angle)
{
    double before = s->list[i].angle;
    double complex mass = mass_of(s, i);
    s->list[i].angle = angle;
    if (accept(s, mass_of(s, i) - mass))
        return true;
    s->list[i].angle = before;
    return false;
}

static bool turn_all(cm_sliding *s, double step)
{
    double complex change = 0;
    for (int i = 0; i < s->count; i++) {
        change -= mass_of(s, i);
        s->list[i].angle += step;
        change += mass_of(s, i);
    }
    if (accept(s, change))
        return true;
    for (int i = 0; i < s->count; i++)
        s->list[i].angle -= step;
    return false;
}

/* Gradient of the sum of squares by the conjugate of the plane's mass, without piece i. */
static double complex pull(const cm_sliding *s, int i)
{
    const cm_problem *p = s->p;
    double complex g = 0, without = mass_of(s, i);
    for (int row = 0; row < p->rows; row++) {
        if (!(p->weight[row] > 0))
            continue;
        double complex r = p->y[row], a = p->a[row + p->rows * s->plane];
        for (int j = 0; j < p->planes; j++)
            r += p->a[row + p->rows * j] * (s->x[j] - p->base[j] - (j == s->plane ? without : 0));
        g += p->weight[row] * p->weight[row] * conj(a) * r;
    }
    return g;
}

/* To the best angle, or as far towards it as there is room: ends of stretches and neighbours. */
static bool move_best(cm_sliding *s, int i)
{
    double complex g = pull(s, i);
    double best = carg(-g), own = s->shop->piece_angle;
    bool moved =
        cabs(g) > 0 && fabs(remainder(best - s->list[i].angle, 2 * CM_PI)) > STILL && move_to(s, i, best);
    for (int k = 0; !moved && k < s->count; k++)
        if (k != i)
            moved = move_to(s, i, s->list[k].angle + own) || move_to(s, i, s->list[k].angle - own);
    for (int k = 0; !moved && k < s->shop->arc_count; k++) {
        const cm_shop_arc *arc = &s->shop->arcs[k];
        if (arc->width < 2 * CM_PI)
            moved = move_to(s, i, arc->from + own / 2) || move_to(s, i, arc->from + arc->width - own / 2);
    }
    return moved;
}

static void take_turns(cm_sliding *s)
{
    bool moved = s->p->objective != CM_MIN_MAX;
    for (int turn = 0; moved && turn < MOST_TURNS && !cm_is_over(s->session, s->deadline); turn++) {
        moved = false;
        for (int i = 0; i < s->count; i++)
            moved = move_best(s, i) || moved;
    }
}

static void try_steps(cm_sliding *s)
{
    int turns = 0;
    for (double step = FIRST_STEP;
         step > LAST_STEP && turns < MOST_TURNS && !cm_is_over(s->session, s->deadline); turns++) {
        bool moved = turn_all(s, step) || turn_all(s, -step);
        for (int i = 0; i < s->count; i++)
            moved = move_to(s, i, s->list[i].angle + step) || move_to(s, i, s->list[i].angle - step) || moved;
        step = moved ? step : step / 2;
    }
}

void cm_groove_slide(const cm_session *session, double deadline, const cm_problem *problem,
                     const cm_shop_plane *shop, int plane, cm_slid *list, int count, double complex *x)
{
    cm_sliding s = {session, deadline, problem, shop, plane, count, list, x, cm_recheck_value(problem, x)};
    if (!count)
        return;
    take_turns(&s);
    try_steps(&s);
}
