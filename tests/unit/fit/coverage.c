/* SPDX-License-Identifier: MIT */
/* Coverage: over 2,000 simulated jobs the 90 % radius of each predicted reading must hold the true reading in 88 to 92 %
 * of cases, with declared scatter and with scatter estimated from 1, 3 and 10 degrees of freedom. */
#include "simulated.h"

enum { JOBS = 2000 };

static double coverage(cm_simulated *sim, uint64_t seed, double dof)
{
    cm_random random = cm_seed(seed);
    cm_session *session = cm_open(NULL);
    double held = 0;
    for (int k = 0; k < JOBS; k++) {
        sim_run(session, sim, &random);
        const cm_spread *spread = sim->job.spread;
        for (int i = 0; i < sim->rows; i++) {
            double radius = spread->radius_factor[i] * spread->after_std[i];
            CU_ASSERT(sim->job.influence->dof[i] >= dof && sim->job.influence->dof[i] <= dof);
            held += cabs(sim_truth(sim, i) - sim->job.answer->r[i]) <= radius;
        }
        cm_reset(session);
    }
    cm_close(session);
    printf("coverage %.4f ", held / (JOBS * sim->rows));
    return held / (JOBS * sim->rows);
}

/* As found, a trial on each of two planes, as found again; the last run is read by `again` rows: dof = again. */
static void make_case(cm_simulated *sim, int again)
{
    sim_begin(sim, 10, 2, 4, 0.02, 11);
    sim->masses[1] = 1;
    sim->masses[2 + 4] = 1;
    for (int i = again; i < 10; i++)
        sim->repeats[i + 3 * 10] = 0;
}

static void check_estimated(int dof)
{
    cm_simulated sim;
    make_case(&sim, dof);
    double found = coverage(&sim, 100 + (uint64_t)dof, dof);
    CU_ASSERT(found >= 0.88 && found <= 0.92);
}

static void test_declared(void)
{
    cm_simulated sim;
    make_case(&sim, 10);
    for (int i = 0; i < sim.rows; i++)
        sim.repeatability[i] = sim.sigma;
    double found = coverage(&sim, 5, INFINITY);
    CU_ASSERT(found >= 0.88 && found <= 0.92);
}

static void test_one(void)
{
    check_estimated(1);
}

static void test_three(void)
{
    check_estimated(3);
}

static void test_ten(void)
{
    check_estimated(10);
}

/* Priors that share most of their error, weighed against runs that tried one plane only. */
static void test_priors(void)
{
    cm_simulated sim;
    make_case(&sim, 10);
    for (int k = 0; k < sim.runs; k++)
        sim.masses[k + sim.runs] = 0;
    for (int i = 0; i < sim.rows; i++) {
        sim.repeatability[i] = sim.sigma;
        for (int j = 0; j < 2; j++)
            sim.prior[sim.known_count++] = (cm_known){.row = i,
                                                      .plane = j,
                                                      .value = sim.a[i + j * sim.rows],
                                                      .uncertainty = 0.05 * cabs(sim.a[i + j * sim.rows]),
                                                      .common = 0.7};
    }
    double found = coverage(&sim, 6, INFINITY);
    CU_ASSERT(found >= 0.88 && found <= 0.92);
}

int main(void)
{
    static const cm_test tests[] = {
        {"declared scatter", test_declared},         {"1 degree of freedom", test_one},
        {"3 degrees of freedom", test_three},        {"10 degrees of freedom", test_ten},
        {"priors with a shared error", test_priors}, {NULL, NULL},
    };
    return run_suite("fit/coverage", tests);
}
