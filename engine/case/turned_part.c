/* SPDX-License-Identifier: MIT */
/* Parts that can be refitted against the rotor in steps, and runs in which they were. Positions are kept as whole
 * numbers of steps, so that turning is exact. */
#include "case/arrays.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>

enum { MOST_POSITIONS = 360 };

/* What an angle may be off a whole number of steps: 51.43 stands for a seventh. */
#define STEP_SLACK 0.002

static bool is_whole(double steps, double slack)
{
    return fabs(steps - round(steps)) <= slack;
}

void cm_read_turns_by(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    double step;
    if (!cm_number_of(reader, key->name, key->measure, key->range, node, &step))
        return;
    double positions = 360 / step;
    if (positions < 1.5 || positions > MOST_POSITIONS + 0.5 || !is_whole(positions, STEP_SLACK))
        cm_wrong(reader, &node->place,
                 "turns_by must divide the full turn into 2 to %d equal steps, such as 45 or 60",
                 MOST_POSITIONS);
    else
        ((cm_plane *)record)->turns = (int)round(positions);
}

static void read_one(cm_reader *reader, const cm_node *entry, cm_run *run)
{
    double degrees;
    int number = cm_refer_key(reader, &reader->planes, "plane", entry);
    if (!cm_number_of(reader, "turned", CM_MEASURE_DEGREES, CM_ANY_VALUE, entry, &degrees) || number < 0)
        return;
    const cm_plane *plane = &reader->c->planes[number];
    double steps = fmod(degrees, 360) * plane->turns / 360;
    if (plane->turns == 0)
        cm_wrong(reader, &entry->place, "the part at '%s' was turned, but the plane has no 'turns_by'",
                 entry->key);
    else if (!is_whole(steps, STEP_SLACK * fmax(1, fabs(steps))))
        cm_wrong(reader, &entry->place,
                 "'%s' turns by steps of %.6g degrees; %.6g is not a whole number of them", entry->key,
                 360.0 / plane->turns, degrees);
    else
        run->turned[number] = ((int)round(steps) + plane->turns) % plane->turns;
}

void cm_read_turned(cm_reader *reader, const cm_key *key, const cm_node *node, void *record)
{
    cm_run *run = record;
    bool any = false;
    if (!cm_need_map(reader, node, key->name))
        return;
    run->turned = CM_NEW(reader->session, reader->c->plane_count, int);
    for (const cm_node *entry = node->first; entry; entry = entry->next)
        read_one(reader, entry, run);
    for (int j = 0; j < reader->c->plane_count; j++)
        any = any || run->turned[j] != 0;
    if (!any)
        run->turned = NULL;
}

/* ---- as arrays ---- */

/* The user's steps count in the direction of mass angles, those of the arrays with rotation. */
static int with_rotation(const cm_case *c, int steps, int positions)
{
    return c->against_rotation && steps ? positions - steps : steps;
}

/* The readings of run k leave the fit. */
static void take_out(cm_session *session, const cm_case *c, int k, int *repeats, int *kept)
{
    for (int i = 0; i < c->row_count; i++) {
        size_t at = (size_t)i + (size_t)k * (size_t)c->row_count;
        kept[at] = repeats[at];
        repeats[at] = 0;
    }
    cm_report(session, CM_NOTE, &c->runs[k].place,
              "run '%s': a part was turned; its readings serve the comparison of positions (planes) only",
              c->runs[k].id);
}

void cm_put_turned(cm_session *session, const cm_case *c, int *repeats, cm_runs *runs)
{
    int *positions = CM_NEW(session, c->plane_count, int);
    int *steps = CM_NEW(session, (size_t)c->run_count * (size_t)c->plane_count, int);
    int *kept = CM_NEW(session, (size_t)c->row_count * (size_t)c->run_count, int);
    for (int j = 0; j < c->plane_count; j++) {
        positions[j] = c->planes[j].turns;
        if (positions[j] > 0)
            runs->positions = positions;
    }
    for (int k = 0; k < c->run_count; k++) {
        if (!c->runs[k].turned)
            continue;
        for (int j = 0; j < c->plane_count; j++)
            steps[k + j * c->run_count] = with_rotation(c, c->runs[k].turned[j], positions[j]);
        take_out(session, c, k, repeats, kept);
        runs->turned = steps;
        runs->turned_repeats = kept;
    }
}
