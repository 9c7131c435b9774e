/* SPDX-License-Identifier: MIT */
/* Probe pairs as pairs of rows of a problem.
 *
 * Two probes at the angles α1, α2, counted in the direction of rotation, read (phase lead)
 *     p_k = F exp(-i α_k) + B exp(i α_k)
 * of an orbit whose forward circle has the radius |F|, whose backward circle has |B|; half its major axis is |F| + |B|.
 * (A point that moves as F exp(iωt) + conj(B) exp(-iωt) in the plane of the probes, seen along α_k.) Solved for F and B:
 *     F = (p_1 exp(iα2) - p_2 exp(iα1)) / D,   B = (p_2 exp(-iα1) - p_1 exp(-iα2)) / D,   D = 2i sin(α2 - α1). */
#include "case/arrays.h"

#include <math.h>

static double complex turned(double angle)
{
    return cos(angle) + sin(angle) * _Complex_I;
}

static void fill_mix(double first, double second, cm_pair *pair)
{
    double complex d = 2 * sin(second - first) * _Complex_I;
    pair->mix[0] = turned(second) / d;
    pair->mix[1] = -turned(first) / d;
    pair->mix[2] = -turned(-second) / d;
    pair->mix[3] = turned(-first) / d;
}

static bool is_dropped(const cm_case *c, int sensor, int speed)
{
    for (int d = 0; d < c->goal.drop_count; d++)
        if (c->goal.drop[d][0] == sensor && c->goal.drop[d][1] == speed)
            return true;
    return false;
}

static cm_pair pair_of(const cm_case *c, const cm_orbit_row *orbit)
{
    const cm_probe_pair *p = &c->pairs[orbit->pair];
    cm_pair pair = {.limit = p->limit[orbit->speed], .parts = orbit->axis == CM_ORBIT_FORWARD ? 1 : 2};
    pair.forward = c->row_of[p->sensor[0] + c->sensor_count * orbit->speed];
    pair.backward = c->row_of[p->sensor[1] + c->sensor_count * orbit->speed];
    bool counts = isfinite(pair.limit) && !is_dropped(c, p->sensor[0], orbit->speed) &&
                  !is_dropped(c, p->sensor[1], orbit->speed);
    pair.weight = counts ? c->speeds[orbit->speed].weight / pair.limit : 0;
    fill_mix(c->sensors[p->sensor[0]].angle, c->sensors[p->sensor[1]].angle, &pair);
    return pair;
}

static bool read_anywhere(const cm_case *c, int sensor, int speed)
{
    return c->row_of[sensor + c->sensor_count * speed] >= 0;
}

/* A pair of which only one sensor was read at a speed is no row there. */
static void note_half(cm_session *session, const cm_case *c, const cm_probe_pair *pair, int speed)
{
    bool first = read_anywhere(c, pair->sensor[0], speed), second = read_anywhere(c, pair->sensor[1], speed);
    if (first != second)
        cm_report(session, CM_NOTE, &pair->place,
                  "the pair '%s' is left out at '%s': '%s' was never read there", pair->id,
                  c->speeds[speed].id, c->sensors[pair->sensor[first ? 1 : 0]].id);
}

bool cm_put_pairs(cm_session *session, const cm_case *c, cm_problem *p)
{
    bool limited = false;
    cm_pair *pairs = CM_NEW(session, c->orbit_count, cm_pair);
    for (int k = 0; k < c->orbit_count; k++) {
        pairs[k] = pair_of(c, &c->orbits[k]);
        limited |= pairs[k].weight > 0;
    }
    for (int k = 0; k < c->pair_count; k++)
        for (int s = 0; s < c->speed_count; s++)
            note_half(session, c, &c->pairs[k], s);
    p->pair_count = c->orbit_count;
    p->pairs = pairs;
    return limited;
}
