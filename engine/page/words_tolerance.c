/* SPDX-License-Identifier: MIT */
/* The page of `tolerance`: what is permitted, where, what was reached, and what a report should hold. */
#include "page/start_common.h"
#include "base/constants.h"

#include "standards/permissible.h"
#include "standards/zones.h"

#include <math.h>

static const char *gmm(cm_session *session, double unbalance)
{
    return cm_digits(session, unbalance / CM_GRAM_MILLIMETRE, 4);
}

static void say_whole(cm_document *d, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    cm_section(d, "PERMISSIBLE RESIDUAL UNBALANCE");
    cm_say(
        d, CM_PLAIN, "The whole rotor: %s g mm (grade G%s, %s kg at %s r/min; %s µm times the rotor's mass).",
        gmm(d->session, t->value), cm_digits(d->session, t->grade, 3), cm_digits(d->session, t->mass, 5),
        cm_digits(d->session, t->omega * 30 / CM_PI, 6), cm_digits(d->session, t->value / t->mass * 1e6, 3));
}

static void table_bearings(cm_document *d, const cm_job *job)
{
    static const cm_column columns[] = {
        {"bearing", NULL, false, true, 0},    {"permissible", "g mm", true, false, 0},
        {"share", NULL, true, false, 0},      {"by statics", NULL, true, false, 0},
        {"static load", "N", true, false, 0}, {"mass/speed rule", "g mm", true, false, 0}};
    const cm_tolerance *t = job->tolerance;
    if (!t->bearings) {
        cm_say(d, CM_CAREFUL, "The case names no bearings, so the value is not shared between them.");
        return;
    }
    cm_table *table = cm_table_open(d, 6, columns);
    for (int k = 0; k < t->bearings; k++) {
        const char *cells[] = {job->given->rotor.bearings[k].id,       gmm(d->session, t->bearing[k]),
                               cm_decimal(d->session, t->share[k], 3), cm_decimal(d->session, t->lever[k], 3),
                               cm_decimal(d->session, t->load[k], 0),  gmm(d->session, t->mass_speed[k])};
        cm_table_row(d, table, cells);
    }
}

static void say_arrangement(cm_document *d, const cm_tolerance *t)
{
    if (t->bearings == 2)
        cm_item(d, CM_PLAIN, "The centre of mass is %s.%s",
                t->outboard ? "beyond a bearing (outboard): shares stay between 0.3 and 1.3"
                            : "between the bearings (inboard): shares stay between 0.3 and 0.7",
                t->limited[0] || t->limited[1] ? " That limit decided here." : "");
    else if (t->bearings && isfinite(t->share[0]))
        cm_item(d, CM_CAREFUL,
                "With %d bearings the shares follow the static loads: our own rule, the standard speaks "
                "of two.",
                t->bearings);
    else if (t->bearings)
        cm_item(d, CM_CAREFUL,
                "With %d bearings statics do not tell the shares, and not every bearing has a "
                "`static_load` above 0.",
                t->bearings);
    if (isfinite(t->load_ratio) && fabs(t->load_ratio - 1) > 0.1)
        cm_item(d, CM_CAREFUL,
                "The static loads add up to %s times the weight of the rotor. One of them is wrong, or "
                "something else loads the bearings.",
                cm_digits(d->session, t->load_ratio, 3));
    cm_item(d, CM_PLAIN,
            "The mass/speed rule (6350 W/N, a constant eccentricity of 0.254 µm above 25,000 r/min) is "
            "stricter than most grades; use it where the contract asks for it.");
}

static void say_string(cm_document *d)
{
    cm_say(d, CM_PLAIN,
           "Of several rotors coupled to a string, each is judged by itself: a case of its own, with its own "
           "mass and its two bearings.");
}

static void say_no_planes(cm_document *d, const cm_job *job)
{
    const cm_tolerance *t = job->tolerance;
    if (t->bearings == 2) {
        cm_say(d, CM_CAREFUL, "Not told: no correction plane in use has a `position`.");
        return;
    }
    cm_say(
        d, CM_CAREFUL,
        "Not told: the values of planes follow by statics from those of two bearings, and the case names %s.",
        t->bearings ? cm_count_of(d->session, t->bearings, "bearing", "bearings") : "none");
    if (t->bearings > 2)
        say_string(d);
}

static void table_planes(cm_document *d, const cm_job *job)
{
    static const cm_column columns[] = {{"plane", NULL, false, true, 0},
                                        {"permissible", "g mm", true, false, 0},
                                        {"at its radius", NULL, true, false, 0},
                                        {"", NULL, false, false, 0}};
    const cm_tolerance *t = job->tolerance;
    bool any = false;
    for (int j = 0; j < t->planes; j++)
        any |= isfinite(t->plane[j]);
    if (t->planes)
        cm_section(d, "AT THE CORRECTION PLANES");
    if (t->planes && !any)
        say_no_planes(d, job);
    if (!any)
        return;
    cm_say(d, CM_PLAIN, "All planes together; no bearing passes its value at any angles.");
    cm_table *table = cm_table_open(d, 4, columns);
    for (int j = 0; j < t->planes; j++) {
        double mass = cm_user_kilograms(job, t->plane[j] / job->given->planes[j].radius);
        const char *cells[] = {
            job->given->planes[j].id, gmm(d->session, t->plane[j]),
            cm_format(d->session, "%s %s", cm_digits(d->session, mass, 3), job->given->mass_unit->name),
            t->overhung[j] ? "overhung" : ""};
        cm_table_row(d, table, cells);
    }
}

static void say_behaviour(cm_document *d, const cm_tolerance *t)
{
    cm_section(d, "RIGID OR FLEXIBLE");
    if (t->behaviour == CM_BEHAVIOUR_RIGID) {
        cm_say(d, CM_PLAIN,
               "The lowest resonance lies above service speed / 0.7: the rotor is treated as rigid.");
        return;
    }
    if (t->behaviour == CM_BEHAVIOUR_UNKNOWN)
        cm_say(d, CM_CAREFUL,
               "The case does not say where the rotor's lowest resonance lies (`rotor: "
               "{first_resonance}`). Should it be below service speed / 0.7, the rotor is flexible, "
               "the figures above are for low speed only, and these shares apply:");
    else
        cm_say(d, CM_CAREFUL,
               "A resonance lies below service speed / 0.7: the rotor is flexible. The figures above "
               "are the low-speed figure only; in service these shares apply:");
    for (const cm_flexible_share *row = CM_FLEXIBLE_SHARES; row->what; row++)
        cm_item(d, CM_PLAIN, "%s: %s %% of the whole, %s g mm.", row->what,
                cm_decimal(d->session, 100 * row->share, 0), gmm(d->session, row->share * t->value));
}

static void say_margin(cm_document *d, const cm_tolerance *t)
{
    bool above = t->resonance > t->omega;
    double asked = above ? t->margin_above : t->margin_below;
    if (isnan(asked) || isnan(t->margin))
        return;
    cm_section(d, "SEPARATION MARGIN");
    cm_say(d, t->margin >= asked ? CM_GOOD : CM_BAD,
           "The lowest resonance lies %s %% %s service speed; API 617 asks for %s %% at this amplification "
           "factor. "
           "Shaft vibration of a works test: at most %s µm pp.",
           cm_digits(d->session, t->margin, 3), above ? "above" : "below", cm_digits(d->session, asked, 3),
           cm_digits(d->session, t->vibration_limit * 1e6, 3));
}

static void say_no_residual(cm_document *d, const cm_job *job)
{
    static const char *const words[] = {
        [CM_UNJUDGED_NOTHING] = "",
        [CM_UNJUDGED_READINGS] = "the case holds no readings.",
        [CM_UNJUDGED_BEHAVIOUR] =
            "residual unbalance is read from vibration only where the rotor behaves rigidly, "
            "and the case does not tell where that is.",
        [CM_UNJUDGED_BEARINGS] =
            "what two planes hold is shared out by statics between two bearings, and the case "
            "names ",
        [CM_UNJUDGED_PLANES] = "no two correction planes have a `position` and a `radius`.",
        [CM_UNJUDGED_SPEED] =
            "no speed below 0.7 of the lowest resonance has readings and influence for two planes."};
    const cm_tolerance *t = job->tolerance;
    const char *why = words[t->reached.why];
    if (t->reached.why == CM_UNJUDGED_BEARINGS)
        why = cm_format(d->session, "%s%s.", why,
                        t->bearings ? cm_count_of(d->session, t->bearings, "bearing", "bearings") : "none");
    cm_say(d, CM_CAREFUL, "Not judged: %s", why);
}

static void say_reached(cm_document *d, const cm_job *job)
{
    static const struct {
        const char *words;
        cm_tone tone;
    } verdicts[] = {
        [CM_NOT_JUDGED] = {"not judged", CM_CAREFUL},
        [CM_KEPT] = {"within the permissible value, the error of the measurement included", CM_GOOD},
        [CM_UNDECIDED] = {"undecided: the permissible value lies inside the error of the measurement",
                          CM_CAREFUL},
        [CM_EXCEEDED] = {"over the permissible value, even with the error in its favour", CM_BAD}};
    const cm_tolerance *t = job->tolerance;
    const cm_residual *r = &t->reached;
    cm_section(d, "RESIDUAL UNBALANCE REACHED");
    if (r->speed < 0) {
        say_no_residual(d, job);
        return;
    }
    cm_say(d, verdicts[r->verdict].tone, "Verdict: %s. Grade reached: G%s, with the error G%s.",
           verdicts[r->verdict].words, cm_digits(d->session, r->grade, 3),
           cm_digits(d->session, r->grade_most, 3));
    for (int k = 0; k < 2; k++)
        cm_item(d, CM_PLAIN,
                "Bearing %s: %s g mm ± %s (holds 90 %%) of %s permitted; heavy spot %s degrees %s from the "
                "reference mark.",
                cm_short_name(d->session, job->given->rotor.bearings[k].id),
                gmm(d->session, cabs(r->unbalance[k])), gmm(d->session, r->radius[k]),
                gmm(d->session, t->bearing[k]),
                cm_degrees(d->session, cm_mass_angle_to_user(job->given, -1, r->unbalance[k]), 0),
                cm_sense(job->given));
    if (r->assumed)
        cm_item(d, CM_CAREFUL, "The error rests on an assumed scatter of the readings.");
    cm_item(d, CM_PLAIN,
            "The error holds the scatter of readings and influence only. Systematic errors (couplings, "
            "keys, tooling, run-out: ISO 21940-14) come on top and are yours to add.");
}

static void say_key(cm_document *d, const cm_case *c)
{
    static const char *const words[] = {
        [CM_KEY_UNSAID] =
            ("Which key convention was used? State it (`rotor: {key_convention: half-key | full-key | "
             "no-key}`): a shaft balanced with a half key and a coupling with a full key do not go "
             "together."),
        [CM_KEY_HALF] = "Key convention: half key.",
        [CM_KEY_FULL] =
            "Key convention: full key. Every part that joins the shaft must have been balanced alike.",
        [CM_KEY_NONE] = "Key convention: no key on this rotor."};
    cm_section(d, "KEYS (ISO 21940-32)");
    cm_say(d, c->rotor.key_convention == CM_KEY_UNSAID ? CM_CAREFUL : CM_PLAIN, "%s",
           words[c->rotor.key_convention]);
}

static void say_zones(cm_document *d, const cm_case *c)
{
    double figure[3];
    if (!c->zone)
        return;
    cm_section(d, "VIBRATION ZONES");
    if (cm_zone_figures(c, figure))
        cm_say(d, CM_PLAIN, "%s (%s): A/B %s (limit), B/C %s (alarm), C/D %s (trip) %s. [%s]", c->zone->name,
               c->zone->machines, cm_digits(d->session, figure[0], 3), cm_digits(d->session, figure[1], 3),
               cm_digits(d->session, figure[2], 3), c->zone->unit, c->zone->mark);
    cm_say(d, CM_CAREFUL, "%s", CM_ZONE_ADVICE);
}

void cm_words_residual(cm_document *d, const cm_job *job)
{
    say_whole(d, job);
    table_bearings(d, job);
    table_planes(d, job);
    say_reached(d, job);
}

cm_document *cm_words_tolerance(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "What counts as done: permissible unbalance and what was reached.");
    say_whole(d, job);
    table_bearings(d, job);
    say_arrangement(d, job->tolerance);
    table_planes(d, job);
    say_behaviour(d, job->tolerance);
    say_margin(d, job->tolerance);
    say_reached(d, job);
    say_zones(d, job->given);
    say_key(d, job->given);
    cm_words_report(d, job);
    cm_words_sources(d, cm_tolerance_sources(job));
    cm_words_cautions(d);
    return d;
}
