/* SPDX-License-Identifier: MIT */
/* Dense algebra: least squares of least norm, rank in the scaled metric, affine sets. */
#include "suite.h"
#include "linalg/dense.h"

#include <string.h>

#undef I

/* A small generator of our own: the same numbers on every machine. */
static double next_number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 8388608.0 - 1;
}

static void fill(int count, double complex *a, unsigned seed)
{
    for (int i = 0; i < count; i++) {
        double re = next_number(&seed);
        a[i] = cm_pack(re, next_number(&seed));
    }
}

/* The remainder of a least-squares answer is orthogonal to every column: Aᴴ(b - A x) = 0. */
static double worst_product(int m, int n, const double complex *a, const double complex *b,
                            const double complex *x)
{
    double worst = 0;
    for (int j = 0; j < n; j++) {
        double complex product = 0;
        for (int i = 0; i < m; i++) {
            double complex rest = b[i];
            for (int k = 0; k < n; k++)
                rest -= a[i + k * m] * x[k];
            product += conj(a[i + j * m]) * rest;
        }
        worst = fmax(worst, cabs(product));
    }
    return worst;
}

static cm_status full_rank(cm_session *session)
{
    CM_ENTER(session);
    double complex a[7 * 3], b[7], x[3];
    fill(21, a, 1);
    fill(7, b, 2);
    for (int i = 0; i < 7; i++)
        a[i + 7] *= 1e-9; /* a badly scaled column is a good column */
    CU_ASSERT_EQUAL(cm_least_squares(session, 7, 3, 1, a, 7, b, 7, x, 3), 3);
    CU_ASSERT(worst_product(7, 3, a, b, x) < 1e-13);
    return cm_leave(session);
}

static cm_status deficient(cm_session *session)
{
    CM_ENTER(session);
    double complex a[6 * 3], b[6], x[3];
    fill(18, a, 3);
    fill(6, b, 4);
    for (int i = 0; i < 6; i++)
        a[i + 12] = 2 * a[i] - a[i + 6];
    CU_ASSERT_EQUAL(cm_least_squares(session, 6, 3, 1, a, 6, b, 6, x, 3), 2);
    CU_ASSERT(worst_product(6, 3, a, b, x) < 1e-12);
    /* shortest: x is orthogonal to the null vector (2, -1, -1) */
    ASSERT_NEAR_COMPLEX(2 * x[0] - x[1] - x[2], 0, 1e-12);
    double complex null[9];
    double scale[3];
    CU_ASSERT_EQUAL(cm_scaled_rank(session, 6, 3, a, 6, scale, null), 2);
    double complex product = 0;
    for (int j = 0; j < 3; j++)
        product += a[j * 6] * null[j] / scale[j];
    ASSERT_NEAR_COMPLEX(product, 0, 1e-12);
    return cm_leave(session);
}

static cm_status wide(cm_session *session)
{
    CM_ENTER(session);
    double complex a[2 * 4], b[2], x[4];
    fill(8, a, 5);
    fill(2, b, 6);
    CU_ASSERT_EQUAL(cm_least_squares(session, 2, 4, 1, a, 2, b, 2, x, 4), 2);
    for (int i = 0; i < 2; i++) {
        double complex sum = 0;
        for (int j = 0; j < 4; j++)
            sum += a[i + 2 * j] * x[j];
        ASSERT_NEAR_COMPLEX(sum, b[i], 1e-12);
    }
    return cm_leave(session);
}

/* Null space of independent rows: n - m orthonormal columns that no row sees, with columns that differ by 1e9; and the
 * same rank where one row says what the others say. */
static cm_status null_of_rows(cm_session *session)
{
    CM_ENTER(session);
    enum { M = 3, N = 7 };
    double complex a[M * N], null[N * N], seen[M * N], products[N * N];
    double scale[N];
    fill(M * N, a, 8);
    for (int i = 0; i < M; i++)
        a[i + M] *= 1e-9;
    CU_ASSERT_EQUAL(cm_scaled_rank(session, M, N, a, M, scale, null), M);
    for (int j = 0; j < N; j++) {
        ASSERT_NEAR(scale[j] / cm_norm2(M, a + j * M), 1, 1e-14);
        for (int i = 0; i < M; i++)
            a[i + j * M] /= scale[j];
    }
    cm_multiply(false, false, M, N - M, N, 1, a, M, null, N, 0, seen, M);
    CU_ASSERT(cm_norm2(M * (N - M), seen) < 1e-14);
    cm_multiply(true, false, N - M, N - M, N, 1, null, N, null, N, 0, products, N - M);
    for (int i = 0; i < N - M; i++)
        products[i + i * (N - M)] -= 1;
    CU_ASSERT(cm_norm2((N - M) * (N - M), products) < 1e-14);
    for (int j = 0; j < N; j++)
        a[2 + j * M] = 3 * a[j * M] - a[1 + j * M];
    CU_ASSERT_EQUAL(cm_scaled_rank(session, M, N, a, M, NULL, null), M - 1);
    return cm_leave(session);
}

/* Three planes, the first held at 2, x_1 + x_2 + x_3 = 5 said twice. */
static cm_status affine(cm_session *session)
{
    CM_ENTER(session);
    const double complex ties[] = {1, 2, 1, 2, 1, 2};
    const double complex value[] = {5, 10};
    const double complex held_value[] = {2, 0, 0};
    const unsigned char held[] = {1, 0, 0};
    cm_affine set = cm_affine_set(session, 3, 2, ties, value, held, held_value, NULL);
    CU_ASSERT_EQUAL(set.unknowns, 1);
    CU_ASSERT_EQUAL(set.contradiction, -1);
    ASSERT_NEAR_COMPLEX(set.origin[0], 2, 1e-14);
    ASSERT_NEAR_COMPLEX(set.origin[1] + set.origin[2], 3, 1e-14);
    ASSERT_NEAR_COMPLEX(set.basis[0], 0, 0);
    ASSERT_NEAR_COMPLEX(set.basis[1] + set.basis[2], 0, 1e-14);
    ASSERT_NEAR(cm_norm2(3, set.basis), 1, 1e-14);
    return cm_leave(session);
}

/* Typical masses from 5e-4 to 2e3: one tie can always be met, and to the last digits. */
static cm_status far_apart(cm_session *session)
{
    CM_ENTER(session);
    const double complex ties[] = {3 - 2 * cm_pack(0, 1), 1, -1, 2 * cm_pack(0, 1)};
    const double complex value[] = {0.6 - 0.15 * cm_pack(0, 1)};
    const double scale[] = {2.4e3, 1.2e-2, 420, 5e-4};
    cm_affine set = cm_affine_set(session, 4, 1, ties, value, NULL, NULL, scale);
    CU_ASSERT_EQUAL(set.contradiction, -1);
    CU_ASSERT_EQUAL(set.unknowns, 3);
    double complex left = value[0];
    for (int j = 0; j < 4; j++)
        left -= ties[j] * set.origin[j];
    ASSERT_NEAR_COMPLEX(left, 0, 1e-14);
    return cm_leave(session);
}

static cm_status contradicting(cm_session *session)
{
    CM_ENTER(session);
    const double complex ties[] = {1, 1, 1, 1};
    const double complex value[] = {5, 6};
    const double complex held_value[] = {2, 2};
    const unsigned char both[] = {1, 1};
    cm_affine set = cm_affine_set(session, 2, 2, ties, value, NULL, NULL, NULL);
    CU_ASSERT(set.contradiction >= 0);
    set = cm_affine_set(session, 2, 1, (const double complex[]){1, 1}, value, both, held_value, NULL);
    CU_ASSERT_EQUAL(set.contradiction, 0);
    set = cm_affine_set(session, 2, 0, NULL, NULL, both, held_value, NULL);
    CU_ASSERT_EQUAL(set.contradiction, -1);
    CU_ASSERT_EQUAL(set.unknowns, 0);
    return cm_leave(session);
}

static void in_session(cm_status (*work)(cm_session *))
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL(work(session), CM_OK);
    cm_close(session);
}

static void test_full_rank(void)
{
    in_session(full_rank);
}

static void test_deficient(void)
{
    in_session(deficient);
}

static void test_wide(void)
{
    in_session(wide);
    in_session(null_of_rows);
}

static void test_affine(void)
{
    in_session(affine);
    in_session(far_apart);
}

static void test_contradicting(void)
{
    in_session(contradicting);
}

int main(void)
{
    static const cm_test tests[] = {
        {"least squares of full rank with a tiny column", test_full_rank},
        {"dependent columns: shortest answer and null space", test_deficient},
        {"fewer rows than columns", test_wide},
        {"ties and a held plane", test_affine},
        {"ties that contradict", test_contradicting},
        {NULL, NULL},
    };
    return run_suite("linalg/dense", tests);
}
