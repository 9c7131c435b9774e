/* SPDX-License-Identifier: MIT */
/*
 * Fewer pieces for nearly the same. The search of search.c with the value held fixed at what is still good enough, and the
 * number of pieces as what is to be beaten: children with few pieces first.
 */
#include "place/walk.h"

#include <string.h>

typedef struct cm_few {
    cm_walk walk;
    int pieces; /* best so far ... */
    double value2;
    int *point;
} cm_few;

static int by_pieces(const void *a, const void *b)
{
    const cm_child *first = a, *second = b;
    if (first->handled != second->handled)
        return first->handled - second->handled;
    if (first->cost < second->cost || first->cost > second->cost)
        return first->cost < second->cost ? -1 : 1;
    return first->point - second->point;
}

static void take(cm_few *few, int pieces)
{
    const cm_board *b = few->walk.board;
    double value2 = cm_board_value2(b, few->walk.readings);
    if (!(value2 <= few->walk.fixed2) || (pieces == few->pieces && !(value2 < few->value2)))
        return;
    few->pieces = pieces;
    few->value2 = value2;
    memcpy(few->point, few->walk.point, (size_t)b->n * sizeof *few->point);
}

static void descend(cm_few *few, int k, double spent, int pieces)
{
    cm_walk *w = &few->walk;
    cm_walk_children(w, k, spent, by_pieces);
    for (int i = 0; i < w->child_count[k]; i++) {
        cm_child child = w->children[k][i];
        if (pieces + child.handled > few->pieces || cm_walk_must_halt(w))
            return;
        cm_walk_choose(w, k, &child);
        if (k == 0)
            take(few, pieces + child.handled);
        else
            descend(few, k - 1, spent + child.cost, pieces + child.handled);
    }
}

int cm_search_fewest(cm_session *session, const cm_levels *levels, const cm_patience *patience,
                     double within2, int *point)
{
    const cm_board *b = levels->board;
    cm_few few = {.walk = cm_walk_new(session, levels, patience), .value2 = HUGE_VAL, .point = point};
    few.walk.fixed = true;
    few.walk.fixed2 = within2;
    for (int k = 0; k < b->n; k++)
        few.pieces += b->points[k].handled[point[k]];
    descend(&few, b->n - 1, levels->constant, 0);
    return few.pieces;
}
