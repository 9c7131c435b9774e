/* SPDX-License-Identifier: MIT */
/* Problem: rows i of one reading in several operating states have the same coefficients, r_i = y_i + a·z. What can no
 * mass change?
 *
 * Method: a·z is one complex number w, whatever planes there are, so the least that the largest of |y_i + w| can be is a min-max
 * problem in w (the smallest circle around the points y_i). Its bound is the proof; the rows with multipliers are the states
 * that clash: there are two of them, or three. A reading that no plane in use moves has w = 0.
 * Beside it: the least largest weighted reading of all states together, and of each alone, under caps and ties as they are. */
#include "countermass/job.h"
#include "optimise/solve.h"
#include "model/job_call.h"

#include <complex.h>
#undef I
#include <math.h>

#define HOLDS 1e-6 /* share of the proof that a state must carry to be named */

static bool is_told(const cm_problem *p, int row)
{
    return !p->determined || p->determined[row];
}

static bool can_move(const cm_problem *p, int row)
{
    for (int j = 0; j < p->planes; j++)
        if (!(p->held && p->held[j]) && p->a[row + j * p->rows] != 0)
            return true;
    return false;
}

static const cm_answer *one_number(cm_session *session, const cm_problem *p, int count, const int *row,
                                   bool moves)
{
    cm_problem *floor = CM_NEW(session, 1, cm_problem);
    double complex *y = CM_NEW(session, count, double complex), *a = CM_NEW(session, count, double complex);
    double *weight = CM_NEW(session, count, double), *limit = CM_NEW(session, count, double);
    for (int k = 0; k < count; k++) {
        y[k] = p->y[row[k]];
        a[k] = 1;
        weight[k] = 1;
        limit[k] = INFINITY;
    }
    double complex *zero = CM_NEW(session, 1, double complex);
    unsigned char *held = CM_NEW(session, 1, unsigned char);
    held[0] = !moves;
    *floor = (cm_problem){.size = sizeof *floor,
                          .objective = CM_MIN_MAX,
                          .rows = count,
                          .planes = 1,
                          .blocks = 1,
                          .block = CM_NEW(session, count, int),
                          .y = y,
                          .a = a,
                          .weight = weight,
                          .limit = limit,
                          .base = zero,
                          .now = zero,
                          .held = held,
                          .held_value = zero,
                          .mass_unit = p->mass_unit};
    return cm_solve_problem(session, floor);
}

static void find_floor(cm_session *session, const cm_problem *p, cm_state_floor *floor)
{
    unsigned char *clashes = CM_NEW(session, floor->count, unsigned char);
    floor->moves = can_move(p, floor->row[0]);
    const cm_answer *answer = one_number(session, p, floor->count, floor->row, floor->moves);
    floor->value = answer->value;
    floor->bound = fmin(answer->bound, answer->value);
    for (int k = 0; k < floor->count; k++)
        clashes[k] = floor->moves && answer->row_multiplier[k] > HOLDS * answer->value;
    floor->clashes = clashes;
}

/* The told rows that have the coefficients of row `first`. */
static int list_states(const cm_problem *p, const int *shares, int first, int *row)
{
    int count = 0;
    for (int i = 0; i < p->rows; i++)
        if (shares[i] == first && is_told(p, i))
            row[count++] = i;
    return count;
}

/* The job's question without the rows that `in` leaves out, as a min-max problem. */
static const cm_answer *least_of(cm_session *session, const cm_problem *p, const unsigned char *in)
{
    cm_problem *part = CM_NEW(session, 1, cm_problem);
    double *weight = CM_NEW(session, p->rows, double);
    bool any = false;
    for (int i = 0; i < p->rows; i++) {
        weight[i] = in[i] ? p->weight[i] : 0;
        any |= weight[i] > 0 && is_told(p, i);
    }
    *part = *p;
    part->objective = CM_MIN_MAX;
    part->within_limits = 0;
    part->then = 0;
    part->weight = weight;
    part->pair_count = 0;
    const cm_answer *answer = any ? cm_solve_problem(session, part) : NULL;
    return answer && answer->outcome == CM_OPTIMAL ? answer : NULL;
}

static void compare_states(cm_session *session, const cm_problem *p, const unsigned char *in,
                           cm_load_range *out)
{
    double *alone = CM_NEW(session, p->blocks, double), *share = CM_NEW(session, p->rows, double);
    unsigned char *part = CM_NEW(session, p->rows, unsigned char);
    const cm_answer *together = least_of(session, p, in);
    for (int b = 0; b < p->blocks; b++) {
        for (int i = 0; i < p->rows; i++)
            part[i] = in[i] && p->block[i] == b;
        const cm_answer *answer = together ? least_of(session, p, part) : NULL;
        alone[b] = !answer ? NAN : answer->gap == 0 && answer->bound <= 0 ? 0 : answer->value;
    }
    for (int i = 0; together && i < p->rows; i++)
        share[i] = together->value > 0 ? fmax(0, together->row_multiplier[i]) / together->value : 0;
    out->together = together ? together->value : NAN;
    out->together_bound = together ? fmin(together->bound, together->value) : NAN;
    out->alone = alone;
    out->share = share;
}

cm_status cm_load_range_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_load_range_of", CM_HAS_RUNS | CM_HAS_PROBLEM, CM_HAS_LOAD_RANGE};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_problem *p = job->problem;
    const int *shares = job->runs->shares;
    if (!shares || (job->answer && job->answer->outcome == CM_UNDETERMINED))
        return cm_leave(session);
    cm_load_range *out = CM_NEW(session, 1, cm_load_range);
    cm_state_floor *floors = CM_NEW(session, p->rows, cm_state_floor);
    unsigned char *in = CM_NEW(session, p->rows, unsigned char);
    *out = (cm_load_range){.size = sizeof *out, .floors = floors};
    for (int i = 0; i < p->rows; i++) {
        int *row = CM_NEW(session, p->rows, int);
        int count = shares[i] == i ? list_states(p, shares, i, row) : 0;
        if (count < 2)
            continue;
        cm_state_floor *floor = &floors[out->count++];
        *floor = (cm_state_floor){.count = count, .row = row};
        find_floor(session, p, floor);
        for (int k = 0; k < count; k++)
            in[row[k]] = 1;
    }
    if (out->count == 0)
        return cm_leave(session);
    compare_states(session, p, in, out);
    job->load_range = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
