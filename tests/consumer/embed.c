/* SPDX-License-Identifier: MIT */
/* Two planes, two bearings, one speed: from three runs to the masses, with arrays only. */
#include <countermass.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>

enum { ROWS = 2, PLANES = 2, RUNS = 3 };

/* Everything column-major: element (row, column) of a matrix with ROWS rows stands at row + column * ROWS. */
static const int block[ROWS] = {0, 0}, pool[ROWS] = {0, 0};
static const double complex masses[RUNS * PLANES] = {0, 50, 0, /* plane 0 in runs 0, 1, 2 */
                                                     0, 0,  40 * I};
static double complex readings[ROWS * RUNS];
static const int repeats[ROWS * RUNS] = {1, 1, 1, 1, 1, 1};
static const double repeatability[ROWS] = {1, 1}, floors[ROWS] = {1, 1};
static const double complex zeros[PLANES];

/* What the "machine" answers: y + A m. */
static const double complex as_found[ROWS] = {60 + 20 * I, -10 + 45 * I};
static const double complex truth[ROWS * PLANES] = {0.8 + 0.1 * I, 0.2 - 0.3 * I, -0.1 + 0.2 * I,
                                                    0.5 + 0.4 * I};

static void measure(void)
{
    for (int run = 0; run < RUNS; run++)
        for (int row = 0; row < ROWS; row++) {
            readings[row + run * ROWS] = as_found[row];
            for (int plane = 0; plane < PLANES; plane++)
                readings[row + run * ROWS] += truth[row + plane * ROWS] * masses[run + plane * RUNS];
        }
}

static cm_status balance(cm_session *session, const cm_answer **answer)
{
    static const double weight[ROWS] = {1, 1}, limit[ROWS] = {INFINITY, INFINITY};
    static const unsigned char held[PLANES];
    static const cm_disc cap = {.plane = 0, .radius = 100};
    /* A later version may append fields: `size` tells which are there, and what is not set is 0. */
    static cm_runs runs = {.size = sizeof runs,
                           .rows = ROWS,
                           .planes = PLANES,
                           .runs = RUNS,
                           .block = block,
                           .pool = pool,
                           .masses = masses,
                           .readings = readings,
                           .repeats = repeats,
                           .repeatability = repeatability,
                           .assumed_floor = floors,
                           .base = zeros,
                           .mass_zero = 1e-9};
    static cm_problem problem = {.size = sizeof problem,
                                 .objective = CM_LEAST_SQUARES,
                                 .rows = ROWS,
                                 .planes = PLANES,
                                 .blocks = 1,
                                 .block = block,
                                 .weight = weight,
                                 .limit = limit,
                                 .base = zeros,
                                 .now = zeros,
                                 .held = held,
                                 .held_value = zeros,
                                 .disc_count = 1,
                                 .discs = &cap,
                                 .mass_unit = 1,
                                 .mass_zero = 1e-9};
    const cm_influence *influence;
    cm_status status = cm_fit(session, &runs, &influence);
    if (status != CM_OK)
        return status;
    problem.y = influence->y; /* results live in the session: no copy, no free */
    problem.a = influence->a;
    return cm_solve(session, &problem, answer);
}

/* Would the machine end where the answer says? */
static int comes_true(const cm_answer *answer)
{
    for (int row = 0; row < ROWS; row++) {
        double complex reading = as_found[row];
        for (int plane = 0; plane < PLANES; plane++)
            reading += truth[row + plane * ROWS] * answer->x[plane];
        if (cabs(reading - answer->r[row]) > 1e-9)
            return 0;
    }
    return answer->outcome == CM_OPTIMAL && answer->gap < 1e-8;
}

static void print(const cm_answer *answer)
{
    for (int plane = 0; plane < PLANES; plane++)
        printf("plane %d: %.2f at %.1f degrees%s\n", plane, cabs(answer->x[plane]),
               carg(answer->x[plane]) * 57.29577951308232, answer->at_cap[plane] ? ", at its cap" : "");
    printf("root of the sum of squares %.6g, no masses do better than %.6g; library %s\n", answer->value,
           answer->bound, cm_version());
}

int main(void)
{
    const cm_answer *answer = NULL;
    cm_session *session = cm_open(NULL);
    if (!session)
        return 3;
    measure();
    cm_status status = balance(session, &answer);
    for (int i = 0; i < cm_message_count(session); i++)
        fprintf(stderr, "%s\n", cm_message_at(session, i)->text);
    if (status == CM_OK)
        print(answer);
    int wrong = status != CM_OK || !comes_true(answer);
    cm_close(session); /* and with it the answer */
    return wrong;
}
