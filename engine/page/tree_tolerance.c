/* SPDX-License-Identifier: MIT */
/* The result of `tolerance` as a tree. Unbalance in g mm, loads in N, masses and speeds in the case's units.
 */
#include "page/start_common.h"
#include "page/tree_common.h"

#include "standards/permissible.h"
#include "standards/zones.h"

#include <math.h>

static void add_unbalance(cm_session *session, cm_node *map, const char *key, double unbalance)
{
    cm_node_add_number(session, map, key, unbalance / CM_GRAM_MILLIMETRE);
}

static void add_bearings(cm_session *session, cm_node *parent, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    cm_node *list = cm_node_add_list(session, parent, "bearings");
    for (int k = 0; k < t->bearings; k++) {
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "id", job->given->rotor.bearings[k].id);
        add_unbalance(session, map, "value", t->bearing[k]);
        cm_node_add_number(session, map, "share", t->share[k]);
        cm_node_add_number(session, map, "share_by_statics", t->lever[k]);
        cm_node_add_boolean(session, map, "limited", t->limited[k]);
        cm_node_add_number(session, map, "static_load", t->load[k]);
        add_unbalance(session, map, "mass_speed_rule", t->mass_speed[k]);
    }
}

static void add_planes(cm_session *session, cm_node *parent, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    cm_node *list = cm_node_add_list(session, parent, "planes");
    for (int j = 0; j < t->planes; j++) {
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "plane", job->given->planes[j].id);
        add_unbalance(session, map, "value", t->plane[j]);
        cm_node_add_number(session, map, "mass",
                           cm_user_kilograms(job, t->plane[j] / job->given->planes[j].radius));
        cm_node_add_boolean(session, map, "overhung", t->overhung[j]);
    }
}

static void add_permissible(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    cm_node *map = cm_node_add_map(session, tree, "permissible");
    add_unbalance(session, map, "value", t->value);
    cm_node_add_text(session, map, "unit", "g mm");
    add_bearings(session, map, job);
    add_planes(session, map, job);
    cm_node_add_number(session, map, "grade", t->grade);
    cm_node_add_number(session, map, "mass", cm_user_kilograms(job, t->mass));
    cm_node_add_number(session, map, "speed", t->omega / job->given->speed_unit->factor);
    cm_node_add_number(session, map, "eccentricity_um", t->value / t->mass * 1e6);
    cm_node_add_number(session, map, "vibration_limit_um_pp", t->vibration_limit * 1e6);
}

static void add_flexible(cm_session *session, cm_node *tree, const cm_tolerance *t)
{
    cm_node *list = cm_node_add_list(session, tree, "flexible_shares");
    for (const cm_flexible_share *row = CM_FLEXIBLE_SHARES; row->what; row++) {
        cm_node *map = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, map, "what", row->what);
        cm_node_add_number(session, map, "share", row->share);
        add_unbalance(session, map, "value", row->share * t->value);
    }
}

/* Why readings tell of no residual unbalance; null when they do. */
static void add_unjudged(cm_session *session, cm_node *tree, cm_unjudged why)
{
    static const char *const words[] = {[CM_UNJUDGED_NOTHING] = NULL,
                                        [CM_UNJUDGED_READINGS] = "no-readings",
                                        [CM_UNJUDGED_BEHAVIOUR] = "behaviour-unknown",
                                        [CM_UNJUDGED_BEARINGS] = "not-two-bearings",
                                        [CM_UNJUDGED_PLANES] = "no-two-planes",
                                        [CM_UNJUDGED_SPEED] = "no-speed"};
    cm_node_add_text(session, tree, "not_judged", words[why]);
}

static void add_reached(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_residual *r = &job->tolerance->reached;
    if (r->speed < 0) {
        cm_node_add_text(session, tree, "reached", NULL);
        return;
    }
    cm_node *map = cm_node_add_map(session, tree, "reached");
    cm_node_add_text(session, map, "verdict", cm_verdict_name(r->verdict));
    cm_node_add_text(session, map, "speed", job->given->speeds[r->speed].id);
    cm_node *planes = cm_node_add_list(session, map, "planes");
    for (int j = 0; j < 2; j++)
        cm_node_add_text(session, planes, NULL, job->given->planes[r->planes[j]].id);
    cm_node *list = cm_node_add_list(session, map, "bearings");
    for (int k = 0; k < 2; k++) {
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "id", job->given->rotor.bearings[k].id);
        add_unbalance(session, entry, "value", cabs(r->unbalance[k]));
        cm_node_add_number(session, entry, "angle", cm_mass_angle_to_user(job->given, -1, r->unbalance[k]));
        add_unbalance(session, entry, "radius", r->radius[k]);
    }
    cm_node_add_number(session, map, "grade", r->grade);
    cm_node_add_number(session, map, "grade_with_error", r->grade_most);
    cm_node_add_boolean(session, map, "assumed_scatter", r->assumed);
}

static void add_separation(cm_session *session, cm_node *tree, const cm_tolerance *t)
{
    cm_node *map = cm_node_add_map(session, tree, "separation");
    cm_node_add_number(session, map, "below", t->margin_below);
    cm_node_add_number(session, map, "above", t->margin_above);
    cm_node_add_number(session, map, "actual", t->margin);
}

static void add_zones(cm_session *session, cm_node *tree, const cm_case *c)
{
    static const char *const names[] = {"a_b", "b_c", "c_d"};
    double figure[3];
    if (!cm_zone_figures(c, figure)) {
        cm_node_add_text(session, tree, "zones", NULL);
        return;
    }
    cm_node *map = cm_node_add_map(session, tree, "zones");
    cm_node_add_text(session, map, "standard", c->zone->name);
    cm_node_add_text(session, map, "unit", c->zone->unit);
    for (int k = 0; k < 3; k++)
        cm_node_add_number(session, map, names[k], figure[k]);
    cm_node_add_text(session, map, "mark", c->zone->mark);
}

cm_node *cm_tree_tolerance(cm_session *session, const cm_job *job)
{
    static const char *const keys[] = {[CM_KEY_UNSAID] = NULL,
                                       [CM_KEY_HALF] = "half-key",
                                       [CM_KEY_FULL] = "full-key",
                                       [CM_KEY_NONE] = "no-key"};
    const cm_tolerance *t = job->tolerance;
    cm_node *tree = cm_tree_open(session, "tolerance", job);
    add_permissible(session, tree, job);
    cm_node_add_text(session, tree, "arrangement",
                     t->bearings != 2 ? NULL
                     : t->outboard    ? "outboard"
                                      : "inboard");
    cm_node_add_text(session, tree, "behaviour", cm_behaviour_name(t->behaviour));
    cm_node_add_number(session, tree, "first_resonance", t->resonance / job->given->speed_unit->factor);
    add_separation(session, tree, t);
    add_flexible(session, tree, t);
    add_reached(session, tree, job);
    add_unjudged(session, tree, t->reached.why);
    add_zones(session, tree, job->given);
    cm_node_add_text(session, tree, "key_convention", keys[job->given->rotor.key_convention]);
    cm_node_add_number(session, tree, "load_ratio", t->load_ratio);
    cm_tree_sources(session, tree, cm_tolerance_sources(job));
    return tree;
}
