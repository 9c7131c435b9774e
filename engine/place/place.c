/* SPDX-License-Identifier: MIT */
/* Placing pieces, as a list of steps: list what each plane can make, bound, round, search, write the fit list. */
#include "countermass/place.h"

#include "base/clock.h"
#include "base/given.h"
#include "linalg/dense.h"
#include "model/case.h"
#include "model/overspeed.h"
#include "optimise/certificate.h"
#include "optimise/solve.h"
#include "place/fitting.h"
#include "place/singles.h"
#include "place/windows.h"
#include "model/job_call.h"

#include <limits.h>
#include <math.h>
#include <string.h>

#define SECONDS 10
#define OFFERS 5
/* Partial placements looked at to make the list of offers complete. */
#define NODES_FOR_OFFERS 200000
/* Partial placements before a search begins again with a better bound, and how many times more each time. */
#define FIRST_NODES 3000
#define MORE_NODES 4
/* What a choice with fewer pieces may cost, and the partial placements looked at for it. */
#define NEARLY 1.02
#define NODES_FOR_FEWER 30000
/* Shares of the time allowed by whose end the lists are made; the search ends, when a proof is possible and when sums are
 * only sampled; and changes at single positions. */
#define TO_LIST 0.3
#define TO_SEARCH 0.8
#define TO_SEARCH_SAMPLE 0.3
#define TO_CHANGE 0.9
#define TO_SLIDE 1.0
/* Total masses this close, as a share, are the same. */
#define SAME_MASSES 1e-9
/* A gap, and a value as a share of the present one, that more changes are not worth. */
#define GAP_ENOUGH 1e-3
#define VALUE_ENOUGH 1e-6
/* A gap below this is closed. */
#define CLOSED 1e-9
/* Values below this share of the scale of the problem are zero. */
#define VALUE_ZERO 1e-12

typedef struct cm_placing {
    cm_session *session;
    const cm_problem *p;
    const cm_place_question *question;
    double begun, seconds;
    cm_shelf *shelves; /* planes */
    cm_board board;
    cm_levels levels;
    cm_found found;
    int *near_bound;    /* choice behind the bound where sums are only sampled; NULL: none */
    cm_singles singles; /* choices by changes at single positions */
    const int *fewer;   /* choice with fewer pieces; NULL: none */
    double floor2;      /* best bound that holds whatever is chosen */
    cm_placement *out;
} cm_placing;

static int offers_wanted(const cm_placing *job)
{
    return job->question->offers ? job->question->offers : OFFERS;
}

static double deadline_of(const cm_placing *job, double share)
{
    return job->begun + share * job->seconds;
}

/* ---- what each plane can make ---- */

static double complex stands_at(const cm_problem *p, int plane)
{
    return p->held && p->held[plane] ? p->held_value[plane] : p->now[plane];
}

static void add_to_board(cm_placing *job, int plane, const cm_shelf *shelf)
{
    cm_board *b = &job->board;
    b->points[b->n] = shelf->points;
    b->centre[b->n] = shelf->centre;
    b->reach[b->n] = shelf->reach;
    b->spacing[b->n] = shelf->spacing;
    b->free_plane[b->n] = shelf->partial;
    b->plane[b->n++] = plane;
}

static void new_board(cm_placing *job)
{
    const cm_problem *p = job->p;
    job->board = (cm_board){.p = p,
                            .plane = CM_NEW(job->session, p->planes, int),
                            .points = CM_NEW(job->session, p->planes, cm_points),
                            .centre = CM_NEW(job->session, p->planes, double complex),
                            .reach = CM_NEW(job->session, p->planes, double),
                            .spacing = CM_NEW(job->session, p->planes, double),
                            .free_plane = CM_NEW(job->session, p->planes, unsigned char),
                            .still = CM_NEW(job->session, p->planes, double complex)};
}

/* Whether every plane has a total mass within its caps. */
static bool list_masses(cm_placing *job)
{
    const cm_problem *p = job->p;
    bool allowed = true;
    job->shelves = CM_NEW(job->session, p->planes, cm_shelf);
    new_board(job);
    for (int j = 0; j < p->planes; j++) {
        cm_shelf *shelf = &job->shelves[j];
        int like = 0;
        while (like < j && !cm_shelves_alike(p, job->question->shop, like, j))
            like++;
        *shelf = like < j ? job->shelves[like]
                          : cm_shelf_of(job->session, p, &job->question->shop->plane[j], j,
                                        deadline_of(job, TO_LIST));
        shelf->loads.shop = &job->question->shop->plane[j]; /* numbers are its own */
        job->board.still[j] = stands_at(p, j);
        allowed = allowed && shelf->allowed;
        if (shelf->moves)
            add_to_board(job, j, shelf);
    }
    return allowed;
}

/* What the result says of the lists. */
static void describe_lists(cm_placing *job)
{
    int planes = job->p->planes;
    double *sums = CM_NEW(job->session, planes, double);
    unsigned char *windowed = CM_NEW(job->session, planes, unsigned char),
                  *partial = CM_NEW(job->session, planes, unsigned char);
    for (int j = 0; j < planes; j++) {
        const cm_shelf *shelf = &job->shelves[j];
        sums[j] = shelf->moves ? shelf->points.count : 0;
        windowed[j] = shelf->halves;
        partial[j] = shelf->partial;
    }
    job->out->sums = sums;
    job->out->windowed = windowed;
    job->out->partial = partial;
}

/* ---- values ---- */

static double gap_of(const cm_problem *p, double value, double bound)
{
    double scale = 0;
    for (int i = 0; i < p->rows; i++)
        scale = hypot(scale, p->weight[i] > 0 ? p->weight[i] * cabs(p->y[i]) : 0);
    return value <= VALUE_ZERO * scale ? 0 : fmax(0, value - bound) / value;
}

static void put_present(cm_placing *job)
{
    job->out->before = cm_recheck_value(job->p, job->board.still);
    job->out->before_ratio = cm_recheck_ratio(job->p, job->board.still);
}

typedef struct cm_continuing {
    cm_session *session;
    const cm_problem *p;
    const cm_answer *answer;
} cm_continuing;

static void solve(void *data)
{
    cm_continuing *job = data;
    job->answer = cm_solve_problem(job->session, job->p);
}

/* Masses of any size at any angle: what rounding is compared with. */
static void put_continuous(cm_placing *job)
{
    cm_continuing all = {job->session, job->p, NULL};
    if (!cm_attempt(job->session, solve, &all) || all.answer->outcome != CM_OPTIMAL)
        return;
    job->out->continuous = all.answer->value;
    job->out->continuous_x = all.answer->x;
}

/* ---- the search ---- */

/* For a largest reading: the bound made for what is left of interest once a value is known; what was found is kept. */
static void sharpen(cm_placing *job, double deadline)
{
    if (!job->board.minmax || !job->found.count || cm_is_over(job->session, deadline))
        return;
    cm_found before = job->found;
    double complex *x = CM_NEW(job->session, job->p->planes, double complex);
    cm_board_masses(&job->board, before.point, x);
    job->floor2 = fmax(job->floor2, job->levels.floor2);
    job->levels = cm_levels_new(job->session, &job->board, before.value2[0]);
    cm_windows_open(job->session, &job->board, &job->levels, job->shelves, deadline, &job->found);
    cm_find_again(job->session, &job->board, x, &job->found);
}

/* A largest reading is searched with more and more patience, each time with a bound made for the best value so far. */
static cm_search_result search(cm_placing *job, double deadline)
{
    cm_patience patience = {deadline, job->board.minmax ? FIRST_NODES : INFINITY, job->question};
    cm_search_result result = cm_search(job->session, &job->levels, &patience, &job->found);
    double nodes = result.nodes;
    while (!result.complete && !result.stopped && cm_clock_seconds() < deadline) {
        sharpen(job, deadline);
        patience.most_nodes *= MORE_NODES;
        result = cm_search(job->session, &job->levels, &patience, &job->found);
        nodes += result.nodes;
    }
    result.nodes = nodes;
    return result;
}

/* The bound with the planes whose sums are only sampled at any mass within reach; the choice behind it is worth a try. */
static double relax(cm_placing *job, double deadline)
{
    const cm_patience patience = {deadline, INFINITY, NULL};
    job->near_bound = CM_NEW(job->session, job->board.n, int);
    return cm_search_relaxed(job->session, &job->levels, &patience, INFINITY, job->near_bound);
}

static bool any_plane(const cm_board *board, const unsigned char *marked)
{
    for (int k = 0; k < board->n; k++)
        if (marked[k])
            return true;
    return false;
}

static void put_result(cm_placing *job, const cm_search_result *result, double bound2)
{
    cm_placement *out = job->out;
    double best2 = job->found.count ? job->found.value2[0] : INFINITY;
    out->looked_at = result->nodes;
    out->stopped = result->stopped;
    out->timed_out = !result->complete && !result->stopped;
    out->proven = result->complete && bound2 >= best2;
    out->bound = sqrt(fmax(0, fmin(best2, fmax(bound2, fmax(job->floor2, job->levels.floor2)))));
}

/* What is listed is searched in full; of planes that are only sampled the bound takes any mass within reach. */
static void look_for_best(cm_placing *job)
{
    bool partial = any_plane(&job->board, job->board.free_plane);
    double deadline = deadline_of(job, partial ? TO_SEARCH_SAMPLE : TO_SEARCH);
    cm_search_result result = {.complete = true, .bound2 = INFINITY};
    cm_windows_open(job->session, &job->board, &job->levels, job->shelves, deadline, &job->found);
    sharpen(job, deadline);
    bool empty = cm_windows_empty(&job->board);
    if (!empty)
        result = search(job, deadline);
    double edge2 = cm_windows_edge(&job->board, &job->levels, job->shelves);
    double bound2 = fmin(job->found.count ? job->found.value2[0] : INFINITY, fmin(result.bound2, edge2));
    if (partial)
        bound2 = empty ? job->levels.floor2 : fmin(edge2, relax(job, deadline_of(job, 2 * TO_SEARCH_SAMPLE)));
    put_result(job, &result, bound2);
}

/* ---- changes at single positions ---- */

static double enough2(const cm_placing *job)
{
    double enough = fmax(job->out->bound * (1 + GAP_ENOUGH), job->out->before * VALUE_ENOUGH);
    return enough * enough;
}

/* Where there is no proof the time that is left goes into changes at single positions. */
static void look_at_positions(cm_placing *job)
{
    const int *begin[] = {job->found.count ? job->found.point : NULL,
                          job->near_bound && job->near_bound[0] >= 0 ? job->near_bound : NULL};
    const int *first[] = {begin[0] ? begin[0] : begin[1], begin[1]};
    if (job->out->proven || !cm_singles_possible(&job->board, job->shelves))
        return;
    const cm_single_question question = {.board = &job->board,
                                         .shelves = job->shelves,
                                         .levels = &job->levels,
                                         .aim = job->out->continuous_x,
                                         .begins = (begin[0] != NULL) + (begin[1] != NULL),
                                         .begin = first,
                                         .enough2 = enough2(job),
                                         .deadline = deadline_of(job, TO_CHANGE),
                                         .most_rounds = INT_MAX,
                                         .keep = offers_wanted(job),
                                         .told = job->question,
                                         .bound = job->out->bound};
    job->singles = cm_singles_of(job->session, &question);
    job->out->stopped = job->out->stopped || cm_stop_wanted(job->session);
}

/* The next best: begun with the best one and its neighbours, complete when the search ends in time. */
static void look_for_offers(cm_placing *job)
{
    const cm_patience patience = {deadline_of(job, 1), NODES_FOR_OFFERS, NULL};
    cm_found more = cm_found_new(job->session, &job->board, offers_wanted(job));
    cm_polish(job->session, &job->levels, patience.deadline, &more);
    cm_found_take(&more, &job->board, job->found.point, job->found.value2[0]);
    cm_neighbours(job->session, &job->levels, job->found.point, &more);
    if (job->out->proven)
        job->out->offers_proven =
            cm_search(job->session, &job->levels, &patience, &more).complete &&
            cm_windows_edge(&job->board, &job->levels, job->shelves) >= more.value2[more.count - 1];
    job->found = more;
}

/* Fewer pieces for nearly the same: NULL when there is no such choice. */
static const int *look_for_fewer(cm_placing *job)
{
    const cm_patience patience = {deadline_of(job, 1), NODES_FOR_FEWER, NULL};
    int *point = CM_NEW(job->session, job->board.n, int);
    memcpy(point, job->found.point, (size_t)job->board.n * sizeof *point);
    double best2 =
        job->singles.count ? fmin(job->singles.best[0].score, job->found.value2[0]) : job->found.value2[0];
    int pieces = cm_search_fewest(job->session, &job->levels, &patience, best2 * NEARLY * NEARLY, point);
    return pieces < job->found.pieces[0] ? point : NULL;
}

/* ---- what comes out ---- */

static const cm_answer *answer_of(cm_placing *job, const double complex *x)
{
    const cm_problem *p = job->p;
    cm_answer *answer = CM_NEW(job->session, 1, cm_answer);
    double complex *r = CM_NEW(job->session, p->rows, double complex);
    cm_recheck_readings(p, x, r);
    *answer = (cm_answer){.size = sizeof *answer,
                          .outcome = CM_OPTIMAL,
                          .value = job->out->value,
                          .bound = job->out->bound,
                          .gap = job->out->gap,
                          .x = x,
                          .r = r,
                          .at_cap = CM_NEW(job->session, p->planes, unsigned char),
                          .dependent = CM_NEW(job->session, p->planes, unsigned char),
                          .limits_factor = NAN,
                          .largest_ratio = cm_recheck_ratio(p, x)};
    return answer;
}

static bool is_before(const cm_fitting *a, const cm_fitting *b)
{
    double same = 1e-12 * fmax(a->value, b->value);
    return fabs(a->value - b->value) > same ? a->value < b->value : a->pieces < b->pieces;
}

static void insert(cm_fitting *offers, int at, cm_fitting one)
{
    for (; at > 0 && is_before(&one, &offers[at - 1]); at--)
        offers[at] = offers[at - 1];
    offers[at] = one;
}

static cm_fitting fitting_at(cm_placing *job, const int *point, int *const *load)
{
    const cm_chosen chosen = {point, load};
    return cm_fitting_of(job->session, &job->board, job->shelves, &chosen, job->out->overspeed,
                         deadline_of(job, TO_SLIDE));
}

static bool is_listed(const cm_placing *job, const cm_fitting *offers, int count, const cm_fitting *one)
{
    for (int i = 0; i < count; i++) {
        double away = 0, size = job->p->mass_zero;
        for (int j = 0; j < job->p->planes; j++) {
            away = fmax(away, cabs(offers[i].x[j] - one->x[j]));
            size = fmax(size, SAME_MASSES * cabs(one->x[j]));
        }
        if (away <= size && offers[i].pieces <= one->pieces)
            return true;
    }
    return false;
}

/* Fit lists of all choices found, as many as are wanted. Pieces in a groove slide first, which may change the order, and
 * may make the best of a choice that was found for other reasons. */
static cm_fitting *fit_all(cm_placing *job)
{
    const int *others[] = {job->near_bound && job->near_bound[0] >= 0 ? job->near_bound : NULL, job->fewer};
    int count = 0, board = job->board.n;
    cm_fitting *offers = CM_NEW(job->session, job->found.count + job->singles.count + 2, cm_fitting);
    for (; count < job->found.count; count++)
        insert(offers, count, fitting_at(job, job->found.point + (size_t)count * (size_t)board, NULL));
    for (int i = 0; i < job->singles.count; i++) {
        cm_fitting one = fitting_at(job, job->singles.best[i].point, job->singles.best[i].load);
        if (!is_listed(job, offers, count, &one))
            insert(offers, count++, one);
    }
    for (int i = 0; i < 2; i++) {
        if (!others[i])
            continue;
        cm_fitting one = fitting_at(job, others[i], NULL);
        if ((!count || one.value < offers[0].value) && cm_recheck_violation(job->p, one.x) <= 1e-9)
            insert(offers, count++, one);
    }
    job->out->offer_count = count < offers_wanted(job) ? count : offers_wanted(job);
    return offers;
}

/* The choice with fewer pieces, if it still is one after its pieces slid. */
static void put_fewer(cm_placing *job)
{
    cm_placement *out = job->out;
    cm_fitting fewer = fitting_at(job, job->fewer, NULL);
    if (fewer.pieces < out->best.pieces && fewer.value <= NEARLY * out->best.value &&
        cm_recheck_violation(job->p, fewer.x) <= 1e-9)
        out->fewer = fewer;
}

/* Where pieces slide or sums are sampled, a value that meets the bound is proven all the same. */
static void close_gap(cm_placing *job)
{
    cm_placement *out = job->out;
    out->bound = fmin(out->bound, out->value);
    if (job->near_bound && out->bound >= out->value * (1 - CLOSED))
        out->proven = 1;
    if (out->proven && !job->near_bound)
        out->bound = out->value;
    out->gap = gap_of(job->p, out->value, out->bound);
}

static void write_lists(cm_placing *job)
{
    cm_placement *out = job->out;
    cm_fitting *offers = fit_all(job);
    out->offers = offers;
    out->best = offers[0];
    out->value = offers[0].value;
    close_gap(job);
    if (job->fewer)
        put_fewer(job);
    out->slips = cm_slips_of(job->session, job->p, out->shop, &out->best);
    if (cm_recheck_violation(job->p, out->best.x) > 1e-9)
        cm_fail(job->session, CM_NUMERICS,
                "the placement found does not keep the caps or limits: it did not pass its recheck");
}

/* No placement: the rotor as it is, with its own value. */
static void leave_as_it_is(cm_placing *job, cm_place_outcome outcome)
{
    cm_placement *out = job->out;
    out->outcome = outcome;
    out->value = outcome == CM_NOTHING_FITS ? out->before : NAN;
    out->gap = outcome == CM_NOTHING_FITS ? 0 : NAN;
    out->bound = outcome == CM_NOT_FOUND ? out->bound : out->value;
    out->best = (cm_fitting){.value = out->before, .largest_ratio = out->before_ratio, .x = job->board.still};
    out->proven = outcome != CM_NOT_FOUND;
}

static void place(cm_placing *job)
{
    bool allowed = list_masses(job);
    bool hurried = cm_is_over(job->session, deadline_of(job, TO_LIST));
    put_present(job);
    if (cm_stop_wanted(job->session)) { /* before anything could be looked at */
        job->out->stopped = 1;
        job->out->bound = 0;
        leave_as_it_is(job, CM_NOT_FOUND);
        return;
    }
    put_continuous(job);
    if (!allowed) {
        leave_as_it_is(job, CM_NOT_WITHIN);
        return;
    }
    if (!job->board.n) {
        leave_as_it_is(job, CM_NOTHING_FITS);
        return;
    }
    cm_board_fill(job->session, &job->board);
    job->levels = cm_levels_new(job->session, &job->board, INFINITY);
    look_for_best(job);
    look_at_positions(job);
    job->out->timed_out = !job->out->proven && !job->out->stopped && (job->out->timed_out || hurried);
    describe_lists(job);
    if (!job->found.count && !job->singles.count) {
        leave_as_it_is(job, job->out->proven ? CM_NOT_WITHIN : CM_NOT_FOUND);
        return;
    }
    if (job->found.count) {
        look_for_offers(job);
        job->fewer = look_for_fewer(job);
    }
    write_lists(job);
}

static bool is_undetermined(const cm_problem *p)
{
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0 && p->determined && !p->determined[i])
            return true;
    return false;
}

static cm_placement *new_placement(cm_session *session, const cm_job *job, const cm_place_question *question)
{
    cm_placement *out = CM_NEW(session, 1, cm_placement);
    bool assumed = true;
    *out = (cm_placement){.size = sizeof *out,
                          .outcome = CM_PLACED,
                          .shop = question->shop,
                          .value = NAN,
                          .bound = NAN,
                          .gap = NAN,
                          .continuous = NAN,
                          .before = NAN,
                          .before_ratio = NAN,
                          .overspeed = NAN};
    if (job->given)
        out->overspeed = cm_overspeed_of(job->given, &assumed);
    out->overspeed_assumed = assumed;
    return out;
}

/* The caller's question, with a shop that has an entry for every plane. */
static cm_place_question *given_question(cm_session *session, const cm_place_question *given, int planes)
{
    cm_place_question *question = CM_NEW(session, 1, cm_place_question);
    *question = *CM_GIVEN(session, cm_place_question, offers, given);
    /* the last member is a pointer: NOLINTNEXTLINE(bugprone-sizeof-expression) */
    const cm_shop *shop = question->shop = CM_GIVEN(session, cm_shop, plane, question->shop);
    if (shop->planes != planes || !shop->plane)
        cm_fail(session, CM_BAD_INPUT,
                "cm_shop must tell what each of the %d planes of the problem offers; it has %d", planes,
                shop->plane ? shop->planes : 0);
    return question;
}

static void place_or_tell(cm_placing *placing, cm_job *job)
{
    if (is_undetermined(job->problem)) {
        placing->out->outcome = CM_PLACE_UNDETERMINED;
        job->answer = cm_solve_problem(placing->session, job->problem);
        return;
    }
    place(placing);
    job->answer = answer_of(placing, placing->out->best.x);
}

cm_status cm_place_pieces(cm_session *session, cm_job *theirs, const cm_place_question *asked)
{
    static const cm_job_call CALL = {"cm_place_pieces", CM_HAS_PROBLEM, CM_HAS_PLACEMENT | CM_HAS_ANSWER};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_place_question *question = given_question(session, asked, job->problem->planes);
    cm_placement *out = new_placement(session, job, question);
    cm_placing placing = {.session = session, .p = job->problem, .question = question, .out = out};
    placing.begun = cm_clock_seconds();
    placing.seconds = question->seconds > 0 ? question->seconds : SECONDS;
    job->placement = out;
    place_or_tell(&placing, job);
    if (out->stopped) /* heeded: what is left to do with the answer is short and shall not be lost */
        session->host.stop = NULL;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
