/* SPDX-License-Identifier: MIT */
/* Operating states: speeds that have the influence coefficients of another. */
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

void cm_read_state_of(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_key to_id = *key;
    cm_speed *speed = record;
    to_id.offset = 0;
    cm_read_id(reader, &to_id, node, &speed->state_of);
    speed->state_place = node->place;
}

static void find_root(cm_reader *reader, cm_speed *speed)
{
    cm_case *c = reader->c;
    int root = cm_refer(reader, &reader->speeds, "speed", speed->state_of, &speed->state_place);
    if (root < 0)
        return;
    if (c->speeds[root].state_of)
        cm_wrong(reader, &speed->state_place,
                 "'%s' is itself a state with the coefficients of '%s'; name a speed that has its own",
                 speed->state_of, c->speeds[root].state_of);
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
