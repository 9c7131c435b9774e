/* SPDX-License-Identifier: MIT */
/* Operating states: speeds that have the influence coefficients of another. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>

void cm_read_state_of(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_key to_id = *key;
    cm_speed *speed = record;
    to_id.offset = 0;
    cm_read_id(reader, &to_id, node, &speed->state_of);
    speed->state_place = node->place;
}

/* Follows coefficients_of from a speed; true when that comes back to it. */
static bool is_circle(cm_reader *reader, const cm_speed *from)
{
    const cm_case *c = reader->c;
    const cm_speed *at = from;
    for (int steps = 0; steps <= c->speed_count && at->state_of; steps++) {
        int next = cm_index_find(&reader->speeds, at->state_of);
        if (next < 0)
            return false;
        at = &c->speeds[next];
        if (at == from)
            return true;
    }
    return false;
}

/* Influence coefficients change with the speed: beyond this share they are others, as for records. */
static const double SAME_SPEED = 0.02; /* an induction motor slips by about as much (our own figure) */

static bool is_far(const cm_speed *state, const cm_speed *root)
{
    return fabs(state->omega - root->omega) > SAME_SPEED * root->omega; /* false when one is not given */
}

static void find_root(cm_reader *reader, cm_speed *speed)
{
    cm_case *c = reader->c;
    int root = cm_refer(reader, &reader->speeds, "speed", speed->state_of, &speed->state_place);
    if (root < 0)
        return;
    if (is_circle(reader, speed))
        cm_wrong(reader, &speed->state_place,
                 "coefficients_of of '%s' leads in a circle back to it; name a speed that has coefficients "
                 "of its own",
                 speed->id ? speed->id : "this speed");
    else if (c->speeds[root].state_of)
        cm_wrong(reader, &speed->state_place,
                 "coefficients_of: '%s' is itself a state with the coefficients of '%s'; name a speed that "
                 "has its own",
                 speed->state_of, c->speeds[root].state_of);
    else if (is_far(speed, &c->speeds[root]))
        cm_wrong(reader, &speed->state_place,
                 "'%s' is at %.6g %s, '%s' at %.6g %s: a state has the coefficients of its speed only at the "
                 "same speed, within 2 %%",
                 speed->id ? speed->id : "", speed->omega / c->speed_unit->factor, c->speed_unit->name,
                 speed->state_of, c->speeds[root].omega / c->speed_unit->factor, c->speed_unit->name);
    else
        speed->root = root;
}

void cm_read_speeds(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_read_list(reader, key, node, record);
    for (int k = 0; k < reader->c->speed_count; k++)
        if (reader->c->speeds[k].state_of)
            find_root(reader, &reader->c->speeds[k]);
}
