/* SPDX-License-Identifier: MIT */
/* Closed-form spread against brute force: the whole job drawn, fitted and solved again many times. */
#include "simulated.h"

enum { DRAWS = 6000 };

typedef struct cm_moments {
    double reading[SIM_ROWS]; /* mean |true - predicted|² */
    double mass[SIM_PLANES], size[SIM_PLANES], angle[SIM_PLANES];
} cm_moments;

/* Masses that exact readings and the centre of the priors would give: their own scatter is taken about the mean. */
static void draw_many(cm_simulated *sim, uint64_t seed, cm_moments *out)
{
    static cm_complex x[DRAWS][SIM_PLANES];
    cm_random random = cm_seed(seed);
    cm_session *session = cm_open(NULL);
    cm_complex mean[SIM_PLANES] = {0};
    *out = (cm_moments){0};
    for (int k = 0; k < DRAWS; k++) {
        sim_run(session, sim, &random);
        for (int i = 0; i < sim->rows; i++)
            out->reading[i] += pow(cabs(sim_truth(sim, i) - sim->job.answer->r[i]), 2) / DRAWS;
        for (int j = 0; j < sim->planes; j++) {
            x[k][j] = sim->job.answer->x[j];
            mean[j] += x[k][j] / DRAWS;
        }
        cm_reset(session);
    }
    for (int k = 0; k < DRAWS; k++)
        for (int j = 0; j < sim->planes; j++) {
            double complex relative = (x[k][j] - mean[j]) / mean[j];
            out->mass[j] += pow(cabs(x[k][j] - mean[j]), 2) / DRAWS;
            out->size[j] += pow(creal(relative) * cabs(mean[j]), 2) / DRAWS;
            out->angle[j] += pow(cimag(relative), 2) / DRAWS;
        }
    cm_close(session);
}

static void compare(cm_simulated *sim, uint64_t seed)
{
    cm_moments moments;
    draw_many(sim, seed, &moments);
    cm_session *session = cm_open(NULL);
    cm_random random = cm_seed(seed);
    sim_run(session, sim, &random);
    const cm_spread *spread = sim->job.spread;
    for (int i = 0; i < sim->rows; i++)
        ASSERT_NEAR(spread->after_std[i] / sqrt(moments.reading[i]), 1, 0.04);
    for (int j = 0; j < sim->planes; j++) {
        ASSERT_NEAR(spread->mass_std[j] / sqrt(moments.mass[j]), 1, 0.04);
        ASSERT_NEAR(spread->size_std[j] / sqrt(moments.size[j]), 1, 0.05);
        ASSERT_NEAR(spread->angle_std[j] / sqrt(moments.angle[j]), 1, 0.05);
        ASSERT_NEAR(spread->mass_factor[j], sqrt(log(10)), 1e-12);
    }
    cm_close(session);
}

static void declare(cm_simulated *sim)
{
    for (int i = 0; i < sim->rows; i++)
        sim->repeatability[i] = sim->sigma;
}

static void add_priors(cm_simulated *sim, double share, double common)
{
    sim->known_count = 0;
    for (int i = 0; i < sim->rows; i++)
        for (int j = 0; j < sim->planes; j++)
            sim->prior[sim->known_count++] =
                (cm_known){.row = i,
                           .plane = j,
                           .value = sim->a[i + j * sim->rows],
                           .uncertainty = share * cabs(sim->a[i + j * sim->rows]),
                           .common = common};
}

/* Trials left on, trials removed, two planes at once; residuals after correction are large (8 rows, 3 planes). */
static void make_trials(cm_simulated *sim)
{
    sim_begin(sim, 8, 3, 6, 2e-3, 3);
    const cm_complex masses[] = {0, 1, 1, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0};
    for (int k = 0; k < 18; k++)
        sim->masses[k] = masses[k];
    declare(sim);
}

static void test_runs(void)
{
    cm_simulated sim;
    make_trials(&sim);
    compare(&sim, 21);
}

static void test_priors(void)
{
    cm_simulated sim;
    make_trials(&sim);
    sim.runs = 2;
    for (int k = 0; k < 6; k++)
        sim.masses[k] = k == 1;
    add_priors(&sim, 3e-3, 0);
    compare(&sim, 22);
}

static void test_shared_priors(void)
{
    cm_simulated sim;
    make_trials(&sim);
    sim.runs = 2;
    for (int k = 0; k < 6; k++)
        sim.masses[k] = k == 1;
    add_priors(&sim, 3e-3, 0.8);
    compare(&sim, 23);
    add_priors(&sim, 3e-3, 1);
    compare(&sim, 24);
}

/* What the job says about all limits together, against drawing errors about its own prediction. */
static void test_all_within(void)
{
    cm_simulated sim;
    make_trials(&sim);
    sim.runs = 2;
    for (int k = 0; k < 6; k++)
        sim.masses[k] = k == 1;
    add_priors(&sim, 3e-3, 0.9);
    cm_session *session = cm_open(NULL);
    cm_random random = cm_seed(25);
    sim_run(session, &sim, &random);
    CU_ASSERT(isnan(sim.job.spread->within_all));
    for (int i = 0; i < sim.rows; i++)
        sim.limit[i] = cabs(sim.job.answer->r[i]) + sim.job.spread->after_std[i];
    int good = 0;
    random = cm_seed(26);
    const double complex *fixed = sim.job.answer->x;
    cm_complex x[SIM_PLANES] = {fixed[0], fixed[1], fixed[2]};
    cm_complex centre[SIM_ROWS];
    for (int i = 0; i < sim.rows; i++)
        centre[i] = sim.job.answer->r[i];
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, &sim.job), CM_OK);
    double promised = sim.job.spread->within_all;
    CU_ASSERT(sim.job.spread->samples > 0);
    cm_session *other = cm_open(NULL);
    for (int k = 0; k < DRAWS; k++) {
        bool all = true;
        sim_draw_readings(&sim, &random);
        sim_draw_priors(&sim, &random);
        const cm_influence *influence = NULL;
        CU_ASSERT_EQUAL_FATAL(cm_fit(other, &sim.runs_given, &influence), CM_OK);
        for (int i = 0; i < sim.rows && all; i++) {
            cm_complex error = influence->y[i] - sim.as_found[i];
            for (int j = 0; j < sim.planes; j++)
                error += (influence->a[i + j * sim.rows] - sim.a[i + j * sim.rows]) * x[j];
            all = cabs(centre[i] - error) <= sim.limit[i];
        }
        good += all;
        cm_reset(other);
    }
    cm_close(other);
    cm_close(session);
    double found = good / (double)DRAWS;
    CU_ASSERT(found > 0.05 && found < 0.95);
    CU_ASSERT(fabs(found - promised) < 0.03);
}

static void test_nothing_shared_is_a_product(void)
{
    cm_simulated sim;
    make_trials(&sim);
    cm_session *session = cm_open(NULL);
    cm_random random = cm_seed(27);
    sim_run(session, &sim, &random);
    double product = 1;
    for (int i = 0; i < sim.rows; i++)
        sim.limit[i] = cabs(sim.job.answer->r[i]) + 0.5 * sim.job.spread->after_std[i];
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, &sim.job), CM_OK);
    for (int i = 0; i < sim.rows; i++)
        product *= sim.job.spread->within[i];
    ASSERT_NEAR(sim.job.spread->within_all, product, 1e-12);
    CU_ASSERT_EQUAL(sim.job.spread->samples, 0);
    cm_close(session);
}

/* Without repeatability, repeats and degrees of freedom: the assumption serves, and says so; before the answer there
 * is a spread of the base readings only. */
static void test_assumed(void)
{
    cm_simulated sim;
    make_trials(&sim);
    for (int i = 0; i < sim.rows; i++)
        sim.repeatability[i] = 0;
    sim.runs = 1;
    for (int j = 0; j < 3; j++)
        sim.masses[j] = 0;
    add_priors(&sim, 1e-2, 0);
    cm_session *session = cm_open(NULL);
    cm_random random = cm_seed(28);
    sim_run(session, &sim, &random);
    CU_ASSERT(sim.job.spread->assumed);
    ASSERT_NEAR(sim.job.spread->before_std[0], 0.03 * cabs(sim.readings[0]) + 1, 1e-12);
    CU_ASSERT(sim.job.influence->std_known[0]);
    CU_ASSERT(isnan(sim.job.spread->within[0]));
    sim.job.answer = NULL;
    CU_ASSERT_EQUAL_FATAL(cm_spread_of(session, &sim.job), CM_OK);
    CU_ASSERT(isnan(sim.job.spread->after_std[0]) && isnan(sim.job.spread->mass_std[0]));
    CU_ASSERT(sim.job.spread->before_std[0] > 0);
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"runs only, against brute force", test_runs},
        {"priors, against brute force", test_priors},
        {"priors with a shared error, against brute force", test_shared_priors},
        {"all within limits, against brute force", test_all_within},
        {"nothing shared: a product", test_nothing_shared_is_a_product},
        {"assumed scatter", test_assumed},
        {NULL, NULL},
    };
    return run_suite("fit/spread", tests);
}
