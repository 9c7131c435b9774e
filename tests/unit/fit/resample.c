/* SPDX-License-Identifier: MIT */
/* Resampling on the triangle against the same perturbations of the whole problem, and against first order. */
#include "suite.h"
#include "fit/resample.h"
#include "linalg/dense.h"
#include "linalg/statistics.h"

enum { M = 9, N = 3, SAMPLES = 20000 };

static double complex b[M * N], c[M];

static void make(uint64_t seed)
{
    cm_random random = cm_seed(seed);
    for (int k = 0; k < M * N; k++)
        b[k] = cm_normal(&random);
    for (int k = 0; k < M; k++)
        c[k] = 3 * cm_normal(&random);
}

static void add_moments(const double complex *u, double complex *mean, double *square)
{
    for (int j = 0; j < N; j++) {
        mean[j] += u[j] / SAMPLES;
        square[j] += cm_abs2(u[j]) / SAMPLES;
    }
}

/* Whole problem, perturbed and solved by the general routine. */
static void whole(cm_session *session, const double *b_std, double c_std, double complex *mean,
                  double *square)
{
    cm_random random = cm_seed(77);
    for (int s = 0; s < SAMPLES; s++) {
        double complex db[M * N], right[M], u[N];
        for (int k = 0; k < M * N; k++)
            db[k] = b[k] + b_std[k / M] * cm_normal(&random);
        for (int k = 0; k < M; k++)
            right[k] = -c[k] - c_std * cm_normal(&random);
        cm_least_squares(session, M, N, 1, db, M, right, M, u, N);
        add_moments(u, mean, square);
    }
}

static cm_status compare(cm_session *session)
{
    CM_ENTER(session);
    static double complex u[N * SAMPLES];
    const double b_std[N] = {0.02, 0.05, 0}, c_std = 0.03;
    double complex mean[N] = {0}, mean_whole[N] = {0};
    double square[N] = {0}, square_whole[N] = {0};
    cm_resample(session, M, N, b, c, b_std, c_std, SAMPLES, 5, u);
    for (int s = 0; s < SAMPLES; s++)
        add_moments(u + s * N, mean, square);
    whole(session, b_std, c_std, mean_whole, square_whole);
    for (int j = 0; j < N; j++) {
        double variance = square[j] - cm_abs2(mean[j]), expected = square_whole[j] - cm_abs2(mean_whole[j]);
        ASSERT_NEAR(sqrt(variance / expected), 1, 0.03);
        CU_ASSERT(cabs(mean[j] - mean_whole[j]) < 0.1 * sqrt(expected));
    }
    return cm_leave(session);
}

static void test_whole(void)
{
    for (uint64_t seed = 1; seed <= 3; seed++) {
        cm_session *session = cm_open(NULL);
        make(seed);
        CU_ASSERT_EQUAL(compare(session), CM_OK);
        cm_close(session);
    }
}

static cm_status without_errors(cm_session *session)
{
    CM_ENTER(session);
    const double none[N] = {0};
    double complex u[2 * N], expected[N], right[M];
    for (int k = 0; k < M; k++)
        right[k] = -c[k];
    cm_least_squares(session, M, N, 1, b, M, right, M, expected, N);
    cm_resample(session, M, N, b, c, none, 0, 2, 1, u);
    for (int j = 0; j < 2 * N; j++)
        ASSERT_NEAR_COMPLEX(u[j], expected[j % N], 1e-12);
    cm_resample(session, N, N, b, c, none, 0, 2, 1, u);
    return cm_leave(session);
}

static void test_without_errors(void)
{
    cm_session *session = cm_open(NULL);
    make(4);
    CU_ASSERT_EQUAL(without_errors(session), CM_BAD_INPUT);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"against the whole problem", test_whole},
        {"without errors: the answer itself", test_without_errors},
        {NULL, NULL},
    };
    return run_suite("fit/resample", tests);
}
