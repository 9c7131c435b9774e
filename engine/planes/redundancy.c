/* SPDX-License-Identifier: MIT */
/* Problem: do the planes do different things, and do all the probes help?
 *
 * Planes: b_j is column j of diag(W) A over the counted rows. Its own share is
 *     min |b_j - sum of others| / |b_j|,
 * what no masses on the other planes can make. The fewest others (at most
 * three) that leave no more than a tenth are those it is nearly dependent on;
 * they come from the tree of sets with b_j as its right-hand side.
 *
 * Sensors and speeds: the masses are found as if the rows had not been read,
 * then judged on all rows. */
#include "planes/redundancy.h"

#include "fit/condition.h"
#include "fit/determine.h"
#include "linalg/dense.h"
#include "optimise/certificate.h"
#include "optimise/solve.h"
#include "planes/tree.h"

#include <math.h>
#include <string.h>

#undef I

#define MOST_LIKE 3
#define NEARLY_MADE 0.1

typedef struct cm_weighted {
    int rows;
    int planes;
    int plane[CM_SET_PLANES];
    double complex *column; /* rows × planes */
} cm_weighted;

static bool told_alone(const cm_choice *choice, int plane)
{
    const cm_problem *p = choice->problem;
    for (int i = 0; i < p->rows && choice->influence; i++) {
        const cm_influence *f = choice->influence;
        bool told = plane < p->planes ? f->determined[i + plane * p->rows]
                                      : f->set_determined[i + (plane - p->planes) * p->rows];
        if (p->weight[i] > 0 && !told)
            return false;
    }
    return true;
}

static cm_weighted weighted_columns(cm_session *session, const cm_choice *choice)
{
    const cm_problem *p = choice->problem;
    cm_weighted w = {0};
    for (int i = 0; i < p->rows; i++)
        w.rows += p->weight[i] > 0;
    w.column = CM_NEW(session, (size_t)w.rows * (size_t)choice->count, double complex);
    for (int t = 0; t < choice->count; t++) {
        if (!told_alone(choice, choice->plane[t]))
            continue;
        double complex *column = w.column + (size_t)w.planes * (size_t)w.rows;
        w.plane[w.planes++] = choice->plane[t];
        for (int i = 0, at = 0; i < p->rows; i++)
            if (p->weight[i] > 0)
                column[at++] = p->weight[i] * cm_choice_effect(choice, i, t);
    }
    return w;
}

/* Columns of all planes but number k, which becomes the right-hand side. */
static cm_view without(cm_session *session, const cm_weighted *w, int k)
{
    size_t rows = (size_t)w->rows;
    double complex *others = CM_NEW(session, rows * (size_t)w->planes, double complex);
    memcpy(others, w->column, rows * (size_t)k * sizeof *others);
    memcpy(others + rows * (size_t)k, w->column + rows * (size_t)(k + 1),
           rows * (size_t)(w->planes - k - 1) * sizeof *others);
    return (cm_view){w->rows, others, w->column + rows * (size_t)k};
}

static double left_by_all(cm_session *session, const cm_view *view, int columns)
{
    double complex *x = CM_NEW(session, columns, double complex);
    double complex *rest = CM_NEW(session, view->rows, double complex);
    memcpy(rest, view->rhs, (size_t)view->rows * sizeof *rest);
    cm_least_squares(session, view->rows, columns, 1, view->columns, view->rows, view->rhs, view->rows, x,
                     columns);
    cm_multiply(false, false, view->rows, 1, columns, -1, view->columns, view->rows, x, columns, 1, rest,
                view->rows);
    return cm_norm2(view->rows, rest);
}

static void find_like(cm_session *session, const cm_weighted *w, const cm_view *view, int k, double size,
                      unsigned char *like, cm_plane_share *share)
{
    int columns = w->planes - 1;
    cm_search search = {
        .columns = columns, .views = 1, .view = view, .at_most = columns < MOST_LIKE ? columns : MOST_LIKE};
    cm_shortlist list = cm_shortlist_new(session, search.at_most, 1);
    cm_tree_search(session, &search, &list);
    for (int n = 1; n <= search.at_most; n++) {
        const cm_entry *entry = cm_shortlist_at(&list, n, 0);
        double left = sqrt(entry->bound) / size;
        if (list.count[n] == 0 || left > NEARLY_MADE)
            continue;
        for (int t = 0; t < columns; t++)
            if (entry->set >> t & 1)
                like[w->plane[t < k ? t : t + 1]] = 1;
        share->like = like;
        share->like_own = left;
        return;
    }
}

static void find_share(cm_session *session, const cm_weighted *w, int k, unsigned char *like,
                       cm_plane_share *share)
{
    cm_mark mark = cm_mark_of(session);
    cm_view view = without(session, w, k);
    double size = cm_norm2(w->rows, view.rhs);
    share->own = size > 0 ? 1 : NAN;
    if (size > 0 && w->planes > 1) {
        share->own = left_by_all(session, &view, w->planes - 1) / size;
        if (share->own <= NEARLY_MADE)
            find_like(session, w, &view, k, size, like, share);
    }
    cm_release_to(session, mark);
}

void cm_find_shares(cm_session *session, const cm_choice *choice, cm_plane_comparison *out)
{
    cm_plane_share *shares = CM_NEW(session, choice->count, cm_plane_share);
    cm_weighted w = weighted_columns(session, choice);
    for (int t = 0, k = 0; t < choice->count; t++) {
        shares[t] = (cm_plane_share){.plane = choice->plane[t], .own = NAN, .like_own = NAN};
        unsigned char *like = CM_NEW(session, choice->parts, unsigned char);
        if (k < w.planes && w.plane[k] == choice->plane[t])
            find_share(session, &w, k++, like, &shares[t]);
    }
    out->share_count = choice->count;
    out->shares = shares;
}

/* ---- sensors and speeds ---- */

/* The problem without the rows of one group; false when nothing that counts would leave, or nothing would be left. */
static bool take_away(cm_session *session, const int *group, int number, cm_problem *p)
{
    double *weight = CM_NEW(session, p->rows, double);
    int gone = 0;
    int left = 0;
    for (int i = 0; i < p->rows; i++) {
        bool mine = group[i] == number;
        weight[i] = mine ? 0 : p->weight[i];
        gone += mine && p->weight[i] > 0;
        left += weight[i] > 0;
    }
    cm_pair *pairs = CM_NEW(session, p->pair_count, cm_pair);
    for (int k = 0; k < p->pair_count; k++) {
        pairs[k] = p->pairs[k];
        bool mine = group[pairs[k].forward] == number ||
                    (pairs[k].backward >= 0 && group[pairs[k].backward] == number);
        gone += mine && pairs[k].weight > 0;
        pairs[k].weight = mine ? 0 : pairs[k].weight;
        left += pairs[k].weight > 0;
    }
    p->weight = weight;
    p->pairs = pairs;
    return gone > 0 && left > 0;
}

static void judge_without(cm_session *session, const cm_choice *choice, const cm_problem *full,
                          cm_problem *part, cm_left_out *out)
{
    out->condition = cm_find_condition(session, part)->overall;
    if (!choice->told) {
        const cm_determination *found = cm_find_determination(session, choice->influence, part);
        part->determined = found->determined;
        if (found->counted > 0) {
            out->outcome = CM_UNDETERMINED;
            return;
        }
    }
    const cm_answer *answer = cm_solve_problem(session, part);
    out->outcome = answer->outcome;
    if (answer->outcome != CM_OPTIMAL)
        return;
    out->value = cm_recheck_value(full, answer->x);
    double complex *r = CM_NEW(session, full->rows, double complex);
    cm_recheck_readings(full, answer->x, r);
    out->largest_ratio = cm_choice_ratio(choice, full, cm_recheck_ratio(full, answer->x), r);
}

static int leave_out(cm_session *session, const cm_choice *choice, const cm_problem *full, const int *group,
                     int groups, bool sensor, cm_left_out *list)
{
    int count = 0;
    for (int number = 0; number < groups; number++) {
        cm_mark mark = cm_mark_of(session);
        cm_problem part = *full;
        cm_left_out out = {.sensor = sensor ? number : -1,
                           .speed = sensor ? -1 : number,
                           .outcome = CM_INFEASIBLE,
                           .value = NAN,
                           .largest_ratio = NAN,
                           .condition = INFINITY};
        if (take_away(session, group, number, &part)) {
            judge_without(session, choice, full, &part, &out);
            list[count++] = out;
        }
        cm_release_to(session, mark);
    }
    return count;
}

void cm_leave_out_each(cm_session *session, const cm_choice *choice, int sensors, const int *sensor,
                       cm_plane_comparison *out)
{
    cm_set all = choice->count == CM_SET_PLANES ? ~(cm_set)0 : ((cm_set)1 << choice->count) - 1;
    out->value_all = cm_weigh_set(session, choice, all, NULL).value;
    if (isnan(out->value_all))
        return;
    cm_problem full = cm_set_problem(session, choice, all);
    cm_left_out *list = CM_NEW(session, sensors + full.blocks, cm_left_out);
    int count = sensor ? leave_out(session, choice, &full, sensor, sensors, true, list) : 0;
    count += full.block ? leave_out(session, choice, &full, full.block, full.blocks, false, list + count) : 0;
    out->left_out = list;
    out->left_out_count = count;
}
