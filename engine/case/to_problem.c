/* SPDX-License-Identifier: MIT */
/* Objective, weights, limits, caps and ties of a case as a problem in SI and one frame. */
#include "case/arrays.h"

#include <math.h>

/* Planes not in use keep what is on the rotor now; a fixed mass wins over use_planes. */
static void put_held(cm_session *session, const cm_case *c, cm_problem *p)
{
    unsigned char *held = CM_NEW(session, c->plane_count, unsigned char);
    double complex *value = CM_NEW(session, c->plane_count, double complex);
    for (int j = 0; j < c->plane_count; j++) {
        held[j] = cm_plane_is_held(c, j);
        value[j] = c->goal.fixed[j] ? c->goal.fixed_value[j] : p->now[j];
    }
    p->held = held;
    p->held_value = value;
}

static void put_ties(cm_session *session, const cm_case *c, cm_problem *p)
{
    int count = c->goal.tie_count;
    double complex *ties = CM_NEW(session, (size_t)count * (size_t)c->plane_count, double complex);
    double complex *value = CM_NEW(session, count, double complex);
    for (int t = 0; t < count; t++) {
        const cm_tie *tie = &c->goal.ties[t];
        for (int i = 0; i < tie->count; i++)
            ties[t + count * tie->terms[i].plane] += tie->terms[i].factor;
        value[t] = tie->equals;
    }
    p->tie_count = count;
    p->ties = ties;
    p->tie_value = value;
}

static void put_masses(cm_session *session, const cm_case *c, cm_problem *p)
{
    double complex *base = CM_NEW(session, c->plane_count, double complex);
    double complex *now = CM_NEW(session, c->plane_count, double complex);
    p->mass_zero = cm_mass_zero_of(c);
    cm_total(c, p->mass_zero, cm_base_masses(c), false, base, 1);
    cm_total(c, p->mass_zero, cm_now_masses(c), false, now, 1);
    p->base = base;
    p->now = now;
    p->mass_unit = c->mass_unit->factor;
}

/* What each objective cannot do without. */
static const struct {
    const char *name;
    bool limits, error, spread;
} NEEDS[] = {
    [CM_LEAST_SQUARES] = {"least-squares", false, false, false},
    [CM_MIN_MAX] = {"min-max", false, false, false},
    [CM_LEAST_MASS] = {"least-mass", true, false, false},
    [CM_LEAST_CHANGE] = {"least-change", true, false, false},
    [CM_WORST_CASE] = {"worst-case", false, true, false},
    [CM_EXPECTED] = {"expected", false, false, true},
    [CM_CONFIDENCE] = {"confidence", true, false, true},
};

/* A limit that the rest of the level is over by itself cannot be asked for. */
static void check_room(cm_session *session, const cm_case *c, const double *weight)
{
    const cm_goal *goal = &c->goal;
    bool asked = goal->within_limits || NEEDS[goal->minimise].limits ||
                 (goal->has_then && goal->second == CM_CONFIDENCE);
    for (int i = 0; asked && i < c->row_count; i++) {
        const cm_sensor *sensor = &c->sensors[c->row_sensor[i]];
        if (!(weight[i] > 0) || !cm_leaves_no_room(c, i))
            continue;
        cm_report(session, CM_ERROR, &sensor->place,
                  "what is not once per turn in '%s' at '%s' reads %.4g %s, which alone is over the limit on "
                  "the overall "
                  "level: no masses can meet it; write limit_is: one-per-turn, or weight: 0",
                  sensor->id, c->speeds[c->row_speed[i]].id, cm_rest_of(c, i) / sensor->unit->factor,
                  sensor->unit->name);
    }
}

/* What objective.then cannot do without; limits only where they are what is asked. */
static void check_then(cm_session *session, const cm_case *c, bool limits)
{
    const cm_goal *goal = &c->goal;
    if (goal->second == CM_CONFIDENCE && !limits)
        cm_report(session, CM_ERROR, &goal->then_place,
                  "objective.then: confidence needs limits; give the sensors that count a 'limit'");
    if (NEEDS[goal->second].error && isnan(goal->influence_error))
        cm_report(session, CM_ERROR, &goal->then_place,
                  "objective.then: %s needs objective.influence_error, such as 0.05 or '5 %% each'",
                  NEEDS[goal->second].name);
}

static void check_needs(cm_session *session, const cm_case *c, bool limits)
{
    const cm_goal *goal = &c->goal;
    if (goal->has_then)
        check_then(session, c, limits);
    if (NEEDS[goal->minimise].limits && !limits)
        cm_report(session, CM_ERROR, &goal->minimise_place,
                  "objective.minimise: %s needs limits; give the sensors that count a 'limit'",
                  NEEDS[goal->minimise].name);
    if (NEEDS[goal->minimise].error && isnan(goal->influence_error))
        cm_report(session, CM_ERROR, &goal->minimise_place,
                  "objective.minimise: %s needs objective.influence_error, such as 0.05 or '5 %% each'",
                  NEEDS[goal->minimise].name);
    if (goal->within_limits && !limits)
        cm_report(session, CM_ERROR, &goal->within_place,
                  "objective.within_limits needs limits; give the sensors that count a 'limit'");
}

/* An orbit with a limit that counts, or NULL. */
static const cm_probe_pair *counted_pair(const cm_case *c, const cm_problem *p)
{
    for (int k = 0; k < p->pair_count; k++)
        if (p->pairs[k].weight > 0)
            return &c->pairs[c->orbits[k].pair];
    return NULL;
}

/* Min-max weighs readings against orbits: readings in their unit beside orbits in shares of a limit would make the answer
 * one of the unit. The other objectives never add them up. */
static void check_pairs(cm_session *session, const cm_case *c, const cm_problem *p, const double *weight)
{
    const cm_goal *goal = &c->goal;
    bool weighed = goal->minimise == CM_MIN_MAX || (goal->has_then && goal->second == CM_MIN_MAX);
    const cm_probe_pair *pair = counted_pair(c, p);
    int row = 0;
    while (row < c->row_count && !(weight[row] > 0))
        row++;
    if (!weighed || !pair || row == c->row_count)
        return;
    const cm_sensor *sensor = &c->sensors[c->row_sensor[row]];
    cm_report(
        session, CM_ERROR, &sensor->place,
        "the sensor '%s' has no limit, but the pair '%s' has one, and min-max weighs both by their limits; "
        "give '%s' a 'limit' (and every other sensor that counts), or 'weight: 0' to leave it uncounted",
        sensor->id, pair->id, sensor->id);
}

static void put_weights(cm_session *session, const cm_case *c, cm_problem *p)
{
    int before = session->errors;
    bool pairs = cm_put_pairs(session, c, p);
    double *weight = CM_NEW(session, c->row_count, double);
    double *limit = CM_NEW(session, c->row_count, double);
    bool limits = cm_case_weights(session, c, weight, limit);
    if (session->errors == before && pairs && !limits)
        check_pairs(session, c, p, weight);
    if (session->errors == before)
        check_needs(session, c, limits || pairs);
    if (session->errors == before)
        check_room(session, c, weight);
    if (session->errors > before)
        cm_fail(session, CM_BAD_INPUT, NULL);
    p->weight = weight;
    p->limit = limit;
}

cm_status cm_case_problem(cm_session *session, const cm_case *c, const cm_influence *influence,
                          const cm_problem **out)
{
    CM_ENTER(session);
    if (influence->rows != c->row_count || influence->planes != c->plane_count)
        cm_fail(
            session, CM_BAD_INPUT,
            "cm_case_problem: the influence matrix has %d rows and %d planes, the case %d and %d; it must be "
            "the fit of its runs",
            influence->rows, influence->planes, c->row_count, c->plane_count);
    cm_problem *p = CM_NEW(session, 1, cm_problem);
    *p = (cm_problem){
        .size = sizeof *p, .rows = c->row_count, .planes = c->plane_count, .blocks = c->speed_count};
    p->objective = c->goal.minimise;
    p->block = c->row_speed;
    p->y = influence->y;
    p->a = influence->a;
    put_weights(session, c, p);
    cm_put_judged(session, c, p);
    put_masses(session, c, p);
    put_held(session, c, p);
    put_ties(session, c, p);
    cm_tie_sets(session, c, p);
    cm_put_columns(session, c, p);
    p->disc_count = cm_case_discs(session, c, p->held, p->now, &p->discs);
    p->within_limits = c->goal.within_limits;
    p->influence_error = isnan(c->goal.influence_error) ? 0 : c->goal.influence_error;
    p->then = c->goal.has_then;
    p->second = c->goal.second;
    p->within = c->goal.within;
    bool spread = NEEDS[p->objective].spread || (p->then && NEEDS[p->second].spread);
    p->spread = spread ? influence->factor : NULL;
    *out = p;
    return cm_leave(session);
}
