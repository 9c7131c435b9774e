/* SPDX-License-Identifier: MIT */
/*
 * Random valid cases, and what must hold of their answers:
 *   - the gap is closed, or a warning says that it is not;
 *   - caps and limits are kept;
 *   - predictions and values are what the masses give by plain arithmetic;
 *   - no answer is worse than leaving the rotor as it is now;
 *   - the same rotor in other conventions, other units and another order has the same answer;
 *   - every command ends with 0, 1 or 2, and JSON holds no NaN.
 */
#include "memory_files.h"
#include "pipeline.h"
#include "rotor.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A closed gap, what rounding may do to a kept cap, and how far two ways of writing may be apart. */
#define GAP 1e-8
#define KEPT 1e-9
#define ALIKE 1e-6

/* ---- one case through the library ---- */

static void solve(cm_session *session, const char *text, cm_job *job)
{
    const cm_case *c = NULL;
    cm_status status = cm_case_parse(session, "case.yaml", text, strlen(text), &c);
    need(status == CM_OK, "a valid case is read");
    job->given = c;
    status = cm_case_runs(session, c, &job->runs);
    if (status == CM_OK)
        status = cm_fit(session, job->runs, &job->influence);
    if (status == CM_OK)
        status = cm_case_problem(session, c, job->influence, &job->problem);
    if (status == CM_OK)
        status = cm_determine(session, job);
    if (status == CM_OK)
        status = cm_condition_of(session, job->problem, &job->condition);
    if (status == CM_OK)
        status = cm_solve(session, job->problem, &job->answer);
    if (status == CM_OK)
        status = cm_judge(session, job);
    for (int i = 0; status != CM_OK && i < cm_message_count(session); i++)
        fprintf(stderr, "%s\n", cm_message_at(session, i)->text);
    need(status == CM_OK, "a valid case is answered");
}

static bool has_finding(const cm_job *job, const char *code)
{
    for (int i = 0; i < job->findings->count; i++)
        if (!strcmp(job->findings->items[i].code, code))
            return true;
    return false;
}

/* ---- what must hold of one answer ---- */

static double complex predicted(const cm_problem *p, const cm_complex *x, int row)
{
    double complex sum = p->y[row];
    for (int j = 0; j < p->planes; j++)
        sum += p->a[row + j * p->rows] * (x[j] - p->base[j]);
    return sum;
}

static bool told(const cm_problem *p, int row)
{
    return !p->determined || p->determined[row];
}

/* Sum of the sizes of what a prediction is added up from. */
static double terms_of(const cm_problem *p, const cm_complex *x, int row)
{
    double sum = cabs(p->y[row]);
    for (int j = 0; j < p->planes; j++)
        sum += cabs(p->a[row + j * p->rows]) * (cabs(x[j]) + cabs(p->base[j]));
    return sum;
}

static void check_prediction(const cm_job *job)
{
    const cm_problem *p = job->problem;
    for (int i = 0; i < p->rows; i++)
        need(!told(p, i) || cabs(predicted(p, job->answer->x, i) - job->answer->r[i]) <=
                                1e-12 * terms_of(p, job->answer->x, i),
             "a prediction is what the masses give");
}

/* Tons on two planes that do nearly the same cancel each other: readings below what such a sum is rounded to cannot be told
 * from zero, and no bound can lie closer. */
static bool is_rounding(const cm_problem *p, const cm_answer *answer)
{
    double sum = 0;
    for (int i = 0; i < p->rows; i++)
        sum += p->weight[i] > 0 && told(p, i) ? p->weight[i] * terms_of(p, answer->x, i) : 0;
    return answer->value <= 1e-15 * sum;
}

static void check_caps(const cm_problem *p, const cm_complex *x)
{
    for (int d = 0; d < p->disc_count; d++)
        if (!p->held[p->discs[d].plane])
            need(cabs(x[p->discs[d].plane] - p->discs[d].centre) <= p->discs[d].radius * (1 + KEPT),
                 "a cap is kept");
    for (int j = 0; j < p->planes; j++)
        need(!p->held[j] || cabs(x[j] - p->held_value[j]) <= KEPT * (1e-3 + cabs(p->held_value[j])),
             "a fixed mass is kept");
}

static bool limits_kept(const cm_problem *p, const cm_complex *x, double slack)
{
    for (int i = 0; i < p->rows; i++)
        if (p->weight[i] > 0 && told(p, i) && cabs(predicted(p, x, i)) > p->limit[i] * (1 + slack))
            return false;
    return true;
}

static bool limits_count(const cm_problem *p)
{
    return p->within_limits || p->objective == CM_LEAST_MASS || p->objective == CM_LEAST_CHANGE;
}

/* The value of masses by its definition; NaN for those that need more than masses and coefficients. */
static double value_of(const cm_problem *p, const cm_complex *x)
{
    double sum = 0, most = 0, mass = 0, change = 0;
    for (int i = 0; i < p->rows; i++) {
        double ratio = p->weight[i] > 0 && told(p, i) ? p->weight[i] * cabs(predicted(p, x, i)) : 0;
        sum += ratio * ratio;
        most = fmax(most, ratio);
    }
    for (int j = 0; j < p->planes; j++) {
        mass += cabs(x[j]);
        change += cabs(x[j] - p->now[j]);
    }
    switch (p->objective) {
    case CM_LEAST_SQUARES:
        return sqrt(sum);
    case CM_MIN_MAX:
        return most;
    case CM_LEAST_MASS:
        return mass;
    case CM_LEAST_CHANGE:
        return change;
    default:
        return NAN;
    }
}

static bool is_allowed(const cm_problem *p, const cm_complex *x)
{
    for (int d = 0; d < p->disc_count; d++)
        if (cabs(x[p->discs[d].plane] - p->discs[d].centre) > p->discs[d].radius)
            return false;
    for (int j = 0; j < p->planes; j++)
        if (p->held[j] && cabs(x[j] - p->held_value[j]) > 0)
            return false;
    return !limits_count(p) || limits_kept(p, x, 0);
}

static void check_answer(const cm_job *job)
{
    const cm_problem *p = job->problem;
    const cm_answer *answer = job->answer;
    double scale = fabs(answer->value) + 1e-6, again = value_of(p, answer->x), now = value_of(p, p->now);
    need(answer->gap <= GAP || has_finding(job, "not-proven"),
         "the gap is closed or the answer says that it is not");
    need(answer->gap <= 1e-4 || (answer->bound <= 0 && is_rounding(p, answer)), "the gap is small");
    check_caps(p, answer->x);
    need(!limits_count(p) || limits_kept(p, answer->x, KEPT), "limits are kept");
    check_prediction(job);
    need(isnan(again) || fabs(again - answer->value) <= 1e-9 * scale, "the value is what the masses give");
    need(isnan(now) || !is_allowed(p, p->now) || answer->value <= now + 1e-7 * scale,
         "no answer is worse than leaving the rotor as it is");
}

/* ---- two ways of writing the same ---- */

static int row_of(const cm_job *job, const rotor *r, const manner *m, int speed, int sensor)
{
    int row = 0;
    for (int k = 0; k < r->speeds; k++)
        for (int i = 0; i < r->sensors; i++) {
            int at_speed = rotor_order(m, r->speeds, k), at_sensor = rotor_order(m, r->sensors, i);
            bool read = false;
            for (int run = 0; run < r->runs; run++)
                read = read || !r->missing[run][at_sensor];
            if (at_speed == speed && at_sensor == sensor)
                return read ? row : -1;
            row += read;
        }
    need(row <= job->problem->rows, "rows are the pairs that were read");
    return -1;
}

static void compare_influence(const rotor *r, const cm_job *one, const manner *how, const cm_job *other,
                              const manner *otherwise)
{
    for (int k = 0; k < r->speeds; k++)
        for (int i = 0; i < r->sensors; i++) {
            int row = row_of(one, r, how, k, i), twin = row_of(other, r, otherwise, k, i);
            for (int plane = 0; row >= 0 && plane < r->planes; plane++) {
                int j = rotor_order(how, r->planes, plane), l = rotor_order(otherwise, r->planes, plane);
                const cm_complex *a = one->influence->a, *b = other->influence->a;
                int rows = one->influence->rows;
                if (one->influence->determined[row + j * rows])
                    need(cabs(a[row + j * rows] - b[twin + l * rows]) <=
                             ALIKE * (cabs(a[row + j * rows]) + 1e-6),
                         "coefficients do not depend on how the case is written");
            }
        }
}

/* Objectives of the masses count in kg, `confidence` in standard deviations: all others are plain numbers. */
static void compare(const rotor *r, const cm_job *one, const manner *how, const cm_job *other,
                    const manner *otherwise)
{
    need(one->problem->rows == other->problem->rows, "rows do not depend on how the case is written");
    compare_influence(r, one, how, other, otherwise);
    if (one->answer->outcome != other->answer->outcome) {
        const cm_answer *barred = one->answer->outcome == CM_INFEASIBLE ? one->answer : other->answer;
        need(barred->outcome == CM_INFEASIBLE && barred->limits_factor < 1 + ALIKE,
             "the outcome does not depend on how the case is written");
        return;
    }
    if (one->answer->outcome == CM_OPTIMAL)
        need(fabs(one->answer->value - other->answer->value) <= ALIKE * (1e-3 + fabs(one->answer->value)),
             "the value does not depend on how the case is written");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    static char text[2][MOST_TEXT];
    static const manner plain = {.lag = true, .against = true};
    rotor r;
    cm_job job[2] = {{.size = sizeof(cm_job)}, {.size = sizeof(cm_job)}};
    if (length < 2)
        return 0;
    manner other = {bytes[0] & 1, bytes[0] & 2, bytes[0] & 4, bytes[0] & 8};
    rotor_make(&r, bytes + 2, length - 2);
    rotor_write(&r, &plain, text[0]);
    rotor_write(&r, &other, text[1]);
    if (getenv("FUZZ_SHOW")) /* to see what an input stands for */
        fprintf(stderr, "%s\n%s\n", text[0], text[1]);
    cm_session *session = cm_open(NULL);
    for (int i = 0; i < 2; i++) {
        solve(session, text[i], &job[i]);
        if (job[i].answer->outcome == CM_OPTIMAL)
            check_answer(&job[i]);
    }
    compare(&r, &job[0], &plain, &job[1], &other);
    cm_close(session);
    memory_files_clear();
    memory_files_add("case.yaml", text[1], strlen(text[1]));
    pipeline_run(bytes[1], "case.yaml");
    return 0;
}
