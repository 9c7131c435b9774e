/* SPDX-License-Identifier: MIT */
/* Which rows are told over the allowed masses, and which runs would settle the others: small cases worked by hand. */
#include "suite.h"
#include "countermass.h"

enum { MOST = 16 };

/* A case of one or two rows, two planes; everything not set is zero. */
typedef struct cm_small {
    int rows, runs;
    cm_complex masses[MOST]; /* runs × 2 */
    int repeats[MOST];       /* rows × runs */
    unsigned char held[2];
    cm_complex held_value[2];
    int ties;
    cm_complex tie[2], tie_value[1];
    cm_complex base[2];
} cm_small;

static const cm_complex TRUE_A[] = {2, 1, -1, 3}; /* 2 rows × 2 planes */
static const cm_complex AS_FOUND[] = {5, 7};
static const double WEIGHT[] = {1, 1};
static const double FLOOR[] = {0.01, 0.01};
static const int ZERO[] = {0, 0};

static cm_session *session;
static cm_problem problem;
static cm_job job;
static cm_runs runs;
static cm_complex readings[MOST];

static void take_readings(const cm_small *small)
{
    for (int i = 0; i < small->rows; i++)
        for (int k = 0; k < small->runs; k++)
            readings[i + k * small->rows] =
                AS_FOUND[i] + TRUE_A[i] * small->masses[k] + TRUE_A[i + 2] * small->masses[k + small->runs];
    runs = (cm_runs){.size = sizeof runs,
                     .rows = small->rows,
                     .planes = 2,
                     .runs = small->runs,
                     .block = ZERO,
                     .pool = ZERO,
                     .masses = small->masses,
                     .readings = readings,
                     .repeats = small->repeats,
                     .assumed_floor = FLOOR,
                     .base = small->base,
                     .mass_zero = 1e-9};
}

static const cm_determination *determination_of(const cm_small *small)
{
    const cm_influence *influence = NULL;
    session = cm_open(NULL);
    take_readings(small);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, &runs, &influence), CM_OK);
    problem = (cm_problem){.size = sizeof problem,
                           .rows = small->rows,
                           .planes = 2,
                           .blocks = 1,
                           .block = ZERO,
                           .y = influence->y,
                           .a = influence->a,
                           .weight = WEIGHT,
                           .base = small->base,
                           .now = small->base,
                           .held = small->held,
                           .held_value = small->held_value,
                           .tie_count = small->ties,
                           .ties = small->tie,
                           .tie_value = small->tie_value,
                           .mass_zero = 1e-9};
    job = (cm_job){.size = sizeof job, .runs = &runs, .influence = influence, .problem = &problem};
    CU_ASSERT_EQUAL_FATAL(cm_determine(session, &job), CM_OK);
    CU_ASSERT_PTR_EQUAL(job.problem->determined, job.determination->determined);
    CU_ASSERT_PTR_EQUAL(job.problem->coefficient_determined, influence->determined);
    return job.determination;
}

static cm_complex predicted(int row, cm_complex z1, cm_complex z2)
{
    return job.influence->y[row] + job.influence->a[row] * z1 + job.influence->a[row + problem.rows] * z2;
}

static void test_everything_tried(void)
{
    const cm_small small = {
        .rows = 1, .runs = 3, .masses = {0, 1, 1, 0, 0, 2}, .repeats = {1, 1, 1}, .base = {1, 2}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(found->determined[0] && found->counted == 0 && found->run_count == 0);
    ASSERT_NEAR_COMPLEX(predicted(0, 0.5, -1), 5 + 2 * 1.5 - 1, 1e-12);
    cm_close(session);
}

static void test_as_found_alone(void)
{
    const cm_small small = {.rows = 1, .runs = 1, .repeats = {1}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(!found->determined[0] && found->counted == 1);
    CU_ASSERT(found->unknown[0] && found->unknown[1]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 2);
    for (int r = 0; r < 2; r++)
        CU_ASSERT_EQUAL(found->run_planes[2 * r] + found->run_planes[1 + 2 * r], 1);
    CU_ASSERT(!found->anything_left && !found->dropped[0]);
    cm_close(session);
}

static cm_small tried_together(void)
{
    return (cm_small){.rows = 1, .runs = 2, .masses = {0, 1, 0, 1}, .repeats = {1, 1}};
}

static void test_pair_with_tie(void)
{
    cm_small small = tried_together();
    small.ties = 1;
    small.tie[0] = 1;
    small.tie[1] = -1;
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(found->determined[0]);
    CU_ASSERT(!job.influence->determined[0] && !job.influence->determined[1]);
    ASSERT_NEAR_COMPLEX(predicted(0, -3, -3), 5 - 3, 1e-12);
    CU_ASSERT(isnan(job.influence->std[0]));
    cm_close(session);
}

static void test_pair_without_tie(void)
{
    const cm_small small = tried_together();
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(!found->determined[0]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT_EQUAL(found->run_planes[0] + found->run_planes[1], 1);
    cm_close(session);
}

static void test_held_plane(void)
{
    cm_small small = {.rows = 1, .runs = 2, .masses = {0, 1, 0, 0}, .repeats = {1, 1}, .held = {0, 1}};
    CU_ASSERT(determination_of(&small)->determined[0]);
    cm_close(session);
    small.held_value[1] = 1e-10;
    CU_ASSERT(determination_of(&small)->determined[0]);
    cm_close(session);
    small.held_value[1] = 0.5;
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(!found->determined[0] && !found->unknown[0] && found->unknown[1]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT(!found->run_planes[0] && found->run_planes[1]);
    cm_close(session);
}

static void test_untried_combination(void)
{
    const cm_small small = {.rows = 1, .runs = 1, .repeats = {1}, .ties = 1, .tie = {1, -2}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT(found->run_planes[0] && found->run_planes[1]);
    cm_close(session);
}

static void test_base_not_read(void)
{
    cm_small small = {.rows = 2, .runs = 2, .masses = {0, 1, 0, 0}, .repeats = {1, 0, 1, 1}, .held = {0, 1}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(found->determined[0] && !found->determined[1]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT(!found->run_planes[0] && !found->run_planes[1]);
    CU_ASSERT(found->anything_left && !found->dropped[0] && found->dropped[1]);
    cm_close(session);
}

/* Row 0 does not know plane 2, row 1 not plane 1: one run with masses on both settles both. */
static void test_one_run_for_two_rows(void)
{
    const cm_small small = {
        .rows = 2, .runs = 3, .masses = {0, 1, 0, 0, 0, 1}, .repeats = {1, 1, 1, 0, 0, 1}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT_EQUAL(found->counted, 2);
    CU_ASSERT(!found->unknown[0] && found->unknown[1] && found->unknown[2] && !found->unknown[3]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT(found->run_planes[0] && found->run_planes[1]);
    cm_close(session);
}

/* Three rows, three planes, each row left unread when the trial mass was on the plane of its number: one run with masses on
 * all three settles the three. */
static void test_one_run_for_three_rows(void)
{
    enum { N = 3, RUNS = 4 };
    static const cm_complex none[N];
    static const double weight[N] = {1, 1, 1}, floors[N] = {0.01, 0.01, 0.01};
    static const int block[RUNS];
    cm_complex masses[RUNS * N] = {0}, read[N * RUNS] = {0};
    int repeats[N * RUNS] = {0};
    for (int j = 0; j < N; j++)
        masses[j + 1 + j * RUNS] = 1;
    for (int k = 0; k < RUNS; k++)
        for (int i = 0; i < N; i++) {
            repeats[i + k * N] = k != i + 1;
            read[i + k * N] = 5 + i + (k > 0 ? 2 * i - k : 0);
        }
    const cm_runs three = {.size = sizeof three,
                           .rows = N,
                           .planes = N,
                           .runs = RUNS,
                           .block = block,
                           .pool = block,
                           .masses = masses,
                           .readings = read,
                           .repeats = repeats,
                           .assumed_floor = floors,
                           .base = none,
                           .mass_zero = 1e-9};
    const cm_influence *influence = NULL;
    session = cm_open(NULL);
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, &three, &influence), CM_OK);
    problem = (cm_problem){.size = sizeof problem,
                           .rows = N,
                           .planes = N,
                           .blocks = 1,
                           .block = block,
                           .y = influence->y,
                           .a = influence->a,
                           .weight = weight,
                           .base = none,
                           .now = none,
                           .mass_zero = 1e-9};
    job = (cm_job){.size = sizeof job, .runs = &three, .influence = influence, .problem = &problem};
    CU_ASSERT_EQUAL_FATAL(cm_determine(session, &job), CM_OK);
    CU_ASSERT_EQUAL(job.determination->counted, N);
    CU_ASSERT_EQUAL_FATAL(job.determination->run_count, 1);
    for (int j = 0; j < N; j++)
        CU_ASSERT(job.determination->run_planes[j]);
    cm_close(session);
}

/* A row read only with a trial mass on, of the size a further trial would have: its as-found reading is open. */
static void test_only_the_trial_was_read(void)
{
    const cm_small small = {
        .rows = 1, .runs = 2, .masses = {0, 1, 0, 0}, .repeats = {0, 1}, .held = {0, 1}, .base = {1, 0}};
    const cm_determination *found = determination_of(&small);
    CU_ASSERT(!found->determined[0] && found->unknown[0] && !found->unknown[1]);
    CU_ASSERT_EQUAL_FATAL(found->run_count, 1);
    CU_ASSERT(found->run_planes[0] && !found->run_planes[1]);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"everything tried", test_everything_tried},
        {"as found alone", test_as_found_alone},
        {"a pair tried together, tied", test_pair_with_tie},
        {"a pair tried together, free", test_pair_without_tie},
        {"a plane held still, moved a hair, moved", test_held_plane},
        {"a tied combination never tried", test_untried_combination},
        {"base state not read", test_base_not_read},
        {"one run settles two rows", test_one_run_for_two_rows},
        {"one run settles three rows", test_one_run_for_three_rows},
        {"only the trial was read", test_only_the_trial_was_read},
        {NULL, NULL},
    };
    return run_suite("fit/determine", tests);
}
