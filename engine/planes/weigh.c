/* SPDX-License-Identifier: MIT */
/* One set of planes: determined or not, solved from scratch, and its figures.
 *
 *     expected² = E sum W_i² |r_i|² = sum W_i² (|r_i|² + |F_iᵀ (1, z)|²)
 *
 * F_i F_iᴴ the covariance of (y_i, a_i1, …): the reading after correction is linear in them. */
#include "planes/weigh.h"

#include "fit/condition.h"
#include "fit/determine.h"
#include "fit/pair_spread.h"
#include "linalg/dense.h"
#include "model/units.h"
#include "optimise/presolve.h"
#include "optimise/solve.h"

#include <math.h>
#include <string.h>

#undef I

/* Values below this share of the weighted readings are zero. */
#define VALUE_ZERO 1e-12

int cm_set_size(cm_set set)
{
    int size = 0;
    for (; set; set &= set - 1)
        size++;
    return size;
}

static bool is_marked(const unsigned char *marks, int plane)
{
    return marks && marks[plane];
}

static const char *name_of(cm_session *session, const cm_job *job, int part)
{
    int planes = job->problem->planes;
    if (!job->given)
        return cm_format(session, "plane %d", part + 1);
    return part < planes ? job->given->planes[part].id : job->given->sets[part - planes].id;
}

static void check_part(cm_session *session, const cm_job *job, const cm_plane_question *q, int part,
                       bool in_use)
{
    if (!is_marked(q->must, part))
        return;
    if (is_marked(q->never, part))
        cm_report(session, CM_ERROR, NULL, "'%s' cannot be in every set (must) and in none (never)",
                  name_of(session, job, part));
    else if (!in_use)
        cm_report(session, CM_ERROR, NULL,
                  "'%s' is fixed or not among the planes in use (objective.fixed, objective.use_planes): it "
                  "cannot be asked for",
                  name_of(session, job, part));
}

/* Column of a part among those in use, -1: it is not. Without columns the planes that are not held are in use. */
static int column_of(const cm_problem *p, int part)
{
    if (!p->columns)
        return part < p->planes && !is_marked(p->held, part) ? part : -1;
    for (int c = 0; c < p->column_count; c++)
        if (p->column_of[c] == part)
            return c;
    return -1;
}

static void list_parts(cm_session *session, const cm_job *job, const cm_plane_question *q, cm_choice *choice)
{
    const cm_problem *p = job->problem;
    for (int part = 0; part < choice->parts; part++) {
        int column = column_of(p, part);
        check_part(session, job, q, part, column >= 0);
        if (is_marked(q->never, part) || column < 0)
            continue;
        if (choice->count == CM_SET_PLANES)
            cm_fail(session, CM_BAD_INPUT, "more than %d planes to choose from; leave some out (never)",
                    CM_SET_PLANES);
        if (is_marked(q->must, part))
            choice->must |= (cm_set)1 << choice->count;
        choice->column[choice->count] = p->columns ? p->columns + (size_t)column * (size_t)p->planes : NULL;
        choice->plane[choice->count++] = part;
    }
    cm_fail_on_errors(session);
}

double complex cm_choice_effect(const cm_choice *choice, int row, int t)
{
    const cm_problem *p = choice->problem;
    double complex sum = 0;
    if (!choice->column[t])
        return p->a[row + choice->plane[t] * p->rows];
    for (int j = 0; j < p->planes; j++)
        sum += p->a[row + j * p->rows] * choice->column[t][j];
    return sum;
}

static double weighted_readings(const cm_problem *p)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0)
            sum = hypot(sum, p->weight[i] * cabs(p->y[i]));
    return sum;
}

static bool all_told(const cm_influence *influence)
{
    for (int i = 0; influence && i < influence->rows; i++)
        if (influence->null_count[i] > 0)
            return false;
    return true;
}

static void check_sizes(cm_session *session, const cm_plane_question *q, cm_choice *choice)
{
    if (choice->count == 0)
        cm_fail(session, CM_BAD_INPUT, "no plane is left to choose from");
    if (q->at_most < 0 || q->at_most > choice->count)
        cm_fail(session, CM_BAD_INPUT, "sets of at most %d planes: there are %d to choose from", q->at_most,
                choice->count);
    choice->at_most = q->at_most ? q->at_most : choice->count;
    if (cm_set_size(choice->must) > choice->at_most)
        cm_fail(session, CM_BAD_INPUT, "sets of at most %d planes cannot hold the %d that must be there",
                choice->at_most, cm_set_size(choice->must));
}

cm_choice cm_choose(cm_session *session, const cm_job *job, const cm_plane_question *question)
{
    cm_choice choice = {.problem = job->problem,
                        .influence = job->influence,
                        .given = job->given,
                        .parts = job->problem->planes + (job->given ? job->given->set_count : 0)};
    list_parts(session, job, question, &choice);
    check_sizes(session, question, &choice);
    if (job->influence && job->problem->pair_count > 0) {
        cm_problem *problem = CM_NEW(session, 1, cm_problem);
        *problem = *job->problem;
        cm_put_pair_spreads(session, job->influence, problem);
        choice.problem = problem;
    }
    choice.told = all_told(job->influence);
    bool masses = job->problem->objective == CM_LEAST_MASS || job->problem->objective == CM_LEAST_CHANGE;
    choice.scale = masses ? job->problem->mass_unit : weighted_readings(job->problem);
    cm_refuse_ties(session, job);
    cm_presolve(session, job->problem); /* ties and held planes that contradict each other are a wrong case */
    return choice;
}

/* Planes that move only as the sets chosen do: ties by the directions in which none of the columns leads.
 *     x - o in the range of B   <=>   Nᴴ (x - o) = 0,   N: left null space of B over the planes that B reaches */
static void tie_columns(cm_session *session, const double complex *columns, int count, cm_problem *p)
{
    int n = p->planes, reached = 0, rank = 0, least;
    int *plane = CM_NEW(session, n, int);
    for (int j = 0; j < n; j++)
        if (!p->held[j])
            plane[reached++] = j;
    least = reached < count ? reached : count;
    double complex *b = CM_NEW(session, (size_t)reached * (size_t)count, double complex);
    double complex *u = CM_NEW(session, (size_t)reached * (size_t)reached, double complex);
    double *s = CM_NEW(session, least, double);
    for (int c = 0; c < count; c++)
        for (int r = 0; r < reached; r++)
            b[r + c * reached] = columns[plane[r] + c * n];
    cm_svd(session, reached, count, b, reached, s, u, NULL);
    while (rank < least && s[rank] > 1e-10 * s[0])
        rank++;
    int old = p->tie_count, all = old + reached - rank;
    double complex *ties = CM_NEW(session, (size_t)all * (size_t)n, double complex);
    double complex *value = CM_NEW(session, all, double complex);
    for (int t = 0; t < old; t++) {
        value[t] = p->tie_value[t];
        for (int j = 0; j < n; j++)
            ties[t + all * j] = p->ties[t + old * j];
    }
    for (int t = old; t < all; t++)
        for (int r = 0; r < reached; r++) {
            double complex factor = conj(u[r + (rank + t - old) * reached]);
            ties[t + all * plane[r]] = factor;
            value[t] += factor * p->held_value[plane[r]];
        }
    p->ties = ties;
    p->tie_value = value;
    p->tie_count = all;
}

/* Columns of the bits in the set; NULL when all are planes by themselves. */
static const double complex *columns_of(cm_session *session, const cm_choice *choice, cm_set set)
{
    int planes = choice->problem->planes, at = 0;
    if (choice->count == 0 || !choice->column[0])
        return NULL;
    double complex *columns = CM_NEW(session, (size_t)planes * (size_t)cm_set_size(set), double complex);
    for (int t = 0; t < choice->count; t++)
        if (set >> t & 1)
            memcpy(columns + (size_t)planes * (size_t)at++, choice->column[t],
                   (size_t)planes * sizeof *columns);
    return columns;
}

static bool reaches(const cm_choice *choice, cm_set set, int plane)
{
    for (int t = 0; t < choice->count; t++)
        if ((set >> t & 1) &&
            (choice->column[t] ? cabs(choice->column[t][plane]) > 0 : choice->plane[t] == plane))
            return true;
    return false;
}

cm_problem cm_set_problem(cm_session *session, const cm_choice *choice, cm_set set)
{
    cm_problem problem = *choice->problem;
    unsigned char *held = CM_NEW(session, problem.planes, unsigned char);
    double complex *value = CM_NEW(session, problem.planes, double complex);
    for (int j = 0; j < problem.planes; j++) {
        held[j] = !reaches(choice, set, j);
        value[j] = is_marked(problem.held, j) ? problem.held_value[j] : problem.now[j];
    }
    problem.held = held;
    problem.held_value = value;
    problem.columns = columns_of(session, choice, set);
    problem.column_of = NULL;
    problem.column_count = problem.columns ? cm_set_size(set) : 0;
    problem.column_determined = NULL;
    if (problem.column_count > 0)
        tie_columns(session, problem.columns, problem.column_count, &problem);
    if (choice->influence)
        problem.coefficient_determined = choice->influence->determined;
    return problem;
}

static double total_mass(const cm_problem *p, const double complex *x)
{
    double sum = 0;
    for (int j = 0; j < p->planes; j++)
        sum += cabs(x[j]) < p->mass_zero ? 0 : cabs(x[j]);
    return sum;
}

/* Variance of the reading of a row after correction. */
static double variance(const cm_problem *p, const double complex *factor, const double complex *x)
{
    double sum = 0;
    int n = p->planes + 1;
    for (int k = 0; k < n; k++) {
        double complex entry = factor[k * n];
        for (int j = 0; j < p->planes; j++)
            entry += factor[j + 1 + k * n] * (x[j] - p->base[j]);
        sum += cm_abs2(entry);
    }
    return sum;
}

static double expected(const cm_choice *choice, const cm_problem *p, const cm_answer *answer)
{
    double sum = 0;
    size_t block = (size_t)(p->planes + 1) * (size_t)(p->planes + 1);
    for (int i = 0; i < p->rows; i++) {
        if (p->weight[i] <= 0)
            continue;
        if (!choice->influence || choice->influence->scatter_source[i] == CM_SCATTER_ASSUMED)
            return NAN;
        double spread = variance(p, choice->influence->factor + (size_t)i * block, answer->x);
        sum += p->weight[i] * p->weight[i] * (cm_abs2(answer->r[i]) + spread);
    }
    return sqrt(sum);
}

/* Share of each row in the proof: what its limit is worth. */
static void row_shares(const cm_problem *p, const cm_answer *answer, double *rows)
{
    double sum = 0;
    memset(rows, 0, (size_t)p->rows * sizeof *rows);
    for (int i = 0; answer->row_multiplier && i < p->rows; i++) {
        rows[i] = p->weight[i] > 0 ? fmax(0, answer->row_multiplier[i]) : 0;
        sum += rows[i];
    }
    for (int i = 0; i < p->rows && sum > 0; i++)
        rows[i] /= sum;
}

double cm_choice_ratio(const cm_choice *choice, const cm_problem *p, double ratio, const cm_complex *r)
{
    double most = 0;
    if (!isnan(ratio) || !choice->given)
        return ratio;
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0)
            most = fmax(most, cabs(r[i]) / choice->given->sensors[choice->given->row_sensor[i]].unit->factor);
    return most;
}

static void put_answer(const cm_choice *choice, const cm_problem *p, const cm_answer *answer,
                       cm_plane_set *out)
{
    out->value = answer->value;
    if (p->objective != CM_CONFIDENCE && answer->value <= VALUE_ZERO * choice->scale)
        out->value = 0;
    out->bound = answer->bound;
    out->largest_ratio = cm_choice_ratio(choice, p, answer->largest_ratio, answer->r);
    out->total_mass = total_mass(p, answer->x);
    out->expected = expected(choice, p, answer);
}

/* Whether the runs tell every counted row over the masses this set allows, and how many runs are wanting. */
static void determine(cm_session *session, const cm_choice *choice, cm_problem *p, cm_plane_set *out)
{
    out->starts = choice->influence ? 0 : -1;
    if (choice->told)
        return;
    const cm_determination *found = cm_find_determination(session, choice->influence, p);
    p->determined = found->determined;
    out->starts = found->run_count;
    if (found->counted > 0)
        out->outcome = CM_UNDETERMINED;
}

static bool ties_cannot_hold(cm_session *session, const cm_problem *p)
{
    return p->tie_count > 0 && cm_affine_set(session, p->planes, p->tie_count, p->ties, p->tie_value, p->held,
                                             p->held_value, NULL)
                                       .contradiction >= 0;
}

typedef struct cm_weighing {
    cm_session *session;
    const cm_choice *choice;
    cm_set set;
    double *rows;
    double complex *x;
    cm_plane_set out;
} cm_weighing;

static void weigh(void *data)
{
    cm_weighing *w = data;
    cm_problem problem = cm_set_problem(w->session, w->choice, w->set);
    determine(w->session, w->choice, &problem, &w->out);
    w->out.condition = cm_find_condition(w->session, &problem)->overall;
    if (w->out.outcome == CM_UNDETERMINED || ties_cannot_hold(w->session, &problem))
        return;
    const cm_answer *answer = cm_solve_problem(w->session, &problem);
    w->out.outcome = answer->outcome;
    if (answer->outcome != CM_OPTIMAL)
        return;
    put_answer(w->choice, &problem, answer, &w->out);
    memcpy(w->x, answer->x, (size_t)problem.planes * sizeof *w->x);
    w->out.x = w->x;
    if (w->rows)
        row_shares(&problem, answer, w->rows);
}

cm_plane_set cm_weigh_set(cm_session *session, const cm_choice *choice, cm_set set, double *rows)
{
    int planes = choice->problem->planes;
    unsigned char *in = CM_NEW(session, choice->parts, unsigned char);
    double complex *x = CM_NEW(session, planes, double complex);
    const cm_plane_set empty = {.in = in,
                                .count = cm_set_size(set),
                                .outcome = CM_INFEASIBLE,
                                .starts = -1,
                                .value = NAN,
                                .bound = NAN,
                                .largest_ratio = NAN,
                                .total_mass = NAN,
                                .condition = INFINITY,
                                .expected = NAN};
    cm_weighing w = {session, choice, set, rows, x, empty};
    for (int t = 0; t < choice->count; t++)
        in[choice->plane[t]] = (unsigned char)(set >> t & 1);
    cm_mark mark = cm_mark_of(session);
    bool solved = cm_attempt(session, weigh, &w);
    cm_release_to(session, mark);
    if (!solved) {
        w.out = empty;
        w.out.failed = 1;
        if (rows)
            memset(rows, 0, (size_t)choice->problem->rows * sizeof *rows);
    }
    return w.out;
}
