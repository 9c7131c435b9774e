/* SPDX-License-Identifier: MIT */
/* What is asked: objective, planes in use, fixed masses, ties, dropped readings. */
#include "case/arrays.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include "base/number.h"

#include <math.h>
#include <string.h>

void cm_start_goal(cm_reader *reader)
{
    cm_case *c = reader->c;
    c->goal.use = CM_NEW(reader->session, c->plane_count, unsigned char);
    c->goal.use_set = CM_NEW(reader->session, c->set_count, unsigned char);
    c->goal.fixed = CM_NEW(reader->session, c->plane_count, unsigned char);
    c->goal.fixed_value = CM_NEW(reader->session, c->plane_count, double complex);
    c->goal.fixed_place = CM_NEW(reader->session, c->plane_count, cm_place);
    memset(c->goal.use, 1, (size_t)c->plane_count);
}

void cm_read_objective(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_start_goal(reader);
    cm_read_map(reader, key, node, record);
}

void cm_read_minimise(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int found = 0;
    cm_key choice = *key;
    choice.offset = 0;
    cm_read_choice(reader, &choice, node, &found);
    *(cm_objective *)cm_slot(key, record) = (cm_objective)found;
    reader->c->goal.minimise_place = node->place;
}

/* `then`: the second objective and the share that the first may lose for it. */
void cm_read_then(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_goal *goal = &reader->c->goal;
    goal->within = NAN;
    cm_read_map(reader, key, node, record);
    if (node->kind != CM_MAP)
        return;
    goal->has_then = cm_node_get(node, "minimise") && !isnan(goal->within);
    goal->then_place = node->place;
    if (!goal->has_then)
        return;
    if (goal->second == goal->minimise)
        cm_wrong(reader, &cm_node_get(node, "minimise")->place,
                 "objective.then.minimise is the same as objective.minimise; name another objective");
    if (goal->minimise == CM_CONFIDENCE && goal->within >= 1)
        cm_wrong(reader, &cm_node_get(node, "within")->place,
                 "objective.then.within must be below 100 %% of the confidence: nothing would be kept of it");
}

void cm_read_second(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    int found = 0;
    cm_key choice = *key;
    choice.offset = 0;
    cm_read_choice(reader, &choice, node, &found);
    *(cm_objective *)cm_slot(key, record) = (cm_objective)found;
}

void cm_read_within(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    reader->c->goal.within_place = node->place;
    cm_read_boolean(reader, key, node, record);
}

void cm_read_use_planes(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    cm_goal *goal = &reader->c->goal;
    if (!cm_need_list(reader, node, key->name))
        return;
    memset(goal->use, 0, (size_t)reader->c->plane_count);
    for (const cm_node *item = node->first; item; item = item->next) {
        int part = cm_refer_node_part(reader, item);
        if (part < 0)
            continue;
        bool set = cm_set_of(reader, part) != NULL;
        unsigned char *use = set ? &goal->use_set[part - reader->c->plane_count] : &goal->use[part];
        if (*use)
            cm_wrong(reader, &item->place, "the %s '%s' stands in this list twice", set ? "set" : "plane",
                     item->text);
        *use = 1;
    }
}

static void fix_plane(cm_reader *reader, int plane, int how, double complex mass, const cm_place *place)
{
    cm_goal *goal = &reader->c->goal;
    if (goal->fixed[plane] && (how == CM_FIXED_ALONE || goal->fixed[plane] == CM_FIXED_ALONE))
        cm_wrong(reader, place, "the plane '%s' is fixed both by itself and in a set",
                 reader->c->planes[plane].id);
    goal->fixed[plane] = (unsigned char)how;
    goal->fixed_value[plane] += mass;
    goal->fixed_place[plane] = *place;
}

/* The planes of fixed sets carry the sum of what the sets put there. */
static void fix_set(cm_reader *reader, int part, double complex mass, const cm_place *place)
{
    const cm_bundle *set = cm_set_of(reader, part);
    reader->c->goal.use_set[part - reader->c->plane_count] = 0;
    for (int t = 0; t < set->count; t++)
        fix_plane(reader, set->terms[t].plane, CM_FIXED_BY_SET, set->terms[t].factor * mass, place);
}

void cm_read_fixed(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    if (!cm_need_map(reader, node, key->name))
        return;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        cm_polar polar;
        int part = cm_refer_key_part(reader, entry);
        if (!cm_phasor_of(reader, "a fixed mass", key->measure, entry, &polar) || part < 0)
            continue;
        bool set = cm_set_of(reader, part) != NULL;
        double complex mass = cm_mass_from_user(reader->c, set ? -1 : part, polar.size, polar.degrees);
        if (set)
            fix_set(reader, part, mass, &entry->key_place);
        else
            fix_plane(reader, part, CM_FIXED_ALONE, mass, &entry->key_place);
    }
}

/* ---- ties ---- */

void *cm_begin_tie(cm_reader *reader, void *parent, const cm_node *node)
{
    (void)parent;
    cm_goal *goal = &reader->c->goal;
    goal->ties = cm_grow(reader->session, goal->ties, goal->tie_count, &goal->tie_room, sizeof *goal->ties);
    cm_tie *tie = &goal->ties[goal->tie_count++];
    *tie = (cm_tie){.place = node->place};
    return tie;
}

void cm_read_terms(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_tie *tie = record;
    if (!cm_need_map(reader, node, key->name))
        return;
    tie->terms = CM_NEW(reader->session, node->count, cm_tie_term);
    tie->room = node->count;
    for (const cm_node *entry = node->first; entry; entry = entry->next) {
        cm_polar polar;
        int plane = cm_refer_key(reader, &reader->planes, "plane", entry);
        if (cm_phasor_of(reader, "a factor", CM_MEASURE_PLAIN, entry, &polar) && plane >= 0)
            tie->terms[tie->count++] =
                (cm_tie_term){plane, cm_mass_from_user(reader->c, -1, polar.size, polar.degrees)};
    }
}

void cm_read_equals(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_polar polar;
    if (cm_phasor_of(reader, key->name, key->measure, node, &polar))
        *(double complex *)cm_slot(key, record) = cm_mass_from_user(reader->c, -1, polar.size, polar.degrees);
}

void cm_end_tie(cm_reader *reader, void *parent, const cm_node *node, void *record)
{
    (void)parent;
    (void)record;
    const cm_node *terms = cm_node_get(node, "terms");
    if (terms && terms->kind == CM_MAP && terms->count == 0)
        cm_wrong(reader, &terms->place,
                 "this tie has no terms; name at least one plane, such as {P1: 1 @ 0}");
}

/* ---- dropped readings, error of the coefficients ---- */

static void drop_row(cm_reader *reader, const cm_node *node)
{
    cm_goal *goal = &reader->c->goal;
    if (node->kind != CM_LIST || node->count != 2) {
        cm_wrong(reader, &node->place, "each entry of drop_rows is a pair [sensor, speed]");
        return;
    }
    int sensor = cm_refer_node(reader, &reader->sensors, "sensor", node->first);
    int speed = cm_refer_node(reader, &reader->speeds, "speed", node->last);
    if (sensor < 0 || speed < 0)
        return;
    goal->drop = cm_grow(reader->session, goal->drop, goal->drop_count, &goal->drop_room, sizeof *goal->drop);
    goal->drop[goal->drop_count][0] = sensor;
    goal->drop[goal->drop_count++][1] = speed;
}

void cm_read_drop_rows(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    if (cm_need_list(reader, node, key->name))
        for (const cm_node *item = node->first; item; item = item->next)
            drop_row(reader, item);
}

/* Columns in error by the same share each, independently: Frobenius size share·sqrt(columns). */
static double planes_in_use(const cm_case *c)
{
    int count = 0;
    for (int j = 0; j < c->plane_count; j++)
        count += !cm_plane_is_held(c, j);
    return count;
}

static const char *past_blanks(const char *text)
{
    return text + strspn(text, " \t");
}

void cm_read_influence_error(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    (void)record;
    const char *text = cm_scalar(reader, node, "a plain number, or text such as 5 % each,");
    double value = 0;
    const char *end = text ? cm_number_read(text, &value) : NULL;
    const char *rest = end ? past_blanks(end) : NULL;
    if (!text)
        return;
    bool each = rest && *rest == '%' && !strcmp(past_blanks(rest + 1), "each");
    if (!rest || (*rest && !each) || !isfinite(value))
        cm_wrong(reader, &node->place, "%s cannot be '%s'; write a plain number such as 0.05, or '5 %% each'",
                 key->name, text);
    else if (value < 0 || value > 1e30)
        cm_wrong(reader, &node->place, "%s must be 0 or more (1e30 at most), not '%s'", key->name, text);
    else
        reader->c->goal.influence_error = each ? value / 100 * sqrt(planes_in_use(reader->c)) : value;
}
