/* SPDX-License-Identifier: MIT */
/* Problem: of all sets S of columns the ones with least
 *     rho(S) = max over views of min |c - B_S x|²,
 * so many of each size.
 *
 * Method: the deletion tree. A node (V, k) is a set V in stair form whose
 * first k columns stay; its leading subsets of more than k columns come free,
 * as sums over the reduced right-hand side. Its children leave out column
 * p = k, k+1, … and keep all before. Every set appears exactly once, over half
 * as many nodes. rho(V) bounds all subsets of V, so a child none of whose
 * sizes can enter its list is not entered. A set holds the k kept columns, so
 * the tree ends where k reaches the largest size asked for.
 *
 * Columns whose loss costs most come first, at the root and, while a node has
 * many columns, again there: then the largest subtrees lack a strong column
 * and are cut first.
 *
 * Source: Furnival & Wilson, Technometrics 16, 1974 (leaps and bounds); Gatu &
 * Kontoghiorghes, J. Comput. Graph. Stat. 15, 2006 (orthogonal version and
 * ordering), both from memory. */
#include "planes/tree.h"

#include "linalg/dense.h"
#include "planes/stair.h"

#include <math.h>
#include <string.h>

#undef I

/* Nodes with fewer free columns are not ordered again: the tree below is cheaper than the ordering. */
#define REORDER_COLUMNS 10
#define ASK_EVERY 4096

typedef struct cm_node_level {
    cm_stair *stair; /* views */
    int columns;     /* free columns of the node */
    int *column;     /* which they are */
    double *norm;    /* views × columns of the search: norm of each, in this order */
    double *least;   /* columns + 1 */
} cm_node_level;

typedef struct cm_walk {
    cm_session *session;
    const cm_search *search;
    cm_shortlist *list;
    cm_node_level *level;
    cm_stair *trial;       /* views: for the ordering */
    double complex *dense; /* for the ordering */
    uint64_t seen;
    int countdown;
    bool stopped;
} cm_walk;

static double *norms(const cm_walk *walk, cm_node_level *level, int view)
{
    return level->norm + (size_t)view * (size_t)walk->search->columns;
}

static bool stop_asked(cm_walk *walk)
{
    if (walk->stopped || --walk->countdown > 0)
        return walk->stopped;
    walk->countdown = ASK_EVERY;
    walk->stopped = walk->search->stop && walk->search->stop(walk->search->context);
    return walk->stopped;
}

/* rho of the whole node. */
static double node_rest(const cm_walk *walk, const cm_node_level *level)
{
    double rest = 0;
    for (int v = 0; v < walk->search->views; v++)
        rest = fmax(rest, level->stair[v].rest);
    return rest;
}

/* Offers the leading subsets of a node. */
static void offer(cm_walk *walk, cm_node_level *level, cm_set kept, int k)
{
    memset(level->least, 0, (size_t)level->columns * sizeof(double));
    for (int v = 0; v < walk->search->views; v++)
        cm_stair_least(level->stair + v, level->least);
    int last = walk->search->at_most - k < level->columns ? walk->search->at_most - k : level->columns;
    for (int t = 0; t < last; t++) {
        kept |= (cm_set)1 << level->column[t];
        cm_shortlist_offer(walk->list, k + t + 1, kept, level->least[t]);
    }
    walk->seen += (uint64_t)last;
}

/* Whether a set of least + 1 … most columns with at least this much left could still enter its list. */
static bool hopeless(const cm_walk *walk, double rest, int least, int most)
{
    if (most > walk->search->at_most)
        most = walk->search->at_most;
    for (int size = least + 1; size <= most; size++)
        if (rest < walk->list->cutoff[size])
            return false;
    return true;
}

static void leave_open(cm_walk *walk, double rest, int least, int most)
{
    for (int size = least + 1; size <= most && size <= walk->search->at_most; size++)
        walk->list->open[size] = fmin(walk->list->open[size], rest);
}

/* Child of `parent` without column p. */
static void drop(cm_walk *walk, cm_node_level *parent, int p, cm_node_level *child)
{
    child->columns = parent->columns - p - 1;
    memcpy(child->column, parent->column + p + 1, (size_t)child->columns * sizeof(int));
    for (int v = 0; v < walk->search->views; v++) {
        cm_stair_drop(child->stair + v, parent->stair + v, p, norms(walk, parent, v));
        memcpy(norms(walk, child, v), norms(walk, parent, v) + p + 1,
               (size_t)child->columns * sizeof(double));
    }
}

/* What is left of the right-hand side when one column alone is taken out of the node. */
static void cost_of_loss(cm_walk *walk, cm_node_level *level, double *cost)
{
    for (int p = 0; p < level->columns; p++) {
        cost[p] = 0;
        for (int v = 0; v < walk->search->views; v++) {
            cm_stair_drop(walk->trial + v, level->stair + v, p, norms(walk, level, v));
            cost[p] = fmax(cost[p], walk->trial[v].rest);
        }
    }
}

/* Positions by falling cost; stable, so that equal columns stay in the order of the case. */
static void order_by_cost(int n, const double *cost, int *position)
{
    for (int i = 0; i < n; i++) {
        int j = i;
        for (; j > 0 && cost[position[j - 1]] < cost[i]; j--)
            position[j] = position[j - 1];
        position[j] = i;
    }
}

static void restair(cm_walk *walk, cm_stair *stair, const int *position, const double *norm)
{
    int rows = stair->rows;
    int reach[CM_SET_PLANES + 1];
    for (int t = 0, pivots = 0; t <= stair->columns; t++) {
        pivots = t == stair->columns ? rows : pivots + (stair->pivot[t] >= 0);
        reach[t] = pivots; /* what is below has been reduced to zero */
    }
    for (int t = 0; t <= stair->columns; t++) {
        int from = t < stair->columns ? position[t] : t;
        for (int r = 0; r < rows; r++) {
            size_t at = (size_t)r * (size_t)stair->stride + (size_t)from;
            walk->dense[(size_t)r + (size_t)t * (size_t)rows] =
                r < reach[from] ? cm_pack(stair->re[at], stair->im[at]) : 0;
        }
    }
    cm_stair_build(stair, rows, stair->columns, walk->dense, norm, stair->rest);
}

static void reorder(cm_walk *walk, cm_node_level *level)
{
    double cost[CM_SET_PLANES];
    int position[CM_SET_PLANES];
    int column[CM_SET_PLANES];
    double norm[CM_SET_PLANES];
    int n = level->columns;
    cost_of_loss(walk, level, cost);
    order_by_cost(n, cost, position);
    memcpy(column, level->column, (size_t)n * sizeof(int));
    for (int t = 0; t < n; t++)
        level->column[t] = column[position[t]];
    for (int v = 0; v < walk->search->views; v++) {
        double *of_view = norms(walk, level, v);
        memcpy(norm, of_view, (size_t)n * sizeof(double));
        for (int t = 0; t < n; t++)
            of_view[t] = norm[position[t]];
        restair(walk, level->stair + v, position, of_view);
    }
}

/* A node with `k` kept columns and its subtree; small subtrees first, they sharpen the cut for the large ones. */
static void visit(cm_walk *walk, cm_node_level *level, cm_set kept, int k)
{
    bool everything = walk->search->everything;
    if (!everything && level->columns >= REORDER_COLUMNS)
        reorder(walk, level);
    offer(walk, level, kept, k);
    int last = level->columns - 2;
    if (last > walk->search->at_most - k - 1)
        last = walk->search->at_most - k - 1;
    for (int t = 0; t < last; t++)
        kept |= (cm_set)1 << level->column[t];
    for (int p = last; p >= 0; p--) {
        int most = k + level->columns - 1;
        if (stop_asked(walk)) {
            leave_open(walk, node_rest(walk, level), k, most);
            return;
        }
        drop(walk, level, p, level + 1);
        if (everything || !hopeless(walk, node_rest(walk, level + 1), k + p, most))
            visit(walk, level + 1, kept, k + p);
        if (p > 0)
            kept &= ~((cm_set)1 << level->column[p - 1]);
    }
}

/* Columns that every set has, then the others: what the first ones reach is taken away. */
static void build_root(cm_walk *walk, cm_node_level *root, const int *order, int must)
{
    const cm_search *search = walk->search;
    root->columns = search->columns - must;
    memcpy(root->column, order + must, (size_t)root->columns * sizeof(int));
    for (int v = 0; v < search->views; v++) {
        const cm_view *view = search->view + v;
        size_t rows = (size_t)view->rows;
        double norm[CM_SET_PLANES] = {0};
        for (int t = 0; t < search->columns; t++) {
            const double complex *column = view->columns + (size_t)order[t] * rows;
            memcpy(walk->dense + (size_t)t * rows, column, rows * sizeof *column);
            norm[t] = cm_norm2(view->rows, column);
        }
        memcpy(walk->dense + (size_t)search->columns * rows, view->rhs, rows * sizeof *view->rhs);
        cm_stair_build(walk->trial + v, view->rows, search->columns, walk->dense, norm, 0);
        cm_stair_keep(root->stair + v, walk->trial + v, must);
        memcpy(norms(walk, root, v), norm + must, (size_t)root->columns * sizeof(double));
    }
}

static cm_walk new_walk(cm_session *session, const cm_search *search, cm_shortlist *list)
{
    cm_walk walk = {.session = session, .search = search, .list = list, .countdown = ASK_EVERY};
    size_t columns = (size_t)search->columns;
    size_t views = (size_t)search->views;
    int most = 0;
    for (int v = 0; v < search->views; v++)
        most = search->view[v].rows > most ? search->view[v].rows : most;
    int rows = most < search->columns ? most : search->columns;
    walk.dense = CM_NEW(session, (size_t)most * (columns + 1), double complex);
    walk.trial = CM_NEW(session, views, cm_stair);
    walk.level = CM_NEW(session, columns + 1, cm_node_level);
    for (int v = 0; v < search->views; v++)
        walk.trial[v] = cm_stair_new(session, rows, search->columns);
    for (size_t l = 0; l <= columns; l++) {
        cm_node_level *level = walk.level + l;
        level->stair = CM_NEW(session, views, cm_stair);
        level->column = CM_NEW(session, columns, int);
        level->norm = CM_NEW(session, views * columns, double);
        level->least = CM_NEW(session, columns + 1, double);
        int room = search->columns - (int)l;
        for (int v = 0; v < search->views; v++)
            level->stair[v] = cm_stair_new(session, rows < room ? rows : room, room);
    }
    return walk;
}

/* The set of nothing but the columns that must be there. */
static void offer_must(cm_walk *walk, int must)
{
    double least = 0;
    for (int v = 0; v < walk->search->views; v++)
        least = fmax(least, cm_stair_all(walk->level->stair + v));
    cm_shortlist_offer(walk->list, must, walk->search->must, least);
    walk->seen++;
}

uint64_t cm_tree_search(cm_session *session, const cm_search *search, cm_shortlist *list)
{
    cm_mark mark = cm_mark_of(session);
    cm_walk walk = new_walk(session, search, list);
    int order[CM_SET_PLANES] = {0};
    int must = 0;
    for (int t = 0; t < search->columns; t++)
        if (search->must >> t & 1)
            order[must++] = t;
    for (int t = 0, next = must; t < search->columns; t++)
        if (!(search->must >> t & 1))
            order[next++] = t;
    build_root(&walk, walk.level, order, must);
    if (must > 0 && must <= search->at_most)
        offer_must(&walk, must);
    if (must < search->at_most && must < search->columns)
        visit(&walk, walk.level, search->must, must);
    cm_release_to(session, mark);
    return walk.seen;
}
