/* SPDX-License-Identifier: MIT */
/* The dual point of the proof as a tree, for those who want to evaluate it themselves. Phasors that belong to readings are in
 * units of the value per unit of the reading and turn like readings; those of planes likewise per mass unit; docs/results.md.
 * Products Re(conj(dual)·reading) are then numbers in units of the value. */
#include "page/tree_proof.h"

#include <math.h>

/* Units of the value; a contradiction has none. */
static double value_unit(const cm_job *job, const cm_proof *proof)
{
    return (proof->contradiction ? 1 : cm_user_objective(job, 1)) / proof->norm;
}

static cm_size_angle user_row(const cm_job *job, int row, double complex dual)
{
    double unit = value_unit(job, job->answer->proof) * cm_sensor_of(job, row)->unit->factor;
    return (cm_size_angle){cabs(dual) * unit, cm_phase_to_user(job->given, dual)};
}

static cm_size_angle user_plane(const cm_job *job, int plane, double complex dual)
{
    double unit = value_unit(job, job->answer->proof) * job->given->mass_unit->factor;
    return (cm_size_angle){cabs(dual) * unit, cm_mass_angle_to_user(job->given, plane, dual)};
}

/* From the reference mark. */
static cm_size_angle user_tie(const cm_job *job, double complex dual)
{
    double unit = value_unit(job, job->answer->proof) * job->given->mass_unit->factor;
    return (cm_size_angle){cabs(dual) * unit, cm_mass_angle_to_user(job->given, -1, dual)};
}

static void add_readings(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_proof *proof = job->answer->proof;
    cm_node *list = cm_node_add_list(session, map, "readings");
    for (int i = 0; i < job->problem->rows; i++) {
        double complex objective = proof->contradiction ? 0 : proof->row_objective[i];
        if (objective == 0 && proof->row_limit[i] == 0)
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_tree_row(session, entry, job, i);
        cm_tree_polar(session, entry, "objective", "size", "angle", user_row(job, i, objective));
        cm_tree_polar(session, entry, "limit", "size", "angle", user_row(job, i, proof->row_limit[i]));
    }
}

/* The linear form Re Σ conj(h)(1, z) that the phasors s of a row's spread make of its factor F: h = Σ_k conj(F_.k) s_k. */
static double complex spread_form(const cm_problem *p, const double complex *dual, int row, int entry)
{
    int n = p->planes + 1;
    const double complex *f = p->spread + (size_t)row * (size_t)n * (size_t)n;
    double complex sum = 0;
    for (int k = 0; k < n; k++)
        sum += conj(f[entry + k * n]) * dual[row * n + k];
    return sum;
}

static void add_spread_form(cm_session *session, cm_node *list, const cm_job *job, const double complex *dual,
                            int row)
{
    const cm_problem *p = job->problem;
    double complex constant = spread_form(p, dual, row, 0);
    cm_size_angle reading = {cabs(constant) * value_unit(job, job->answer->proof),
                             cm_phase_to_user(job->given, constant)};
    if (!(p->weight[row] > 0))
        return;
    cm_node *entry = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, entry, job, row);
    cm_tree_polar(session, entry, "reading", "size", "angle", reading);
    cm_node *planes = cm_node_add_list(session, entry, "planes");
    for (int j = 0; j < p->planes; j++) {
        cm_size_angle form = user_plane(job, j, spread_form(p, dual, row, j + 1));
        cm_node *one = cm_node_add_map(session, planes, NULL);
        cm_node_add_text(session, one, "plane", job->given->planes[j].id);
        cm_node_add_number(session, one, "size", form.size);
        cm_node_add_number(session, one, "angle", form.angle);
    }
}

static void add_spreads(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_proof *proof = job->answer->proof;
    const double complex *dual =
        job->problem->objective == CM_EXPECTED ? proof->spread_objective : proof->spread_limit;
    if (!job->problem->spread)
        return;
    cm_node *list = cm_node_add_list(session, map, "spread");
    for (int i = 0; i < job->problem->rows; i++)
        add_spread_form(session, list, job, dual, i);
}

static void add_masses(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_proof *proof = job->answer->proof;
    cm_node *list = cm_node_add_list(session, map, "masses");
    for (int j = 0; j < job->problem->planes && !proof->contradiction; j++) {
        if (proof->mass[j] == 0)
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[j].id);
        cm_tree_polar(session, entry, "objective", "size", "angle", user_plane(job, j, proof->mass[j]));
    }
}

static void add_discs(cm_session *session, cm_node *map, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, map, "discs");
    for (int d = 0; d < job->problem->disc_count; d++) {
        const cm_disc *disc = &job->problem->discs[d];
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[disc->plane].id);
        cm_tree_polar(session, entry, "centre", "mass", "angle",
                      cm_user_mass(job, disc->plane, disc->centre));
        cm_node_add_number(session, entry, "radius", cm_user_kilograms(job, disc->radius));
        cm_tree_polar(session, entry, "dual", "size", "angle",
                      user_plane(job, disc->plane, job->answer->proof->disc[d]));
    }
}

static void add_terms(cm_session *session, cm_node *map, const cm_job *job, int tie)
{
    const cm_problem *p = job->problem;
    cm_node *list = cm_node_add_list(session, map, "terms");
    for (int j = 0; j < p->planes; j++) {
        double complex factor = p->ties[tie + j * p->tie_count];
        if (factor == 0)
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[j].id);
        cm_node_add_number(session, entry, "size", cabs(factor));
        cm_node_add_number(session, entry, "angle", cm_mass_angle_to_user(job->given, -1, factor));
    }
}

static void add_ties(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_problem *p = job->problem;
    cm_node *list = cm_node_add_list(session, map, "ties");
    for (int k = 0; k < p->tie_count; k++) {
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_size_angle equals = {cm_user_kilograms(job, cabs(p->tie_value[k])),
                                cm_mass_angle_to_user(job->given, -1, p->tie_value[k])};
        add_terms(session, entry, job, k);
        cm_tree_polar(session, entry, "equals", "mass", "angle", equals);
        cm_tree_polar(session, entry, "dual", "size", "angle", user_tie(job, job->answer->proof->tie[k]));
    }
}

void cm_tree_proof(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_proof *proof = job->answer->proof;
    if (!proof) {
        cm_node_add_text(session, tree, "proof", NULL);
        return;
    }
    cm_node *map = cm_node_add_map(session, tree, "proof");
    cm_node_add_boolean(session, map, "contradiction", proof->contradiction != 0);
    if (job->problem->objective == CM_CONFIDENCE)
        cm_node_add_number(session, map, "kappa", proof->kappa);
    add_readings(session, map, job);
    add_spreads(session, map, job);
    add_masses(session, map, job);
    add_discs(session, map, job);
    add_ties(session, map, job);
}
