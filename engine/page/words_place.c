/* SPDX-License-Identifier: MIT */
/* The page of `place`: what is best and how sure that is, the fit list, how to count, the prediction, what mistakes cost. */
#include "page/words_place.h"

#include <math.h>

#define VALUE_ZERO 1e-12

static bool has_limits(const cm_job *job)
{
    for (int i = 0; i < job->problem->rows; i++)
        if (job->problem->weight[i] > 0 && isfinite(job->problem->limit[i]))
            return true;
    return false;
}

static const char *value_words(const cm_job *job)
{
    if (job->problem->objective == CM_MIN_MAX)
        return has_limits(job) ? "largest reading in parts of its limit, weighted"
                               : "largest weighted reading";
    return has_limits(job)
               ? "root of the sum of squares of the readings, each in parts of its limit and weighted"
               : "root of the sum of squares of the weighted readings";
}

/* ---- summary ---- */

/* 0 for what is nothing but rounding beside the present value. */
static double told_value(const cm_placement *p, double value)
{
    return value <= VALUE_ZERO * p->before ? 0 : value;
}

static void say_proof(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    const char *value = cm_digits(d->session, told_value(p, p->value), 4);
    if (p->proven && p->gap <= 1e-8)
        cm_item(d, CM_GOOD,
                "No other choice of these pieces and positions does better than %s (%s): the best possible.",
                value, value_words(job));
    else
        cm_item(d, CM_CAREFUL,
                "The best that was found: %s (%s). No choice of these pieces and positions does better than "
                "%s%s.",
                value, value_words(job), cm_digits(d->session, p->bound, 4),
                p->stopped     ? "; the search was stopped"
                : p->timed_out ? "; the time ran out before the gap was closed (--time allows more)"
                               : "");
}

static bool is_groove(const cm_job *job, int plane)
{
    return job->placement->shop->plane[plane].piece_angle > 0;
}

/* Planes with positions that were only sampled: what that means, and what helps. */
static void say_sampled(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    const char *names = "";
    bool drilled = false;
    for (int j = 0; p->partial && !p->proven && j < job->problem->planes; j++) {
        if (!p->partial[j] || is_groove(job, j))
            continue;
        names = cm_format(d->session, "%s%s%s", names, *names ? ", " : "",
                          cm_short_name(d->session, job->given->planes[j].id));
        drilled = drilled || p->shop->plane[j].drill_diameter > 0;
    }
    if (*names)
        cm_item(
            d, CM_CAREFUL,
            "%s: too many ways to fill the positions to try them all. Only a sample was searched, then "
            "pieces were moved and exchanged at one or two positions at a time while that helped: there may "
            "be better choices. More time (--time) helps, and so do a small `most` under `sites`, fewer "
            "sizes of pieces%s and more positions `blocked`.",
            names, drilled ? ", a coarser `step` of the drill" : "");
}

static void say_change(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (has_limits(job))
        cm_item(d, p->best.largest_ratio > 1 ? CM_BAD : CM_GOOD,
                "Largest reading against its limit: %s now, %s with these pieces.",
                cm_digits(d->session, p->before_ratio, 3), cm_digits(d->session, p->best.largest_ratio, 3));
    else
        cm_item(d, CM_PLAIN, "%s now, %s with these pieces.", cm_digits(d->session, p->before, 4),
                cm_digits(d->session, p->value, 4));
}

static void say_rounding(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (isnan(p->continuous))
        return;
    double continuous = told_value(p, p->continuous);
    cm_item(d, CM_PLAIN,
            "What rounding to real pieces cost: masses of any size at any angle would reach %s; these reach "
            "%s%s.",
            cm_digits(d->session, continuous, 4), cm_digits(d->session, told_value(p, p->value), 4),
            continuous > 0 && p->value < 10 * continuous
                ? cm_format(d->session, ", %s %% more",
                            cm_digits(d->session, 100 * (p->value / p->continuous - 1), 2))
                : "");
}

static void say_placed(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (!p->best.entry_count)
        cm_item(d, CM_GOOD, "Leave everything as it is: no choice of these pieces improves on it.");
    else
        cm_item(d, CM_PLAIN, "%s to handle on %s.",
                cm_count_of(d->session, p->best.pieces, "piece", "pieces"),
                cm_count_of(d->session, p->best.entry_count, "position", "positions"));
    say_proof(d, job);
    say_sampled(d, job);
    say_change(d, job);
    say_rounding(d, job);
}

void cm_words_place_summary(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    cm_section(d, "SUMMARY");
    if (p->outcome == CM_PLACED) {
        say_placed(d, job);
        return;
    }
    static const char *const words[] = {
        [CM_NOTHING_FITS] =
            "Nothing can be placed: every position is blocked or taken, no piece is in stock, none is light "
            "enough for the greatest mass of its plane, or there is nothing that could be taken away.",
        [CM_NOT_WITHIN] =
            "No choice of these pieces and positions keeps the greatest masses of the planes and the limits. "
            "Without `within_limits` the best choice is found all the same.",
        [CM_NOT_FOUND] =
            "The search ended before a choice was found that keeps the greatest masses and limits. --time "
            "allows more.",
    };
    cm_item(d, CM_BAD, "%s", words[p->outcome]);
    cm_item(d, CM_PLAIN, "The readings below are predicted for the rotor as it is now.");
}

/* ---- mistakes ---- */

static const char *slip_words(cm_session *session, const cm_job *job, const cm_slip *slip)
{
    static const char *const words[] = {[CM_SLIP_POSITION] = "one position off",
                                        [CM_SLIP_ANGLE] = "2 degrees off",
                                        [CM_SLIP_MASS] = "2 % too heavy or too light"};
    (void)job;
    return cm_format(session, "%s", words[slip->kind]);
}

/* As mistakes are told: limits count as 1 where none is given. */
static double ratio_as_listed(const cm_job *job)
{
    double most = job->placement->best.largest_ratio;
    for (int i = 0; !has_limits(job) && i < job->problem->rows; i++)
        most = fmax(most, job->problem->weight[i] * cabs(job->answer->r[i]));
    return most;
}

static void say_slips(cm_document *d, const cm_job *job)
{
    const cm_column columns[] = {{.head = "what goes wrong", .key = true, .most = 30},
                                 {.head = "worst plane"},
                                 {.head = "ratio then", .right = true},
                                 {.head = "all planes", .unit = "at worst", .right = true}};
    if (!job->placement->slips)
        return;
    cm_section(d, "WHAT MISTAKES IN FITTING COST");
    cm_say(d, CM_PLAIN,
           "Largest reading against its limit (where none has a limit, limits count as 1) with everything "
           "placed "
           "on a plane off by the same amount; as listed it is %s.",
           cm_digits(d->session, ratio_as_listed(job), 3));
    cm_table *table = cm_table_open(d, 4, columns);
    for (int i = 0; i < CM_SLIP_COUNT; i++) {
        const cm_slip *slip = &job->placement->slips[i];
        if (slip->plane < 0)
            continue;
        const char *cells[] = {slip_words(d->session, job, slip), job->given->planes[slip->plane].id,
                               cm_digits(d->session, slip->ratio, 3), cm_digits(d->session, slip->all, 3)};
        cm_table_row(d, table, cells);
    }
}

/* ---- others ---- */

static const char *entries_words(cm_session *session, const cm_job *job, const cm_fitting *fitting, int plane)
{
    const char *words = "";
    for (int i = 0; i < fitting->entry_count; i++) {
        const cm_fit_entry *entry = &fitting->entries[i];
        if (entry->plane == plane)
            words = cm_format(
                session, "%s%s%s %s", words, *words ? ", " : "",
                entry->site < 0
                    ? cm_format(
                          session, "%s deg",
                          cm_degrees(session, cm_mass_angle_to_user(job->given, plane, entry->direction), 1))
                    : cm_format(session, "%d:", entry->number),
                cm_fit_words(session, job, entry));
    }
    return words;
}

static void say_offer(cm_document *d, const cm_job *job, const cm_fitting *offer)
{
    const char *words = "";
    for (int j = 0; j < job->problem->planes; j++) {
        const char *own = entries_words(d->session, job, offer, j);
        if (*own)
            words = cm_format(d->session, "%s%s%s %s", words, *words ? "; " : "",
                              cm_short_name(d->session, job->given->planes[j].id), own);
    }
    cm_item(d, CM_PLAIN, "%s with %s: %s.", cm_digits(d->session, offer->value, 5),
            cm_count_of(d->session, offer->pieces, "piece", "pieces"), *words ? words : "nothing");
}

static void say_fewer(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (!p->fewer.x)
        return;
    cm_section(d, "FEWER PIECES FOR NEARLY THE SAME");
    cm_say(d, CM_PLAIN, "At most 2 %% above the best; there may be one with fewer still.");
    say_offer(d, job, &p->fewer);
}

static void say_offers(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (p->offer_count < 2)
        return;
    cm_section(d, "OTHER CHOICES NEARLY AS GOOD");
    cm_say(d, CM_PLAIN,
           p->offers_proven
               ? "The next best after %s with %s; nothing else comes before them. Number and pieces by plane:"
               : "The best others that were found, after %s with %s; there may be better ones. Number and "
                 "pieces by plane:",
           cm_digits(d->session, p->value, 5), cm_count_of(d->session, p->best.pieces, "piece", "pieces"));
    for (int i = 1; i < p->offer_count; i++)
        say_offer(d, job, &p->offers[i]);
}

static void say_search(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    cm_section(d, "HOW IT WAS FOUND");
    for (int j = 0; j < job->problem->planes; j++)
        if (p->sums && p->sums[j] > 0)
            cm_item(
                d, CM_PLAIN, "%s: %s different masses listed%s.",
                cm_short_name(d->session, job->given->planes[j].id), cm_decimal(d->session, p->sums[j], 0),
                p->partial[j] && is_groove(job, j)
                    ? ", a sample: angles in a groove are continuous; the bound takes any mass within reach"
                : p->partial[j]
                    ? ", a sample: there are too many to list; the bound takes any mass within reach"
                : p->windowed[j]
                    ? ", those near the best masses of any size; all others are excluded by proof"
                    : ", all that its positions and pieces can make within what it may carry");
    cm_item(d, CM_PLAIN,
            "All planes are searched at once, %s partial choices looked at; whatever was left out cannot be "
            "better than the bound.",
            cm_decimal(d->session, p->looked_at, 0));
}

/* ---- the page ---- */

static void say_overspeed(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    if (isnan(p->overspeed) || !p->best.entry_count)
        return;
    cm_say(d, CM_PLAIN, "Forces and rim speeds are for overspeed, %s %s%s.",
           cm_digits(d->session, p->overspeed / job->given->speed_unit->factor, 6),
           cm_unit_words(job->given->speed_unit),
           p->overspeed_assumed ? " (assumed: 1.1 times the highest speed of the case)" : "");
}

cm_document *cm_words_place(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "Which pieces go where, for all planes together.");
    if (job->placement->outcome == CM_PLACE_UNDETERMINED) {
        cm_words_undetermined(d, job);
        cm_words_cautions(d);
        return d;
    }
    cm_words_place_summary(d, job);
    cm_words_fit_lists(d, job);
    say_overspeed(d, job);
    cm_words_angles(d, job->given);
    cm_words_predicted(d, job);
    say_slips(d, job);
    cm_words_hand_work(d, job);
    say_fewer(d, job);
    say_offers(d, job);
    say_search(d, job);
    cm_words_findings(d, job, "WARNINGS AND NOTES", NULL);
    cm_words_cautions(d);
    return d;
}
