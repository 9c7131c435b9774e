/* SPDX-License-Identifier: MIT */
/* Runs as they really are: two sensors in two operating states each, drift, weights, a run whose phases were turned back by
 * an angle found from readings, and a set of known influence. Constructed. The fit is linear in the readings, so its
 * covariance can be had without any formula: each reading is moved by 1 and by i, everything fitted again, and the changes
 * of all results multiplied. */
#include "suite.h"
#include "linalg/statistics.h"

#include "countermass/influence.h"

#include <string.h>

enum { ROWS = 4, PLANES = 2, RUNS = 8, LINES = PLANES + 1, CELLS = ROWS * RUNS, OUT = ROWS * LINES };

/* One job; `error` is what its readings are off by. */
typedef struct job {
    double complex masses[RUNS * PLANES], truth[CELLS], readings[CELLS], turned[CELLS], gain[CELLS],
        base[PLANES];
    int repeats[CELLS], shares[ROWS], block[ROWS], pool[ROWS], moved_of[RUNS], basis_of[ROWS];
    double weight[CELLS], repeatability[ROWS], floor[ROWS], level[RUNS], base_level[1];
    double complex basis[PLANES * PLANES], set[PLANES];
    cm_known known;
    cm_runs runs;
} job;

static void put_masses(job *j)
{
    static const double size[RUNS][2] = {{0, 0}, {3, 0}, {0, 2}, {1, 4}, {3, 0}, {2, 2}, {5, 1}, {1, 4}};
    for (int k = 0; k < RUNS; k++) {
        j->masses[k] = size[k][0];
        j->masses[k + RUNS] = size[k][1] * (0.6 + 0.8 * _Complex_I);
        j->level[k] = k / (RUNS - 1.0) - 1;
    }
    for (int p = 0; p < PLANES; p++)
        j->base[p] = j->masses[RUNS - 1 + p * RUNS];
}

static void put_readings(job *j)
{
    cm_random random = cm_seed(17);
    for (int k = 0; k < RUNS; k++)
        for (int i = 0; i < ROWS; i++) {
            int at = i + k * ROWS;
            j->truth[at] = 20 * cm_normal(&random);
            j->repeats[at] = i % 2 == 0 ? k != 5 : k == 0 || k >= 4; /* odd rows: the other state */
            j->weight[at] = k == 3 ? 2.5 : 1;
        }
}

/* Run 4 was turned back by an angle found from runs 1 and 4. */
static void put_angle(job *j)
{
    cm_random random = cm_seed(5);
    for (int k = 0; k < RUNS; k++)
        j->moved_of[k] = k == 4 ? 0 : -1;
    for (int i = 0; i < ROWS; i += 2) {
        j->gain[i + 4 * ROWS] = 0.02 * cm_normal(&random);
        j->gain[i + 1 * ROWS] = -j->gain[i + 4 * ROWS];
    }
    for (int i = 0; i < ROWS; i++)
        j->turned[i + 4 * ROWS] = 30 * cm_normal(&random);
}

static job *new_job(bool moved, bool known_set)
{
    static const int shares[ROWS] = {0, 0, 2, 2}, block[ROWS] = {0, 1, 0, 1};
    static const double repeatability[ROWS] = {0.5, 0.8, 1, 1};
    static job room;
    job *j = &room;
    memset(j, 0, sizeof *j);
    put_masses(j);
    put_readings(j);
    put_angle(j);
    memcpy(j->shares, shares, sizeof shares);
    memcpy(j->block, block, sizeof block);
    memcpy(j->repeatability, repeatability, sizeof repeatability);
    j->runs = (cm_runs){.size = sizeof j->runs,
                        .rows = ROWS,
                        .planes = PLANES,
                        .runs = RUNS,
                        .block = j->block,
                        .pool = j->pool,
                        .masses = j->masses,
                        .readings = j->readings,
                        .repeats = j->repeats,
                        .repeatability = j->repeatability,
                        .assumed_floor = j->floor,
                        .base = j->base,
                        .mass_zero = 1e-9,
                        .shares = j->shares,
                        .levels = 1,
                        .level = j->level,
                        .base_level = j->base_level,
                        .reading_weight = j->weight};
    if (moved) {
        j->runs.moved = 1;
        j->runs.moved_of = j->moved_of;
        j->runs.moved_reading = j->turned;
        j->runs.moved_gain = j->gain;
    }
    if (known_set) {
        const double complex second = 2 * _Complex_I;
        j->set[0] = 1;
        j->set[1] = second;
        j->basis[0] = 1;
        j->basis[1] = -1 / second;
        j->basis[3] = 1 / second;
        for (int i = 0; i < ROWS; i++)
            j->basis_of[i] = i == 2 ? 0 : -1;
        j->known = (cm_known){.row = 2, .plane = 1, .value = 3 - 1 * _Complex_I, .set = 1};
        j->runs.known_count = 1;
        j->runs.known = &j->known;
        j->runs.set_count = 1;
        j->runs.sets = j->set;
        j->runs.basis_of = j->basis_of;
        j->runs.bases = j->basis;
    }
    return j;
}

/* Results (row by row: reading in the base state, coefficients) with one reading off by `error`. */
static const cm_influence *fit_with(cm_session *session, job *j, int cell, double complex error,
                                    double complex *out)
{
    const cm_influence *influence = NULL;
    memcpy(j->readings, j->truth, sizeof j->truth);
    if (cell >= 0) {
        j->readings[cell] += error;
        double delta = j->runs.moved ? cimag(conj(j->gain[cell]) * error) : 0;
        for (int i = 0; i < ROWS; i++)
            j->readings[i + 4 * ROWS] -= _Complex_I * j->turned[i + 4 * ROWS] * delta;
    }
    CU_ASSERT_EQUAL_FATAL(cm_fit(session, &j->runs, &influence), CM_OK);
    for (int i = 0; i < ROWS; i++) {
        out[i * LINES] = influence->y[i];
        for (int p = 0; p < PLANES; p++)
            out[i * LINES + 1 + p] = influence->a[i + p * ROWS];
    }
    return influence;
}

static void true_covariance(cm_session *session, job *j, double complex *c)
{
    double complex centre[OUT], moved[OUT];
    fit_with(session, j, -1, 0, centre);
    for (int cell = 0; cell < CELLS; cell++)
        for (int part = 0; part < 2 && j->repeats[cell]; part++) {
            double sigma = j->repeatability[cell % ROWS];
            fit_with(session, j, cell, part ? _Complex_I : 1, moved);
            for (int a = 0; a < OUT; a++)
                for (int b = 0; b < OUT; b++)
                    c[a + b * OUT] += sigma * sigma / j->weight[cell] / 2 * (moved[a] - centre[a]) *
                                      conj(moved[b] - centre[b]);
        }
}

static double complex product(const cm_complex *blocks, int width, int row, int line, int other,
                              int other_line)
{
    double complex sum = 0;
    for (int q = 0; blocks && q < width; q++)
        sum +=
            blocks[(row * width + q) * LINES + line] * conj(blocks[(other * width + q) * LINES + other_line]);
    return sum;
}

static double complex stated(const cm_influence *f, int row, int line, int other, int other_line)
{
    if (row == other)
        return product(f->factor, LINES, row, line, other, other_line);
    double complex sum = product(f->common_factor, f->common_count, row, line, other, other_line) -
                         product(f->base_factor, f->common_count, row, line, other, other_line);
    return f->family && f->family[row] == f->family[other]
               ? sum + product(f->own_factor, f->own_width, row, line, other, other_line)
               : sum;
}

static void compare(bool moved, bool known_set)
{
    cm_session *session = cm_open(NULL);
    job *j = new_job(moved, known_set);
    static double complex wanted[OUT * OUT];
    double complex out[OUT];
    memset(wanted, 0, sizeof wanted);
    true_covariance(session, j, wanted);
    const cm_influence *f = fit_with(session, j, -1, 0, out);
    double worst = 0;
    for (int a = 0; a < OUT; a++)
        for (int b = 0; b < OUT; b++) {
            double scale = sqrt(cabs(wanted[a + a * OUT]) * cabs(wanted[b + b * OUT]));
            double complex found = stated(f, a / LINES, a % LINES, b / LINES, b % LINES);
            worst = fmax(worst, cabs(found - wanted[a + b * OUT]) / fmax(scale, 1e-6));
        }
    CU_ASSERT(worst < 1e-9);
    CU_ASSERT(cabs(wanted[1 + 4 * OUT]) > 1e-3); /* the two states do share their coefficients */
    CU_ASSERT(cabs(wanted[1 + 7 * OUT]) > (moved ? 1e-6 : -1));
    cm_close(session);
}

static void test_states(void)
{
    compare(false, false);
}

static void test_angle(void)
{
    compare(true, false);
    outside("covariance of states, drift, weights and angles found from readings",
            "every reading moved by 1 and by i and fitted again", "constructed", "all entries to 1e-9");
}

static void test_set(void)
{
    compare(false, true);
    compare(true, true);
}

/* A known set is kept exactly, and told by the fit again. */
static void test_set_is_kept(void)
{
    cm_session *session = cm_open(NULL);
    job *j = new_job(false, true);
    double complex out[OUT];
    const cm_influence *f = fit_with(session, j, -1, 0, out);
    for (int i = 2; i < ROWS; i++) {
        ASSERT_NEAR_COMPLEX(out[i * LINES + 1] + j->set[1] * out[i * LINES + 2], j->known.value, 1e-12);
        ASSERT_NEAR_COMPLEX(f->set_a[i], j->known.value, 1e-12);
        CU_ASSERT(f->set_std[i] < 1e-12 && f->set_determined[i]);
    }
    CU_ASSERT(f->set_std[0] > 1e-3 && cabs(f->set_a[0] - j->known.value) > 1e-3);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {{"states, drift, weights", test_states},
                                    {"an angle found from readings", test_angle},
                                    {"a known set", test_set},
                                    {"a known set is kept", test_set_is_kept},
                                    {NULL, NULL}};
    return run_suite("fit/runs", tests);
}
