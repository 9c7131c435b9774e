/* SPDX-License-Identifier: MIT */
/* The page of `trial`: for each plane what to put on and where, what bounds it, and what to do when nothing
 * will do. */
#include "page/start_common.h"

#include <math.h>

static const double DEGREES = 180 / 3.14159265358979323846;
static const double HIGH_SPEED = 6000 * 3.14159265358979323846 / 30; /* rad/s; chosen, no source */

static const char *mass_words(cm_session *session, const cm_job *job, double mass)
{
    return cm_format(session, "%s %s", cm_digits(session, cm_user_kilograms(job, mass), 3),
                     job->given->mass_unit->name);
}

static const char *place_words(cm_session *session, const cm_job *job, int plane, double complex direction)
{
    return cm_direction(session, job->given, plane, cm_mass_angle_to_user(job->given, plane, direction));
}

static void say_proposal(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    const char *mass = mass_words(d->session, job, trial->mass);
    if (trial->angle_known)
        cm_say(d, CM_GOOD, "Put on %s at %s: opposite the estimated heavy spot (± %s degrees holds 90 %%).",
               mass, place_words(d->session, job, trial->plane, trial->direction),
               cm_decimal(d->session, trial->angle_radius * DEGREES, 0));
    else
        cm_say(d, CM_GOOD,
               "Put on at most %s. Nothing tells where the heavy spot is: it may sit right there, so "
               "count with a rise. Take a place that is easy to reach and easy to read off.",
               mass);
    if (trial->visible_row < 0)
        cm_item(d, CM_CAREFUL,
                "The influence of this plane is not known: no alarm is guarded, and nobody can say "
                "beforehand whether this mass shows. Watch the readings on the way up and come down at "
                "the alarm. Let `check` judge the run: a reading should move by 30 %% or its phase by "
                "30 degrees. If not, the next trial may be larger once the influence is roughly known.");
}

static void say_pieces(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    const cm_plane *plane = &job->given->planes[trial->plane];
    const char *words = "";
    for (int k = 0; trial->pieces && k < plane->piece_count; k++)
        if (trial->pieces[k])
            words = cm_format(d->session, "%s%s%d x %s", words, *words ? " + " : "", trial->pieces[k],
                              mass_words(d->session, job, plane->pieces[k].mass));
    if (*words)
        cm_item(d, CM_PLAIN, "Of the pieces listed: %s, together.", words);
    else if (plane->piece_count)
        cm_item(d, CM_CAREFUL,
                "No set of up to four of the pieces listed lies between the bounds: the mass above has to "
                "be made.");
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
    if (trial->upper > 0 && trial->repeats <= 0 && !trial->pair_count && !trial->correction_safe)
        cm_item(d, CM_CAREFUL,
                "None was found: use another plane, a lower speed, or sensors that scatter less.");
}

static const char *bound_words(cm_session *session, const cm_job *job, const cm_trial_bound *bound)
{
    static const char *const plain[] = {[CM_BOUND_ALARM] = "",
                                        [CM_BOUND_LOAD] = "",
                                        [CM_BOUND_PERMISSIBLE] =
                                            "5 times the permissible unbalance of the nearest bearing",
                                        [CM_BOUND_CAP] = "greatest mass of the plane, less what is on it now",
                                        [CM_BOUND_CAP_FORCE] = "greatest force of the plane at overspeed",
                                        [CM_BOUND_CHANGE] = "greatest change of the plane"};
    static const char *const ceilings[] = {[CM_CEILING_ALARM] = "alarm",
                                           [CM_CEILING_TRIP] = "trip (no alarm given)",
                                           [CM_CEILING_ASSUMED] =
                                               "1.25 x the larger of limit and as-found (no alarm, no trip)"};
    if (bound->kind == CM_BOUND_ALARM)
        return cm_format(session, "%s stays below %s %s, its %s, at the worst angle",
                         cm_reading_name(session, job, bound->row),
                         cm_digits(session, cm_user_amplitude(job, bound->row, bound->ceiling), 3),
                         cm_unit_words(session, cm_sensor_of(job, bound->row)->unit),
                         ceilings[bound->source]);
    if (bound->kind == CM_BOUND_LOAD)
        return cm_format(session, "force of 10 %% of the static load of bearing %s",
                         cm_short_name(session, job->given->rotor.bearings[bound->bearing].id));
    return plain[bound->kind];
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
        cm_item(d, CM_CAREFUL, "%s of this plane's influence unknown: their alarms are not guarded.",
                cm_count_of(d->session, trial->untold, "reading has", "readings have"));
}

/* Where the load rule is used, where it fails. */
static void say_load_rule(cm_document *d, const cm_trial *trial, double omega)
{
    if (trial->unloaded)
        cm_item(d, CM_CAREFUL,
                "The bearing nearest to this plane carries next to nothing, so the 10 %% rule says nothing "
                "about it and is left out there.");
    for (int i = 0; i < trial->bound_count; i++)
        if (trial->bounds[i].kind == CM_BOUND_LOAD) {
            cm_item(d, trial->overhung ? CM_CAREFUL : CM_PLAIN,
                    "The 10 %% rule is common practice for loaded bearings at moderate speed. It says "
                    "nothing for "
                    "unloaded bearings, and for overhung planes%s and at high speed%s it can allow too "
                    "much or less than can be seen.",
                    trial->overhung ? " such as this one" : "", omega > HIGH_SPEED ? " such as here" : "");
            return;
        }
}

static void say_hazard(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    const cm_trials *trials = job->trials;
    if (isnan(trial->force)) {
        cm_item(d, CM_CAREFUL,
                "Force and energy when it comes loose are not known: the plane has no `radius`, or the case "
                "no speed. Work them out before anything turns.");
        return;
    }
    cm_item(d, CM_CAREFUL,
            "At overspeed (%s %s%s) %s pulls with %s N, leaves at %s m/s when it comes loose, and "
            "carries %s J then.",
            cm_digits(d->session, trials->overspeed / job->given->speed_unit->factor, 5),
            cm_unit_words(d->session, job->given->speed_unit),
            trials->overspeed_assumed ? ", assumed: 1.1 x the highest speed of the case" : "",
            mass_words(d->session, job, trial->possible ? trial->mass : trial->upper),
            cm_decimal(d->session, trial->force, 0), cm_decimal(d->session, trial->rim_speed, 0),
            cm_decimal(d->session, trial->energy, 0));
}

static void say_trial(cm_document *d, const cm_job *job, const cm_trial *trial)
{
    cm_section(d, "TRIAL MASS ON %s", cm_short_name(d->session, job->given->planes[trial->plane].id));
    (trial->possible ? say_proposal : say_refusal)(d, job, trial);
    if (trial->possible) {
        say_pieces(d, job, trial);
        say_state(d, job);
    }
    cm_say(d, CM_PLAIN, "What bounds it:");
    say_bounds(d, job, trial);
    say_load_rule(d, trial, job->trials->omega);
    say_hazard(d, job, trial);
}

cm_document *cm_words_trial(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "The next trial mass: how large, where, and what bounds it. One plane at a time.");
    for (int i = 0; i < job->trials->count; i++)
        say_trial(d, job, &job->trials->items[i]);
    cm_words_angles(d, job->given);
    cm_words_sources(d, cm_trial_sources());
    cm_words_cautions(d);
    return d;
}
