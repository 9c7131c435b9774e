/* SPDX-License-Identifier: MIT */
/* The page of `trial`: for each plane what to put on and where, what bounds it, and what to do when nothing
 * will do. */
#include "page/start_common.h"
#include "base/constants.h"
#include "model/levels.h"

#include <math.h>

static const double DEGREES = 180 / CM_PI;
static const double HIGH_SPEED = 6000 * CM_PI / 30; /* rad/s; chosen, no source */

static const char *mass_words(cm_session *session, const cm_job *job, double mass)
{
    return cm_format(session, "%s %s", cm_digits(session, cm_user_kilograms(job, mass), 3),
                     job->given->mass_unit->name);
}

static const char *place_words(cm_session *session, const cm_job *job, int plane, double complex direction)
{
    return cm_direction(session, job->given, plane, cm_mass_angle_to_user(job->given, plane, direction));
}

static const char *target_name(cm_session *session, const cm_job *job, const cm_trial *trial)
{
    return cm_short_name(session, trial->set < 0 ? job->given->planes[trial->plane].id
                                                 : job->given->sets[trial->set].id);
}

/* Where the mass goes: one line for a plane, one for each plane of a set. */
static void say_where(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    const char *why = cm_format(d->session, "opposite the estimated heavy spot (± %s degrees holds 90 %%)",
                                cm_decimal(d->session, trial->angle_radius * DEGREES, 0));
    if (trial->set < 0) {
        cm_say(d, CM_GOOD, "Put on %s at %s: %s.", mass_words(d->session, job, trial->mass),
               place_words(d->session, job, trial->plane, trial->direction), why);
        return;
    }
    cm_say(d, CM_GOOD, "Put on together, %s:", why);
    for (int k = 0; k < trial->part_count; k++)
        cm_item(
            d, CM_GOOD, "%s: %s at %s.",
            cm_short_name(d->session, job->given->planes[trial->parts[k].plane].id),
            mass_words(d->session, job, trial->parts[k].mass),
            place_words(d->session, job, trial->parts[k].plane, trial->direction * trial->parts[k].share));
}

/* How much, where nothing tells the place. */
static void say_how_much(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    if (trial->set < 0) {
        cm_say(d, CM_GOOD, "Put on at most %s. Nothing tells yet where the heavy spot is.",
               mass_words(d->session, job, trial->mass));
        return;
    }
    cm_say(d, CM_GOOD,
           "Put on together at most these, all turned by the same angle if you like. Nothing tells yet "
           "where the heavy spot is.");
    for (int k = 0; k < trial->part_count; k++)
        cm_item(d, CM_GOOD, "%s: %s at %s.",
                cm_short_name(d->session, job->given->planes[trial->parts[k].plane].id),
                mass_words(d->session, job, trial->parts[k].mass),
                place_words(d->session, job, trial->parts[k].plane, trial->parts[k].share));
}

static const char *speed_words(cm_session *session, const cm_job *job, double omega)
{
    return cm_format(session, "%s %s", cm_digits(session, omega / job->given->speed_unit->factor, 5),
                     cm_unit_words(job->given->speed_unit));
}

/* Which side of the resonance this case runs on; bands chosen. */
static void say_side(cm_document *d, const cm_job *job)
{
    double resonance = job->given->rotor.first_resonance, ratio = job->trials->omega / resonance;
    if (isnan(ratio))
        return;
    cm_item(d, CM_PLAIN, "Here: running speed %s, lowest resonance %s, so %s.",
            speed_words(d->session, job, job->trials->omega), speed_words(d->session, job, resonance),
            ratio < 0.7   ? "the first of the three"
            : ratio < 1.4 ? "near the second of the three, where the angle changes fast with speed"
                          : "the third of the three, unless a higher resonance is near");
}

static bool without_angle(const cm_trial *trial)
{
    return trial->possible && !trial->angle_known && trial->visible_row < 0;
}

/* What physics tells where the influence does not; once for all planes. */
static void say_reasoning(cm_document *d, const cm_job *job)
{
    bool needed = false;
    for (int i = 0; i < job->trials->count; i++)
        needed |= without_angle(&job->trials->items[i]);
    if (!needed)
        return;
    cm_section(d, "WHERE TO PUT IT WHILE NOTHING TELLS THE ANGLE");
    cm_item(d, CM_PLAIN,
            "How the high spot (where the shaft is farthest out) lies to the heavy spot: well below the "
            "resonance at the same place; at the resonance 90 degrees behind it, against rotation; far "
            "above it on the opposite side.");
    say_side(d, job);
    cm_item(d, CM_PLAIN,
            "So a trial mass opposite the high spot tends to help below the resonance, and one at the high "
            "spot far above it. This is a hint, no proof: only a displacement sensor shows the high "
            "spot, its own angle and the slow roll must be taken into account, and supports and other "
            "resonances shift it.");
    cm_item(d, CM_CAREFUL,
            "Count with the worst angle all the same: the mass may sit right on the heavy spot and add to "
            "it. If in doubt, begin with half. Take a place that is easy to reach and easy to read off.");
}

static void say_proposal(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    if (trial->angle_known) {
        say_where(d, job, trial);
    } else {
        say_how_much(d, job, trial);
        if (trial->visible_row >= 0)
            cm_item(d, CM_CAREFUL,
                    "The influence is known, but the readings are too small, or it is known too roughly, to "
                    "tell the angle. No angle is better than another; count with the worst.");
    }
    if (trial->visible_row < 0)
        cm_item(d, CM_CAREFUL,
                "The influence of this %s is not known: no alarm is guarded, and nobody can say "
                "beforehand whether this mass shows. Watch the readings on the way up and come down at "
                "the alarm. Let `check` judge the run: a reading should move by 30 %% or its phase by "
                "30 degrees. If not, the next trial may be larger once the influence is roughly known.",
                trial->set < 0 ? "plane" : "set");
}

static const char *piece_words(cm_session *session, const cm_job *job, const cm_trial_part *part)
{
    const cm_plane *plane = &job->given->planes[part->plane];
    const char *words = "";
    for (int k = 0; part->pieces && k < plane->piece_count; k++)
        if (part->pieces[k])
            words = cm_format(session, "%s%s%d x %s", words, *words ? " + " : "", part->pieces[k],
                              mass_words(session, job, plane->pieces[k].mass));
    return words;
}

static void say_pieces(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    bool listed = false, made = false;
    for (int k = 0; k < trial->part_count; k++) {
        const cm_trial_part *part = &trial->parts[k];
        const char *words = piece_words(d->session, job, part);
        listed |= job->given->planes[part->plane].piece_count > 0;
        made |= *words != 0;
        if (*words)
            cm_item(d, CM_PLAIN, "Of the pieces listed%s%s: %s, all at that place.",
                    trial->set < 0 ? "" : " for ",
                    trial->set < 0 ? "" : cm_short_name(d->session, job->given->planes[part->plane].id),
                    words);
    }
    if (listed && !made)
        cm_item(d, CM_CAREFUL,
                trial->set < 0 ? "No choice of up to four of the pieces listed lies between the bounds: the "
                                 "mass above has to be made."
                               : "The pieces listed were not found to make these masses in the set's ratio: "
                                 "they have to be made.");
}

/* What the bounds take for granted. */
static void say_state(cm_document *d, const cm_job *job)
{
    const cm_case *c = job->given;
    int count = c->has_now ? c->now.count : c->run_count ? c->runs[c->run_count - 1].masses.count : 0;
    if (count)
        cm_item(d, CM_CAREFUL, "This is in addition to what is on the rotor now (%s), which stays on.",
                cm_count_of(d->session, count, "mass", "masses"));
    if (job->influence)
        cm_item(d, CM_CAREFUL,
                "Only the speeds of the case are guarded. On the way up the rotor may pass others, a "
                "resonance among them.");
}

static void say_refusal(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    cm_say(d, CM_BAD, "No trial mass is both safe and visible: at most %s is safe, at least %s would show.",
           mass_words(d->session, job, trial->upper), mass_words(d->session, job, trial->lower));
    cm_say(d, CM_PLAIN, "Ways out:");
    if (trial->upper <= 0)
        cm_item(d, CM_BAD,
                "A bound is zero: a reading stands at its ceiling already, or the plane is full. Bring the "
                "machine down first.");
    if (trial->repeats > 0)
        cm_item(d, CM_PLAIN,
                "Repeat the runs: with %s runs of each state the scatter is low enough to see %s.",
                cm_digits(d->session, trial->repeats, 2), mass_words(d->session, job, trial->upper));
    for (int i = 0; i < trial->pair_count; i++)
        cm_item(d, CM_PLAIN, "Load two planes at once, equal masses on %s and %s, %s: %s to %s each.",
                cm_short_name(d->session, job->given->planes[trial->plane].id),
                cm_short_name(d->session, job->given->planes[trial->pairs[i].other].id),
                trial->pairs[i].opposed ? "on opposite sides" : "at the same angle from the reference mark",
                mass_words(d->session, job, trial->pairs[i].lower),
                mass_words(d->session, job, trial->pairs[i].upper));
    if (trial->correction_safe)
        cm_item(d, CM_PLAIN,
                "Take the correction itself as the trial: %s at %s. At that angle no reading passes its "
                "ceiling, as far as the influence is known; rules of thumb for masses of unknown effect are "
                "set aside.",
                mass_words(d->session, job, cabs(trial->correction)),
                place_words(d->session, job, trial->plane, trial->correction));
    if (trial->set >= 0)
        cm_item(
            d, CM_PLAIN,
            "These masses count for one unit of the set: each plane gets its ratio of them, at its ratio's "
            "angle.");
    if (trial->upper > 0 && trial->repeats <= 0 && !trial->pair_count && !trial->correction_safe)
        cm_item(d, CM_CAREFUL,
                "None was found: use another plane, a lower speed, or sensors that scatter less.");
}

static const char *bound_words(cm_session *session, const cm_job *job, const cm_trial_bound *bound)
{
    static const char *const plain[] = {[CM_BOUND_ALARM] = "",
                                        [CM_BOUND_LOAD] = "",
                                        [CM_BOUND_PERMISSIBLE] =
                                            "5 times the permissible unbalance of the bearing nearest to %s",
                                        [CM_BOUND_CAP] = "greatest mass of %s, less what is on it now",
                                        [CM_BOUND_CAP_FORCE] = "greatest force of %s at overspeed",
                                        [CM_BOUND_CHANGE] = "greatest change of %s"};
    static const char *const ceilings[] = {[CM_CEILING_ALARM] = "alarm",
                                           [CM_CEILING_TRIP] = "trip (no alarm given)",
                                           [CM_CEILING_ASSUMED] =
                                               "1.25 x the larger of limit and as-found (no alarm, no trip)"};
    if (bound->kind == CM_BOUND_ALARM)
        return cm_format(session, "%s stays below %s %s, its %s, at the worst angle",
                         cm_reading_name(session, job, bound->row),
                         cm_digits(session, cm_user_amplitude(job, bound->row, bound->ceiling), 3),
                         cm_unit_words(cm_sensor_of(job, bound->row)->unit), ceilings[bound->source]);
    if (bound->kind == CM_BOUND_LOAD)
        return cm_format(session, "force of 10 %% of the static load of bearing %s",
                         cm_short_name(session, job->given->rotor.bearings[bound->bearing].id));
    return cm_format(session, plain[bound->kind],
                     cm_short_name(session, job->given->planes[bound->plane].id));
}

/* The tightest bound of each kind. */
static void say_bounds(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    unsigned seen = 0;
    for (int i = 0; i < trial->bound_count; i++) {
        const cm_trial_bound *bound = &trial->bounds[i];
        if (seen & 1u << bound->kind)
            continue;
        seen |= 1u << bound->kind;
        cm_item(d, CM_PLAIN, "At most %s: %s.", mass_words(d->session, job, bound->mass),
                bound_words(d->session, job, bound));
    }
    if (trial->visible_row >= 0)
        cm_item(d, CM_PLAIN, "At least %s: it moves %s by 7 standard deviations of one reading%s.",
                mass_words(d->session, job, trial->lower),
                cm_reading_name(d->session, job, trial->visible_row),
                trial->assumed_scatter ? " (assumed scatter)" : "");
    if (trial->untold && trial->visible_row >= 0)
        cm_item(d, CM_CAREFUL, "%s of unknown influence: their alarms are not guarded.",
                cm_count_of(d->session, trial->untold, "reading has", "readings have"));
}

/* Where the load rule is used, where it fails. */
static void say_load_rule(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    bool overhung = false, used = false;
    for (int k = 0; k < trial->part_count; k++) {
        overhung |= trial->parts[k].overhung;
        if (trial->parts[k].unloaded)
            cm_item(d, CM_CAREFUL,
                    "The bearing nearest to %s carries next to nothing, so the 10 %% rule says nothing "
                    "about it and is left out there.",
                    cm_short_name(d->session, job->given->planes[trial->parts[k].plane].id));
    }
    for (int i = 0; i < trial->bound_count; i++)
        used |= trial->bounds[i].kind == CM_BOUND_LOAD;
    if (used)
        cm_item(
            d, overhung ? CM_CAREFUL : CM_PLAIN,
            "The 10 %% rule is common practice for loaded bearings at moderate speed. It says nothing for "
            "unloaded bearings, and for overhung planes%s and at high speed%s it can allow too "
            "much or less than can be seen.",
            overhung ? " such as here" : "", job->trials->omega > HIGH_SPEED ? " such as here" : "");
}

static void say_part_hazard(cm_document *d, const cm_job *job, const cm_trial_part *part)
{
    const char *id = cm_short_name(d->session, job->given->planes[part->plane].id);
    if (isnan(part->force))
        cm_item(d, CM_CAREFUL,
                "Force and energy when it comes loose are not known: %s has no `radius`, or the case no "
                "speed. Work them out before anything turns.",
                id);
    else
        cm_item(d, CM_CAREFUL,
                "At overspeed (%s%s) %s on %s pulls with %s N, leaves at %s m/s when it comes loose, and "
                "carries %s J then.",
                speed_words(d->session, job, job->trials->overspeed),
                job->trials->overspeed_assumed ? ", assumed: 1.1 x the highest speed of the case" : "",
                mass_words(d->session, job, part->mass), id, cm_decimal(d->session, part->force, 0),
                cm_decimal(d->session, part->rim_speed, 0), cm_decimal(d->session, part->energy, 0));
}

static void say_trial(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    cm_section(d, trial->set < 0 ? "TRIAL MASS ON %s" : "TRIAL MASSES ON THE SET %s",
               target_name(d->session, job, trial));
    (trial->possible ? say_proposal : say_refusal)(d, job, trial);
    if (trial->possible) {
        say_pieces(d, job, trial);
        say_state(d, job);
    }
    cm_say(d, CM_PLAIN, trial->set < 0 ? "What bounds it:" : "What bounds it, for a ratio of 1:");
    say_bounds(d, job, trial);
    say_load_rule(d, job, trial);
    for (int k = 0; k < trial->part_count; k++)
        say_part_hazard(d, job, &trial->parts[k]);
}

/* A machine that stands over an alarm is brought down before anything is tried on it. */
static void say_alarms(cm_document *d, const cm_job *job)
{
    const cm_case *c = job->given;
    int last = c->run_count - 1;
    for (int i = 0; last >= 0 && i < c->runs[last].reading_count; i++) {
        const cm_reading *reading = &c->runs[last].readings[i];
        const cm_sensor *sensor = &c->sensors[reading->sensor];
        double level = cm_level_shown(reading), alarm = sensor->alarm[reading->speed];
        if (level > alarm)
            cm_say(
                d, CM_BAD,
                "%s at %s read %s %s in the last run, over its alarm of %s. Bring it down before a trial, "
                "with "
                "known influence or at a lower speed; no trial mass below is meant for a machine in alarm.",
                cm_short_name(d->session, sensor->id),
                cm_short_name(d->session, c->speeds[reading->speed].id),
                cm_digits(d->session, level / sensor->unit->factor, 3), cm_unit_words(sensor->unit),
                cm_digits(d->session, alarm / sensor->unit->factor, 3));
    }
}

cm_document *cm_words_trial(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job,
                  "The next trial mass: how large, where, and what bounds it. One plane or set at a time.");
    say_alarms(d, job);
    for (int i = 0; i < job->trials->count; i++)
        say_trial(d, job, &job->trials->items[i]);
    say_reasoning(d, job);
    cm_words_angles(d, job->given);
    cm_words_sources(d, cm_trial_sources());
    cm_words_cautions(d);
    return d;
}
