/* SPDX-License-Identifier: MIT */
/* QR against LAPACK, called here directly (reference: LAPACK's ZGEQR2 and ZUNMQR), and against what a QR is. Sizes lie
 * on both sides of the one from which the engine leaves the work to LAPACK. */
#include "suite.h"
#include "linalg/dense.h"

#include <lapacke.h>
#include <string.h>

#undef I

enum { MOST = 50 };

typedef struct sized {
    int m, n;
    double size; /* of the numbers */
} sized;

static const sized SIZES[] = {{1, 1, 1},   {5, 1, 1},     {1, 4, 1},    {4, 7, 1},      {7, 7, 1},
                              {12, 5, 1},  {31, 31, 1},   {40, 32, 1},  {40, 33, 1},    {33, 40, 1},
                              {50, 50, 1}, {9, 4, 1e-30}, {9, 4, 1e30}, {9, 4, 1e-120}, {9, 4, 1e120}};

static double next_number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 8388608.0 - 1;
}

static void fill(int count, double complex *a, double size, unsigned seed)
{
    for (int i = 0; i < count; i++) {
        double re = next_number(&seed);
        a[i] = cm_pack(size * re, size * next_number(&seed));
    }
}

static double apart(int count, const double complex *a, const double complex *b)
{
    double worst = 0;
    for (int i = 0; i < count; i++)
        worst = fmax(worst, cabs(a[i] - b[i]));
    return worst;
}

/* Reflectors, R and tau are LAPACK's. */
static void as_lapack(cm_session *session, const sized *s)
{
    double complex a[MOST * MOST], own[MOST * MOST], tau[MOST], own_tau[MOST], work[MOST];
    fill(s->m * s->n, a, s->size, 7);
    memcpy(own, a, sizeof own);
    cm_qr(session, s->m, s->n, own, s->m, own_tau);
    CU_ASSERT_EQUAL(LAPACKE_zgeqr2_work(LAPACK_COL_MAJOR, s->m, s->n, a, s->m, tau, work), 0);
    int reflectors = s->m < s->n ? s->m : s->n;
    CU_ASSERT(apart(reflectors, tau, own_tau) <= 1e-12);
    for (int j = 0; j < s->n; j++)
        for (int i = 0; i < s->m; i++)
            ASSERT_NEAR_COMPLEX(own[i + j * s->m], a[i + j * s->m], 1e-12 * (i <= j ? s->size : 1));
}

/* Q R gives a back, and Qᴴ Q b gives b back. */
static void multiplies_out(cm_session *session, const sized *s)
{
    double complex a[MOST * MOST], qr[MOST * MOST], tau[MOST], back[MOST * MOST] = {0};
    fill(s->m * s->n, a, s->size, 11);
    memcpy(qr, a, sizeof qr);
    cm_qr(session, s->m, s->n, qr, s->m, tau);
    int reflectors = s->m < s->n ? s->m : s->n;
    for (int j = 0; j < s->n; j++)
        for (int i = 0; i <= j && i < s->m; i++)
            back[i + j * s->m] = qr[i + j * s->m];
    cm_qr_times_q(session, s->m, s->n, reflectors, qr, s->m, tau, back, s->m);
    CU_ASSERT(apart(s->m * s->n, a, back) <= 2e-14 * s->size);
    cm_qr_times_q(session, s->m, s->n, reflectors, qr, s->m, tau, back, s->m);
    cm_qr_times_qh(session, s->m, s->n, reflectors, qr, s->m, tau, back, s->m);
    CU_ASSERT(apart(s->m * s->n, a, back) <= 5e-14 * s->size);
}

/* Columns of zeros, of a single number, and ones that are real or turned by a right angle. */
static void special(cm_session *session)
{
    double complex a[4 * 3] = {0, 0, 0, 0, 0, cm_pack(0, 2), 0, 0, -3, 0, 0, 0}, own[12], tau[3], own_tau[3],
                         work[3];
    memcpy(own, a, sizeof own);
    cm_qr(session, 4, 3, own, 4, own_tau);
    CU_ASSERT_EQUAL(LAPACKE_zgeqr2_work(LAPACK_COL_MAJOR, 4, 3, a, 4, tau, work), 0);
    CU_ASSERT(apart(3, tau, own_tau) <= 1e-15);
    CU_ASSERT(apart(12, a, own) <= 1e-15);
}

/* What elimination leaves of the second column is a square below the range of double. */
static void vanishing(cm_session *session)
{
    for (int k = 0; k < 3; k++) {
        double complex a[4] = {1, 0, 1, cm_pack(k ? 1e-170 : 0, k == 1 ? 0 : 1e-170)}, b[2] = {3, 4}, tau[2];
        cm_qr(session, 2, 2, a, 2, tau);
        cm_qr_times_qh(session, 2, 1, 2, a, 2, tau, b, 2);
        ASSERT_NEAR(cm_norm2(2, b), 5, 1e-14);
        ASSERT_NEAR(cabs(b[0]), 3, 1e-14);
    }
}

static void run_all(void (*check)(cm_session *, const sized *))
{
    cm_session *session = cm_open(NULL);
    for (size_t i = 0; i < sizeof SIZES / sizeof *SIZES; i++)
        check(session, &SIZES[i]);
    cm_close(session);
}

static void test_as_lapack(void)
{
    run_all(as_lapack);
}

static void test_multiplies_out(void)
{
    run_all(multiplies_out);
}

static void test_special(void)
{
    cm_session *session = cm_open(NULL);
    special(session);
    vanishing(session);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"the numbers of LAPACK", test_as_lapack},
        {"Q R gives the matrix back", test_multiplies_out},
        {"zeros and single numbers", test_special},
        {NULL, NULL},
    };
    return run_suite("linalg/householder", tests);
}
