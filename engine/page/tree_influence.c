/* SPDX-License-Identifier: MIT */
/* The result of `influence` as a tree. */
#include "page/tree_common.h"

#include <math.h>

static void add_coefficient(cm_session *session, cm_node *list, const cm_job *job, int row, int plane)
{
    const cm_influence *influence = job->influence;
    size_t at = (size_t)row + (size_t)plane * (size_t)influence->rows;
    bool told = influence->determined[at];
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, map, job, row);
    cm_node_add_text(session, map, "plane", job->given->planes[plane].id);
    if (told)
        cm_tree_polar(session, map, "value", "amplitude", "phase", cm_user_coefficient(job, row, plane));
    else
        cm_node_add_text(session, map, "value", NULL);
    double std = told && influence->std_known[at] ? influence->std[at] : NAN;
    cm_node_add_number(session, map, "std", cm_user_coefficient_size(job, row, std));
    cm_node_add_text(
        session, map, "unit",
        cm_format(session, "%s/%s", cm_sensor_of(job, row)->unit->name, job->given->mass_unit->name));
}

static void add_set(cm_session *session, cm_node *list, const cm_job *job, int row, int set)
{
    const cm_influence *influence = job->influence;
    size_t at = (size_t)row + (size_t)set * (size_t)influence->rows;
    bool told = influence->set_determined[at];
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, map, job, row);
    cm_node_add_text(session, map, "set", job->given->sets[set].id);
    if (told)
        cm_tree_polar(session, map, "value", "amplitude", "phase", cm_user_set_coefficient(job, row, set));
    else
        cm_node_add_text(session, map, "value", NULL);
    double std = told && influence->set_std_known[at] ? influence->set_std[at] : NAN;
    cm_node_add_number(session, map, "std", cm_user_coefficient_size(job, row, std));
    cm_node_add_text(
        session, map, "unit",
        cm_format(session, "%s/%s", cm_sensor_of(job, row)->unit->name, job->given->mass_unit->name));
}

static void add_scatter(cm_session *session, cm_node *list, const cm_job *job, int row)
{
    static const char *const sources[] = {[CM_SCATTER_DECLARED] = "declared",
                                          [CM_SCATTER_FIT] = "fit",
                                          [CM_SCATTER_REPEATS] = "repeats",
                                          [CM_SCATTER_ASSUMED] = "assumed"};
    const cm_influence *influence = job->influence;
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_tree_row(session, map, job, row);
    cm_node_add_number(session, map, "value", cm_user_amplitude(job, row, influence->scatter[row]));
    cm_node_add_text(session, map, "unit", cm_sensor_of(job, row)->unit->name);
    cm_node_add_text(session, map, "source", sources[influence->scatter_source[row]]);
    cm_node_add_number(session, map, "degrees_of_freedom", influence->dof[row]);
}

cm_node *cm_tree_influence(cm_session *session, const cm_job *job)
{
    cm_node *tree = cm_tree_open(session, "influence", job);
    cm_node *coefficients = cm_node_add_list(session, tree, "coefficients");
    for (int i = 0; i < job->influence->rows; i++)
        for (int j = 0; j < job->influence->planes; j++)
            add_coefficient(session, coefficients, job, i, j);
    cm_tree_condition(session, tree, job);
    cm_node *scatter = cm_node_add_list(session, tree, "scatter");
    for (int i = 0; i < job->influence->rows; i++)
        add_scatter(session, scatter, job, i);
    cm_node *sets = cm_node_add_list(session, tree, "sets");
    for (int i = 0; i < job->influence->rows; i++)
        for (int s = 0; s < job->influence->set_count; s++)
            add_set(session, sets, job, i, s);
    cm_tree_findings(session, tree, "warnings", job);
    cm_tree_runs(session, tree, job);
    return tree;
}
