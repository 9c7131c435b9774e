/* SPDX-License-Identifier: MIT */
/* What callers hand in: structs of another length than the library's, arrays that are wrong. */
#include "suite.h"
#include "countermass/case.h"
#include "countermass/job.h"

#include <stddef.h>
#include <string.h>

static int block[2];
static double weight[2], limit[2];
static double complex y[2], a[2], z[2], spread[8];
static unsigned char held[1];
static cm_disc cap;
static cm_pair pair;

static cm_problem right_problem(void)
{
    block[0] = block[1] = 0;
    weight[0] = weight[1] = 1;
    limit[0] = limit[1] = 40;
    y[0] = 60 + 20 * _Complex_I;
    y[1] = -10 + 45 * _Complex_I;
    a[0] = 0.8;
    a[1] = 0.2;
    z[0] = held[0] = 0;
    cap = (cm_disc){.radius = 100};
    pair = (cm_pair){.forward = 0, .backward = 1, .weight = 1, .limit = INFINITY};
    return (cm_problem){.size = sizeof(cm_problem),
                        .rows = 2,
                        .planes = 1,
                        .blocks = 1,
                        .block = block,
                        .y = y,
                        .a = a,
                        .weight = weight,
                        .limit = limit,
                        .base = z,
                        .now = z,
                        .held = held,
                        .held_value = z,
                        .disc_count = 1,
                        .discs = &cap,
                        .mass_unit = 1,
                        .mass_zero = 1e-9};
}

static cm_status solve(const cm_problem *p, double *value, char *text)
{
    cm_session *session = cm_open(NULL);
    const cm_answer *answer = NULL;
    cm_status status = cm_solve(session, p, &answer);
    *value = answer ? answer->value : NAN;
    int last = cm_message_count(session) - 1;
    strcpy(text, last < 0 ? "" : cm_message_at(session, last)->text);
    const cm_condition *condition;
    CU_ASSERT_EQUAL(cm_condition_of(session, p, &condition), status);
    cm_close(session);
    return status;
}

static void test_sizes(void)
{
    const size_t end = offsetof(cm_problem, mass_zero) + sizeof(double);
    double whole, part;
    char text[1000];
    cm_problem p = right_problem();
    CU_ASSERT_EQUAL(solve(&p, &whole, text), CM_OK);
    p.size = end;
    memset((char *)&p + end, 1, sizeof p - end); /* the caller's own memory */
    CU_ASSERT_EQUAL(solve(&p, &part, text), CM_OK);
    ASSERT_NEAR(part, whole, 1e-15);
    p.size = end - 1;
    CU_ASSERT_EQUAL(solve(&p, &part, text), CM_BAD_INPUT);
    CU_ASSERT_PTR_NOT_NULL(strstr(text, "the size of cm_problem"));
    p.size = 0;
    CU_ASSERT_EQUAL(solve(&p, &part, text), CM_BAD_INPUT);
}

static void test_short_jobs(void)
{
    cm_session *session = cm_open(NULL);
    cm_problem p = right_problem();
    cm_answer answer = {.size = sizeof answer, .outcome = CM_UNDETERMINED};
    cm_job job = {.size = offsetof(cm_job, trade_off), .problem = &p, .answer = &answer};
    CU_ASSERT_EQUAL(cm_trade_off_of(session, &job), CM_BAD_INPUT);
    CU_ASSERT_PTR_NULL(job.trade_off);
    CU_ASSERT_PTR_NOT_NULL(strstr(cm_message_at(session, 0)->text, "beyond the size"));
    job.size += sizeof job.trade_off;
    memset((char *)&job + job.size, 1, sizeof job - job.size);
    const cm_job same = job;
    CU_ASSERT_EQUAL(cm_trade_off_of(session, &job), CM_OK);
    CU_ASSERT_PTR_NOT_NULL(job.trade_off);
    CU_ASSERT(!memcmp((char *)&job + job.size, (const char *)&same + job.size, sizeof job - job.size));
    job.size = 0;
    CU_ASSERT_EQUAL(cm_trade_off_of(session, &job), CM_BAD_INPUT);
    cm_close(session);
    const cm_host none = {0};
    CU_ASSERT_PTR_NULL(cm_open(&none));
}

/* clang-format off */
#define WRONG(name, change) static void name(cm_problem *p) { (void)p; change; }
WRONG(negative_weight, weight[1] = -1)
WRONG(no_weight, weight[0] = NAN)
WRONG(no_reading, y[1] = NAN)
WRONG(endless, a[0] = INFINITY)
WRONG(negative_limit, limit[0] = -5)
WRONG(zero_limit, limit[0] = 0)
WRONG(plane_of_cap, cap.plane = 9)
WRONG(plane_below, cap.plane = -1)
WRONG(radius, cap.radius = NAN)
WRONG(negative_radius, cap.radius = -1)
WRONG(centre, cap.centre = NAN)
WRONG(far_block, block[1] = 1)
WRONG(objective, p->objective = (cm_objective)99)
WRONG(negative_rows, p->rows = -1)
WRONG(negative_planes, p->planes = -3)
WRONG(negative_ties, p->tie_count = -1)
WRONG(negative_caps, p->disc_count = -1)
WRONG(no_caps, p->discs = NULL)
WRONG(no_ties, p->tie_count = 1)
WRONG(no_matrix, p->a = NULL)
WRONG(no_blocks, p->block = NULL)
WRONG(zero, p->mass_zero = NAN)
WRONG(held_seven, held[0] = 7)
WRONG(held_nowhere, (held[0] = 1, p->held_value = NULL))
WRONG(base, z[0] = NAN)
WRONG(expected, p->objective = CM_EXPECTED)
WRONG(confidence, (p->then = 1, p->second = CM_CONFIDENCE, p->within = 0.1))
WRONG(endless_spread, (p->objective = CM_EXPECTED, p->spread = spread, spread[7] = INFINITY))
WRONG(error, (p->objective = CM_WORST_CASE, p->influence_error = -1))
WRONG(the_same, (p->then = 1, p->second = CM_LEAST_SQUARES, p->within = 0.1))
WRONG(within, (p->then = 1, p->second = CM_MIN_MAX, p->within = 0))
WRONG(pair_row, (p->pair_count = 1, p->pairs = &pair, pair.forward = 7))
WRONG(pair_other, (p->pair_count = 1, p->pairs = &pair, pair.backward = 2))
WRONG(pair_parts, (p->pair_count = 1, p->pairs = &pair, pair.parts = 3))
WRONG(pair_limit, (p->pair_count = 1, p->pairs = &pair, pair.limit = NAN))
/* clang-format on */

static const struct {
    void (*change)(cm_problem *p);
    const char *named;
} WRONGS[] = {
    {negative_weight, "weight[1]"},
    {no_weight, "weight[0]"},
    {no_reading, "y[1]"},
    {endless, "a[0]"},
    {negative_limit, "limit[0]"},
    {zero_limit, "limit[0]"},
    {plane_of_cap, "discs[0]"},
    {plane_below, "discs[0]"},
    {radius, "discs[0].radius"},
    {negative_radius, "radius"},
    {centre, "discs[0].centre"},
    {far_block, "block[1]"},
    {objective, "objective"},
    {negative_rows, "rows"},
    {negative_planes, "planes"},
    {negative_ties, "tie_count"},
    {negative_caps, "disc_count"},
    {no_caps, "discs is NULL"},
    {no_ties, "ties is NULL"},
    {no_matrix, "a is NULL"},
    {no_blocks, "block is NULL"},
    {zero, "mass_zero"},
    {held_seven, "held[0]"},
    {held_nowhere, "held_value"},
    {base, "base[0]"},
    {expected, "spread is NULL"},
    {confidence, "spread is NULL"},
    {endless_spread, "spread[7]"},
    {error, "influence_error"},
    {the_same, "second"},
    {within, "within"},
    {pair_row, "pairs[0]"},
    {pair_other, "pairs[0].backward"},
    {pair_parts, "pairs[0].parts"},
    {pair_limit, "pairs[0].limit"},
};

static void test_problems(void)
{
    double value;
    char text[1000];
    for (size_t i = 0; i < sizeof WRONGS / sizeof *WRONGS; i++) {
        cm_problem p = right_problem();
        WRONGS[i].change(&p);
        CU_ASSERT_EQUAL(solve(&p, &value, text), CM_BAD_INPUT);
        CU_ASSERT_PTR_NOT_NULL(strstr(text, WRONGS[i].named));
    }
    cm_problem p = right_problem();
    p.held = NULL; /* none is held, no row has a limit */
    p.held_value = NULL;
    p.limit = NULL;
    CU_ASSERT_EQUAL(solve(&p, &value, text), CM_OK);
}

static void test_runs(void)
{
    static const int zero[2];
    static const double one[2] = {1, 1};
    for (int wrong = 0; wrong <= 4; wrong++) {
        right_problem();
        int repeats[2] = {1, wrong == 1 ? -1 : 1};
        double declared[2] = {wrong == 2 ? -1 : 1, 1};
        cm_runs runs = {.size = wrong == 3 ? 8 : sizeof runs,
                        .rows = 2,
                        .planes = 1,
                        .runs = 1,
                        .block = zero,
                        .pool = zero,
                        .masses = wrong == 4 ? NULL : z,
                        .readings = y,
                        .repeats = repeats,
                        .repeatability = declared,
                        .assumed_floor = one,
                        .base = z,
                        .mass_zero = 1e-9};
        static const char *const named[] = {"", "repeats[1]", "repeatability[0]", "size of cm_runs",
                                            "masses is NULL"};
        cm_session *session = cm_open(NULL);
        const cm_influence *fit;
        CU_ASSERT_EQUAL(cm_fit(session, &runs, &fit), wrong ? CM_BAD_INPUT : CM_OK);
        CU_ASSERT(!wrong || strstr(cm_message_at(session, 0)->text, named[wrong]));
        cm_close(session);
    }
}

int main(void)
{
    static const cm_test tests[] = {{"sizes", test_sizes},
                                    {"jobs of another size", test_short_jobs},
                                    {"wrong problems", test_problems},
                                    {"wrong runs", test_runs},
                                    {NULL, NULL}};
    return run_suite("model/given", tests);
}
