/* SPDX-License-Identifier: MIT */
/*
 * A trial mass m spread over the planes of its pattern: plane j carries
 * m |p_j|. Real pieces make it up, and force, rim speed and energy belong to
 * what each plane carries. In a set the ratio is kept: the first plane that
 * lists pieces settles m, and the others must make their share of it exactly.
 */
#include "starts/trial.h"

#include "standards/bearings.h"
#include "standards/hazard.h"

#include <math.h>

static cm_trial_part *spread_out(const cm_trial_case *t, const cm_trial_target *target, cm_trial *trial)
{
    cm_trial_part *parts = CM_NEW(t->session, t->c->plane_count + 1, cm_trial_part);
    for (int j = 0; j < t->c->plane_count; j++)
        if (target->share[j] != 0)
            parts[trial->part_count++] = (cm_trial_part){.plane = j, .share = target->share[j]};
    return parts;
}

static void forget_pieces(cm_trial_part *parts, int count)
{
    for (int k = 0; k < count; k++)
        parts[k].pieces = NULL;
}

/* The wanted mass as real pieces; all planes that list some have them, or none has. */
static void use_pieces(const cm_trial_case *t, cm_trial *trial, cm_trial_part *parts)
{
    double least = trial->lower, most = trial->upper, mass = trial->mass;
    for (int k = 0; k < trial->part_count; k++) {
        const cm_plane *plane = &t->c->planes[parts[k].plane];
        double share = cabs(parts[k].share), sum;
        if (!plane->piece_count)
            continue;
        parts[k].pieces = cm_trial_pieces(t->session, plane, least * share, most * share, mass * share, &sum);
        if (!parts[k].pieces) {
            forget_pieces(parts, trial->part_count);
            return;
        }
        least = most = mass = sum / share;
    }
    trial->mass = mass;
}

static void add_hazard(const cm_trial_case *t, double mass, cm_trial_part *part)
{
    const cm_plane *plane = &t->c->planes[part->plane];
    int bearing;
    bool overhung;
    part->mass = mass * cabs(part->share);
    part->force = cm_centrifugal_force(part->mass, plane->radius, t->overspeed);
    part->rim_speed = cm_rim_speed(plane->radius, t->overspeed);
    part->energy = cm_released_energy(part->mass, plane->radius, t->overspeed);
    part->unloaded = cm_trial_unloaded(t, part->plane);
    cm_nearest_bearing(t->c, plane->position, &bearing, &overhung);
    part->overhung = overhung;
}

void cm_trial_parts(const cm_trial_case *t, const cm_trial_target *target, cm_trial *trial)
{
    cm_trial_part *parts = spread_out(t, target, trial);
    if (trial->possible)
        use_pieces(t, trial, parts);
    for (int k = 0; k < trial->part_count; k++)
        add_hazard(t, trial->possible ? trial->mass : trial->upper, &parts[k]);
    trial->parts = parts;
}
