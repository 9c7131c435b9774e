/* SPDX-License-Identifier: MIT */
/* Problem: the best sets of each size by an objective that is dear to evaluate.
 *
 * Few sets: all are solved. Many: the tree gives each set a bound from plain least squares on weighted rows,
 *
 *     least squares, worst case, expected:  value² ≥ min sum W_i² |r_i|²
 *     min-max:  value² ≥ min sum l_i W_i² |r_i|²    for any l ≥ 0 of sum 1,
 *
 * caps, ties and limits left out. Of each size the sets of least bound are solved in that order until the best found are
 * no worse than the next bound. When the list ends before that, it is made longer, for min-max with the row shares
 * of solved sets as further l: they make the bounds of similar sets nearly exact.
 *
 * A stop ends this with what is solved; `proven` says what still holds of the order. */
#include "planes/survey.h"

#include "linalg/dense.h"
#include "planes/rank.h"
#include "planes/tree.h"

#include <math.h>
#include <string.h>

#undef I

#define DEFAULT_BEST 20
#define MOST_VIEWS 6
/* Longest list of one size before a search gives up proving. */
#define MOST_KEPT 200000
/* Bounds of nearly dependent planes are worth this much, as a share of themselves and of the readings. */
#define BOUND_SLACK 1e-6
#define BOUND_ZERO 1e-12

typedef struct cm_solved {
    cm_set set;
    cm_plane_set result;
} cm_solved;

typedef struct cm_survey {
    cm_session *session;
    const cm_choice *choice;
    const cm_plane_question *question;
    int (*stop)(void *context);
    double total;
    int best;
    int count, room;
    cm_solved *solved;
    int views;
    cm_view view[MOST_VIEWS];
    double *rows;  /* rows: shares of the set solved last */
    double square; /* of the weighted readings in the first view */
    bool stopped;
    double looked_at;
    double
        left[CM_SET_PLANES + 1]; /* of each size: least bound of the sets not solved; INFINITY: all solved */
} cm_survey;

static double choose(int n, int k)
{
    double product = 1;
    for (int i = 1; i <= k; i++)
        product = product * (n - k + i) / i;
    return floor(product + 0.5);
}

static double count_of_size(const cm_choice *choice, int size)
{
    int must = cm_set_size(choice->must);
    return size < must ? 0 : choose(choice->count - must, size - must);
}

double cm_count_sets(const cm_choice *choice)
{
    double total = 0;
    for (int size = 1; size <= choice->at_most; size++)
        total += count_of_size(choice, size);
    return total;
}

static bool stop_asked(void *context)
{
    cm_survey *survey = context;
    survey->stopped = survey->stopped || (survey->stop && survey->stop(survey->session->host.context));
    return survey->stopped;
}

static const cm_plane_set *solve(cm_survey *survey, cm_set set)
{
    for (int i = 0; i < survey->count; i++)
        if (survey->solved[i].set == set)
            return &survey->solved[i].result;
    survey->solved =
        cm_grow(survey->session, survey->solved, survey->count, &survey->room, sizeof *survey->solved);
    cm_solved *solved = &survey->solved[survey->count++];
    *solved = (cm_solved){set, cm_weigh_set(survey->session, survey->choice, set, survey->rows)};
    if (survey->question->progress)
        survey->question->progress(survey->question->context, survey->count, survey->total);
    return &solved->result;
}

/* Every set of `left` more planes, the next one not before `from`, in the order of the planes. */
static void solve_all(cm_survey *survey, cm_set set, int from, int left)
{
    const cm_choice *choice = survey->choice;
    if (left == 0) {
        if (!stop_asked(survey))
            solve(survey, set);
        return;
    }
    for (int t = from; t < choice->count && !survey->stopped; t++)
        if (!(choice->must >> t & 1))
            solve_all(survey, set | (cm_set)1 << t, t + 1, left - 1);
}

static void solve_every_size(cm_survey *survey)
{
    int must = cm_set_size(survey->choice->must);
    for (int size = must > 0 ? must : 1; size <= survey->choice->at_most; size++)
        solve_all(survey, survey->choice->must, 0, size - must);
}

/* ---- bounds ---- */

static int counted_rows(const cm_problem *p)
{
    int count = 0;
    for (int i = 0; i < p->rows; i++)
        count += p->weight[i] > 0;
    return count;
}

/* Counted rows times sqrt(share)·W; the reading is the one with every plane of the choice at what is on the rotor now. */
static void add_view(cm_survey *survey, const double *share)
{
    const cm_problem p = cm_set_problem(survey->session, survey->choice, 0);
    int rows = counted_rows(&p);
    double complex *columns =
        CM_NEW(survey->session, (size_t)rows * (size_t)survey->choice->count, double complex);
    double complex *rhs = CM_NEW(survey->session, rows, double complex);
    int at = 0;
    for (int i = 0; i < p.rows; i++) {
        if (p.weight[i] <= 0)
            continue;
        double w = p.weight[i] * sqrt(share[i]);
        rhs[at] = p.y[i];
        for (int j = 0; j < p.planes; j++)
            rhs[at] += p.a[i + j * p.rows] * (p.held_value[j] - p.base[j]);
        rhs[at] *= w;
        for (int t = 0; t < survey->choice->count; t++)
            columns[at + t * rows] = w * cm_choice_effect(survey->choice, i, t);
        at++;
    }
    survey->view[survey->views++] = (cm_view){rows, columns, rhs};
}

static void add_first_view(cm_survey *survey)
{
    const cm_problem *p = survey->choice->problem;
    double *share = CM_NEW(survey->session, p->rows, double);
    for (int i = 0; i < p->rows; i++)
        share[i] = p->objective == CM_MIN_MAX ? 1.0 / counted_rows(p) : 1;
    add_view(survey, share);
    double norm = cm_norm2(survey->view->rows, survey->view->rhs);
    survey->square = norm * norm;
}

/* ---- the best of each size ---- */

/* Planes that some counted row has never told of: a set with one of them has no value (ties may tell of them together). */
static bool is_untold(const cm_choice *choice, int plane)
{
    const cm_problem *p = choice->problem;
    for (int i = 0; i < p->rows && !choice->told && p->tie_count == 0 && plane < p->planes; i++)
        if (p->weight[i] > 0 && !choice->influence->determined[i + plane * p->rows])
            return true;
    return false;
}

/* The choice without those; false when one of them must be in every set. */
static bool leave_untold(cm_choice *choice)
{
    cm_choice told = *choice;
    told.count = 0;
    told.must = 0;
    for (int t = 0; t < choice->count; t++) {
        bool must = choice->must >> t & 1;
        if (is_untold(choice, choice->plane[t])) {
            if (must)
                return false;
            continue;
        }
        told.must |= (cm_set)must << told.count;
        told.column[told.count] = choice->column[t];
        told.plane[told.count++] = choice->plane[t];
    }
    told.at_most = told.at_most < told.count ? told.at_most : told.count;
    *choice = told;
    return told.count > 0;
}

/* The worst of the `best` least values of a size; INFINITY while there are fewer. */
static double best_value(const cm_survey *survey, int size)
{
    cm_mark mark = cm_mark_of(survey->session);
    double *least = CM_NEW(survey->session, survey->best + 1, double);
    int count = 0;
    for (int i = 0; i < survey->count; i++) {
        const cm_plane_set *set = &survey->solved[i].result;
        if (set->count != size || isnan(set->value))
            continue;
        int at = count;
        for (; at > 0 && least[at - 1] > set->value; at--)
            least[at] = least[at - 1];
        least[at] = set->value;
        count += count < survey->best;
    }
    double worst = count < survey->best ? INFINITY : least[survey->best - 1];
    cm_release_to(survey->session, mark);
    return worst;
}

/* No set with this bound (a square) can be better than `value`. */
static bool bounded_out(const cm_survey *survey, double bound, double value)
{
    return bound * (1 - BOUND_SLACK) - BOUND_ZERO * survey->square >= value * value;
}

/* Solves one size's list in the order of the bounds, until the best are proven; keeps the least bound of what is left. */
static void solve_size(cm_survey *survey, const cm_shortlist *list, int size)
{
    bool all = list->count[size] >= count_of_size(survey->choice, size) && isinf(list->open[size]);
    survey->left[size] = all ? INFINITY : fmin(list->cutoff[size], list->open[size]);
    for (int i = 0; i < list->count[size]; i++) {
        const cm_entry *entry = cm_shortlist_at(list, size, i);
        if (bounded_out(survey, entry->bound, best_value(survey, size)) || stop_asked(survey)) {
            survey->left[size] = fmin(survey->left[size], entry->bound);
            return;
        }
        solve(survey, entry->set);
    }
}

static bool is_settled(const cm_survey *survey, int size)
{
    return isinf(survey->left[size]) || bounded_out(survey, survey->left[size], best_value(survey, size));
}

static cm_shortlist search(cm_survey *survey, int keep)
{
    cm_search what = {.columns = survey->choice->count,
                      .views = survey->views,
                      .view = survey->view,
                      .must = survey->choice->must,
                      .at_most = survey->choice->at_most,
                      .stop = stop_asked,
                      .context = survey};
    cm_shortlist list = cm_shortlist_new(survey->session, what.at_most, keep);
    survey->looked_at += (double)cm_tree_search(survey->session, &what, &list);
    cm_shortlist_sort(&list);
    return list;
}

/* Row shares of the likeliest best sets, small and large, as further views. */
static void add_views(cm_survey *survey)
{
    cm_mark mark = cm_mark_of(survey->session);
    cm_set likely[MOST_VIEWS] = {0};
    int count = 0;
    cm_shortlist list = search(survey, 1);
    for (int v = 1; v < MOST_VIEWS; v++) {
        int size = 1 + (list.sizes - 1) * v / MOST_VIEWS;
        if (list.count[size] > 0 && (count == 0 || likely[count - 1] != cm_shortlist_at(&list, size, 0)->set))
            likely[count++] = cm_shortlist_at(&list, size, 0)->set;
    }
    cm_release_to(survey->session, mark);
    for (int k = 0; k < count && !stop_asked(survey); k++) {
        cm_weigh_set(survey->session, survey->choice, likely[k], survey->rows);
        add_view(survey, survey->rows);
    }
}

static bool all_settled(const cm_survey *survey)
{
    for (int size = 1; size <= survey->choice->at_most; size++)
        if (count_of_size(survey->choice, size) > 0 && !is_settled(survey, size))
            return false;
    return true;
}

static void solve_best(cm_survey *survey)
{
    const cm_problem *p = survey->choice->problem;
    bool plain = p->objective == CM_LEAST_SQUARES && p->disc_count == 0;
    add_first_view(survey);
    if (p->objective == CM_MIN_MAX)
        add_views(survey);
    int first = plain ? survey->best + 4 : 4 * survey->best;
    for (int keep = first; keep <= MOST_KEPT && !survey->stopped; keep *= 4) {
        cm_shortlist list = search(survey, keep);
        for (int size = 1; size <= list.sizes; size++)
            if (keep == first || !is_settled(survey, size))
                solve_size(survey, &list, size);
        if (all_settled(survey))
            return;
    }
}

/* ---- the list ---- */

/* A set that no answer was found for may belong before any other of its size. */
static bool one_failed(const cm_survey *survey, int size)
{
    for (int i = 0; i < survey->count; i++)
        if (survey->solved[i].result.failed && survey->solved[i].result.count == size)
            return true;
    return false;
}

static void mark_proven(const cm_survey *survey, bool all, cm_plane_set *set)
{
    if (one_failed(survey, set->count))
        set->proven = 0;
    else if (all)
        set->proven = !survey->stopped;
    else
        set->proven = !isnan(set->value) && (isinf(survey->left[set->count]) ||
                                             bounded_out(survey, survey->left[set->count], set->value));
}

static void put_list(cm_survey *survey, bool all, cm_plane_comparison *out)
{
    int listed[CM_SET_PLANES + 1] = {0};
    bool descending = survey->choice->problem->objective == CM_CONFIDENCE;
    cm_plane_set *sets = CM_NEW(survey->session, survey->count, cm_plane_set);
    for (int i = 0; i < survey->count; i++)
        sets[i] = survey->solved[i].result;
    cm_rank_sets(survey->session, survey->count, sets, survey->choice->parts, descending);
    int count = 0;
    for (int i = 0; i < survey->count; i++)
        if (all || listed[sets[i].count]++ < survey->best)
            sets[count++] = sets[i];
    for (int i = 0; i < count; i++)
        mark_proven(survey, all, &sets[i]);
    cm_mark_pareto(count, sets, descending);
    out->sets = sets;
    out->listed = count;
}

static void refuse_unbounded(cm_session *session, cm_objective objective)
{
    if (objective == CM_LEAST_MASS || objective == CM_LEAST_CHANGE || objective == CM_CONFIDENCE)
        cm_fail(session, CM_BAD_INPUT,
                "more than %d sets: for this objective only that many can be compared; ask for fewer planes "
                "(at most, "
                "must, never)",
                CM_ALL_SETS);
}

void cm_survey_sets(cm_session *session, const cm_choice *choice, const cm_plane_question *question,
                    int (*stop)(void *context), cm_plane_comparison *out)
{
    cm_choice told = *choice;
    cm_survey survey = {.session = session,
                        .choice = choice,
                        .question = question,
                        .stop = stop,
                        .total = cm_count_sets(choice),
                        .best = question->best > 0 ? question->best : DEFAULT_BEST};
    bool all = survey.total <= CM_ALL_SETS;
    survey.rows = CM_NEW(session, choice->problem->rows, double);
    if (all) {
        solve_every_size(&survey);
    } else if (leave_untold(&told)) {
        refuse_unbounded(session, choice->problem->objective);
        survey.choice = &told;
        solve_best(&survey);
    }
    put_list(&survey, all, out);
    out->total = survey.total;
    out->all = all;
    out->best = survey.best;
    out->stopped = survey.stopped;
    out->looked_at = all ? survey.count : survey.looked_at;
    out->solved = survey.count;
}
