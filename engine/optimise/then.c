/* SPDX-License-Identifier: MIT */
/* Problem: of all masses whose value is within a share of the best, the best by a second objective.
 *
 * Method: with v the best value found, a second problem keeps
 *     first objective ≤ (1 + within) v        (confidence: kappa ≥ (1 - within) v)
 * as a constraint: the cones of the first objective with a bound in the place of its variable. Its dual point charges
 * keep_at times the dual norm of the first objective's phasors (recheck.c), so its bound holds for all such masses. A best value of
 * zero leaves no room: what must vanish is then tied to where the first answer put it. */
#include "optimise/certificate.h"
#include "optimise/complete.h"
#include "optimise/pairs.h"
#include "optimise/solve.h"

#include <math.h>
#include <string.h>

#define VIOLATION_ALLOWED 1e-7 /* of what is kept, before masses are no answer */
#define PROVEN 1e-8            /* gap */
#define KEPT_EXACTLY 2e-10     /* of the first objective beyond what is kept: below this it counts as kept */

static double keep_at(const cm_problem *p, double value)
{
    return p->objective == CM_CONFIDENCE ? value * (1 - p->within) : value * (1 + p->within);
}

/* ---- a best value of zero ---- */

static bool is_zero(const cm_problem *p, const cm_answer *answer)
{
    if (p->objective == CM_CONFIDENCE)
        return false;
    bool no_mass = cm_is_about_masses(p->objective) && answer->value <= p->mass_zero;
    return no_mass || cm_counts_as_zero(p, answer->value);
}

typedef struct cm_tied {
    const cm_problem *p;
    const double complex *x;
    int count, room;
    double complex *ties, *value; /* room × planes, row by row; room */
} cm_tied;

/* One tie: Σ factor_j x_j stays where the answer has it. */
static double complex *new_tie(cm_tied *t)
{
    return t->ties + (size_t)t->count++ * (size_t)t->p->planes;
}

static void tie_part(cm_tied *t, const cm_pair *pair, int part)
{
    double complex *tie = new_tie(t);
    for (int j = 0; j < t->p->planes; j++)
        tie[j] = cm_pair_part_at(pair, part, t->p->a + (size_t)j * (size_t)t->p->rows);
}

static void tie_rows(cm_tied *t)
{
    const cm_problem *p = t->p;
    for (int i = 0; i < p->rows; i++) {
        if (!(p->weight[i] > 0))
            continue;
        double complex *tie = new_tie(t);
        for (int j = 0; j < p->planes; j++)
            tie[j] = p->a[i + j * p->rows];
    }
    for (int k = 0; k < p->pair_count && p->objective == CM_MIN_MAX; k++)
        for (int part = 0; part < cm_pair_part_count(&p->pairs[k]) && p->pairs[k].weight > 0; part++)
            tie_part(t, &p->pairs[k], part);
}

/* Where masses are the objective, or weigh in it, they are all tied. */
static void tie_planes(cm_tied *t)
{
    for (int j = 0; j < t->p->planes; j++)
        new_tie(t)[j] = 1;
}

static void put_ties(cm_session *session, cm_tied *t, cm_problem *second)
{
    const cm_problem *p = t->p;
    int all = p->tie_count + t->count;
    double complex *ties = CM_NEW(session, (size_t)all * (size_t)p->planes, double complex);
    double complex *value = CM_NEW(session, all, double complex);
    for (int j = 0; j < p->planes; j++) {
        for (int k = 0; k < p->tie_count; k++)
            ties[k + j * all] = p->ties[k + j * p->tie_count];
        for (int k = 0; k < t->count; k++)
            ties[p->tie_count + k + j * all] = t->ties[j + k * p->planes];
    }
    for (int k = 0; k < p->tie_count; k++)
        value[k] = p->tie_value[k];
    for (int k = 0; k < t->count; k++)
        for (int j = 0; j < p->planes; j++)
            value[p->tie_count + k] += t->ties[j + k * p->planes] * t->x[j];
    second->tie_count = all;
    second->ties = ties;
    second->tie_value = value;
}

static void tie_down(cm_session *session, const cm_problem *p, const double complex *x, cm_problem *second)
{
    cm_tied t = {.p = p, .x = x, .room = p->rows + 2 * p->pair_count + p->planes};
    t.ties = CM_NEW(session, (size_t)t.room * (size_t)p->planes, double complex);
    bool masses =
        cm_is_about_masses(p->objective) || (p->objective == CM_WORST_CASE && p->influence_error > 0);
    (masses ? tie_planes : tie_rows)(&t);
    put_ties(session, &t, second);
}

/* ---- the second problem ---- */

static cm_problem second_of(cm_session *session, const cm_problem *p, const cm_answer *answer)
{
    cm_problem second = *p;
    second.then = 0;
    second.objective = p->second;
    second.within_limits = p->within_limits || cm_is_about_masses(p->objective);
    second.keeps = 1;
    second.kept = p->objective;
    second.keep_at = keep_at(p, answer->value);
    if (is_zero(p, answer)) {
        second.keep_at = 2 * CM_VALUE_ZERO * cm_value_scale(p);
        tie_down(session, p, answer->x, &second);
    }
    return second;
}

/* The second's masses in the first's answer; bound and proof stay those of the first. */
static void take_masses(cm_session *session, const cm_problem *p, const cm_answer *from, cm_answer *answer)
{
    answer->x = from->x;
    answer->r = from->r;
    answer->value = cm_recheck_value(p, from->x);
    double excess = p->objective == CM_CONFIDENCE
                        ? (answer->bound - answer->value) / fmax(answer->value, 1e-6)
                        : (answer->value - answer->bound) / answer->value;
    bool closed = is_zero(p, answer) || (answer->gap == 0 && !(excess > CM_VALUE_ZERO));
    answer->gap = closed ? 0 : fmax(0, excess);
    answer->largest_ratio = cm_recheck_ratio(p, from->x);
    answer->at_cap = cm_at_caps(session, p, from->x);
    answer->iterations += from->iterations;
    answer->then_value = from->value;
    /* The last digits may lie outside what is kept and undercut the bound. */
    bool falls = p->second != CM_CONFIDENCE;
    answer->then_bound = falls ? fmin(from->bound, from->value) : fmax(from->bound, from->value);
    answer->then_gap = from->gap;
}

typedef struct cm_second {
    cm_session *session;
    const cm_problem *problem;
    const cm_answer *found;
} cm_second;

static void solve_second(void *data)
{
    cm_second *s = data;
    s->found = cm_solve_problem(s->session, s->problem);
}

/* How far masses are beyond what is kept, in the unit of the first objective. */
static double beyond_kept(const cm_problem *p, double kept, const cm_answer *found)
{
    double value = cm_recheck_value(p, found->x);
    return p->objective == CM_CONFIDENCE ? kept - value : value - kept;
}

/* Masses that the last digits put beyond what is kept: once more with that much less room. The bound stays that of all
 * the room there is. */
static void keep_exactly(const cm_problem *p, cm_second *s, cm_problem *second)
{
    double kept = second->keep_at, excess = beyond_kept(p, kept, s->found);
    if (!(excess > KEPT_EXACTLY * kept) || is_zero(p, s->found))
        return;
    const cm_answer *loose = s->found;
    second->keep_at = p->objective == CM_CONFIDENCE ? kept + 2 * excess : kept - 2 * excess;
    bool solved = cm_attempt(s->session, solve_second, s);
    second->keep_at = kept;
    if (!solved || s->found->outcome != CM_OPTIMAL || !(beyond_kept(p, kept, s->found) < excess)) {
        s->found = loose;
        return;
    }
    cm_answer *tight = CM_NEW(s->session, 1, cm_answer);
    *tight = *s->found;
    tight->bound = loose->bound;
    bool falls = second->objective != CM_CONFIDENCE;
    double open = falls ? tight->value - tight->bound : tight->bound - tight->value;
    tight->gap = open > 0 ? open / (falls ? tight->value : fmax(tight->value, 1e-6)) : 0;
    s->found = tight;
}

/* Nothing better was found: what the first answer is worth by the second objective, without proof. */
static void stay(const cm_problem *second, cm_answer *answer)
{
    bool defined = second->objective != CM_CONFIDENCE || cm_recheck_ratio(second, answer->x) <= 1;
    answer->then_value = defined ? cm_recheck_value(second, answer->x) : NAN;
    answer->then_gap = defined ? 1 : NAN;
}

/* How far an answer of the second problem is from being one and proven; INFINITY: it is none. */
static double flaw_of(const cm_second *s)
{
    const cm_answer *found = s->found;
    if (!found || found->outcome != CM_OPTIMAL ||
        cm_recheck_violation(s->problem, found->x) > VIOLATION_ALLOWED)
        return INFINITY;
    return isnan(found->gap) ? 1 : found->gap;
}

/* Where the search goes wrong by itself (the masses that keep the first objective are few and far from where it begins),
 * once more from the first answer, which is among them. */
static void search(const cm_answer *first, cm_second *s, cm_problem *second)
{
    if (!cm_attempt(s->session, solve_second, s))
        s->found = NULL;
    double flaw = flaw_of(s);
    if (flaw <= PROVEN)
        return;
    const cm_answer *before = s->found;
    second->begin = first->x;
    if (!cm_attempt(s->session, solve_second, s) || !(flaw_of(s) < flaw))
        s->found = before;
}

const cm_answer *cm_solve_asked(cm_session *session, const cm_problem *problem)
{
    const cm_answer *first = cm_solve_problem(session, problem);
    if (!problem->then || first->outcome != CM_OPTIMAL || !isfinite(first->value))
        return first;
    cm_answer *answer = CM_NEW(session, 1, cm_answer);
    *answer = *first;
    answer->then_best = first->value;
    answer->then_best_gap = first->gap;
    cm_problem *second = CM_NEW(session, 1, cm_problem);
    *second = second_of(session, problem, first);
    cm_second s = {session, second, NULL};
    search(first, &s, second);
    if (s.found && isfinite(flaw_of(&s))) {
        keep_exactly(problem, &s, second);
        take_masses(session, problem, s.found, answer);
    } else
        stay(second, answer);
    return answer;
}
