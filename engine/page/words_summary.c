/* SPDX-License-Identifier: MIT */
/* The summary of `solve`: worst reading before and after, what the answer is, and its proof in words. */
#include "page/words.h"

#include <math.h>

typedef struct worst {
    int row;      /* -1: none */
    double ratio; /* to its limit, or the amplitude where no limit counts */
} worst;

/* What rounding leaves of a reading that is cancelled: shown as 0. */
static const double NOTHING_LEFT = 1e-9;

static bool has_limits(const cm_job *job)
{
    for (int i = 0; i < job->problem->rows; i++)
        if (job->problem->weight[i] > 0 && !isnan(cm_user_limit(job, i)))
            return true;
    return false;
}

typedef enum moment { BEFORE, STANDING, AFTER } moment;

static bool reading_at(const cm_job *job, int row, moment when, double complex *reading)
{
    if (when == BEFORE)
        return cm_before(job, row, reading);
    if (when == STANDING)
        return cm_standing(job, row, reading);
    *reading = cm_after(job, row);
    return cm_is_predicted(job, row);
}

/* The counted reading that is worst against its limit (without limits: the largest). */
static worst find_worst(const cm_job *job, moment when, bool limits)
{
    worst found = {-1, 0};
    for (int i = 0; i < job->problem->rows; i++) {
        double complex reading;
        if (job->problem->weight[i] <= 0 || !reading_at(job, i, when, &reading))
            continue;
        double ratio = cm_level(job, i, reading) / (limits ? cm_user_limit(job, i) : 1);
        if (ratio > found.ratio || found.row < 0)
            found = (worst){i, ratio};
    }
    return found;
}

static void say_worst(cm_document *d, const cm_job *job, moment when, bool limits)
{
    static const char *const words[] = {
        [BEFORE] = "before", [STANDING] = "with the masses that are on now", [AFTER] = "after"};
    worst w = find_worst(job, when, limits);
    if (w.row < 0)
        return;
    double complex reading;
    reading_at(job, w.row, when, &reading);
    double level = cm_level(job, w.row, reading);
    if (when == AFTER && w.ratio < NOTHING_LEFT * find_worst(job, BEFORE, limits).ratio) {
        cm_item(d, limits ? CM_GOOD : CM_PLAIN, "Worst reading after: all are predicted to be 0.");
        return;
    }
    const char *unit = cm_unit_words(cm_sensor_of(job, w.row)->unit);
    const char *against = "";
    if (limits)
        against = cm_format(d->session, ", %s times its limit of %s %s", cm_digits(d->session, w.ratio, 3),
                            cm_digits(d->session, cm_user_limit(job, w.row), 4), unit);
    cm_item(d,
            limits && w.ratio > 1 ? CM_BAD
            : limits              ? CM_GOOD
                                  : CM_PLAIN,
            "Worst reading %s: %s, %s %s%s.", words[when], cm_reading_name(d->session, job, w.row),
            cm_digits(d->session, level, 3), unit, against);
}

static int count_over(const cm_job *job)
{
    int over = 0;
    for (int i = 0; i < job->problem->rows; i++)
        over += cm_is_predicted(job, i) &&
                cm_level(job, i, cm_after(job, i)) > cm_user_limit(job, i) * (1 + 1e-9);
    return over;
}

/* What the value of each objective is, in words; `limits`: readings count in parts of their limits. */
static const char *value_words(cm_objective goal, bool limits)
{
    static const char *const words[][2] = {
        [CM_LEAST_SQUARES] =
            {"root of the sum of squares of the weighted readings",
             "root of the sum of squares of the readings, each in parts of its limit and weighted"},
        [CM_MIN_MAX] = {"largest weighted reading", "largest reading in parts of its limit, weighted"},
        [CM_LEAST_MASS] = {"total mass", "total mass"},
        [CM_LEAST_CHANGE] = {"total mass to be changed", "total mass to be changed"},
        [CM_WORST_CASE] = {"largest weighted root of squares over all errors of the influence",
                           "largest weighted root of squares over all errors of the influence"},
        [CM_EXPECTED] = {"expected root of the weighted sum of squares",
                         "expected root of the weighted sum of squares"},
        [CM_CONFIDENCE] = {"distance to the limits in standard deviations",
                           "distance to the limits in standard deviations"},
    };
    return words[goal][limits];
}

static const char *unit_of(cm_session *session, const cm_job *job, cm_objective goal)
{
    bool in_mass = goal == CM_LEAST_MASS || goal == CM_LEAST_CHANGE;
    return in_mass ? cm_format(session, " %s", job->given->mass_unit->name) : "";
}

/* The second objective: what it reaches among the answers that are nearly as good. */
static void say_then(cm_document *d, const cm_job *job, bool limits)
{
    const cm_answer *a = job->answer;
    cm_objective goal = job->problem->second;
    const char *unit = unit_of(d->session, job, goal);
    bool proven = a->then_gap <= 1e-8;
    if (isnan(a->then_value))
        cm_item(d, CM_CAREFUL,
                "No second answer: the limits are not kept by masses within %s %% of the best.",
                cm_digits(d->session, 100 * job->problem->within, 3));
    else
        cm_item(d, proven ? CM_PLAIN : CM_CAREFUL,
                "Of all masses within %s %% of that best, none do better than %s%s (%s); these reach %s%s%s.",
                cm_digits(d->session, 100 * job->problem->within, 3),
                cm_digits(d->session, cm_user_value(job, goal, a->then_bound), 4), unit,
                value_words(goal, limits), cm_digits(d->session, cm_user_value(job, goal, a->then_value), 4),
                unit, proven ? "" : ". That proof is not closed");
}

static void say_proof(cm_document *d, const cm_job *job, bool limits)
{
    cm_objective goal = job->problem->objective;
    bool then = job->problem->then && !isnan(job->answer->then_best);
    const char *unit = unit_of(d->session, job, goal);
    bool proven = (then ? job->answer->then_best_gap : job->answer->gap) <= 1e-8;
    double reached = job->answer->gap > 0 ? job->answer->value : job->answer->bound;
    cm_item(d, proven ? CM_PLAIN : CM_CAREFUL,
            "No masses on these planes can do better than %s%s (%s); these reach %s%s%s.",
            cm_digits(d->session, cm_user_objective(job, job->answer->bound), 4), unit,
            value_words(goal, limits), cm_digits(d->session, cm_user_objective(job, reached), 4), unit,
            !proven ? ". The proof of optimum is not closed"
            : then  ? ", which leaves room for a second objective"
                    : ": the best possible with these planes");
    if (then)
        say_then(d, job, limits);
}

static void say_limits(cm_document *d, const cm_job *job)
{
    int over = count_over(job) + cm_orbits_over(job);
    if (over == 0)
        cm_item(d, CM_GOOD, "Every reading that has a limit is predicted to end within it.");
    else
        cm_item(d, CM_BAD, "%s predicted to end over the limit; see the tables below.",
                cm_count_of(d->session, over, "reading is", "readings are"));
    if (!job->spread || !isfinite(job->spread->within_all))
        return;
    bool doubtful = over == 0 && job->spread->within_all < 0.5;
    cm_item(d, doubtful ? CM_CAREFUL : CM_PLAIN,
            "Probability that all counted readings end within their limits: %s %%%s.%s",
            cm_percent(d->session, job->spread->within_all),
            job->spread->assumed ? ", resting on assumed scatter" : "",
            doubtful ? " The prediction lies so close to the limits that at least one is likely to be passed."
                     : "");
}

/* Who reads no further than the masses must have seen what speaks against them. */
static void say_doubts(cm_document *d, const cm_job *job)
{
    int warnings = 0;
    for (int i = 0; job->findings && i < job->findings->count; i++) {
        const cm_finding *f = &job->findings->items[i];
        warnings += f->severity == CM_WARNING;
        if (f->severity == CM_ERROR)
            cm_item(d, CM_BAD, "%s", f->message);
    }
    if (warnings > 0)
        cm_item(d, CM_CAREFUL, "%s below, under warnings and notes: read before mounting.",
                cm_count_of(d->session, warnings, "warning", "warnings"));
}

/* Every counted reading was taken as the rotor stands, and none is over its limit. */
static bool stands_within(const cm_job *job)
{
    for (int i = 0; i < job->problem->rows; i++) {
        double complex reading;
        if (job->problem->weight[i] > 0 &&
            !(cm_standing(job, i, &reading) && cm_level(job, i, reading) <= cm_user_limit(job, i)))
            return false;
    }
    return cm_orbits_stand_within(job);
}

/* Whether anything is left to do is the first question after a correction was mounted. */
static void say_standing(cm_document *d, const cm_job *job)
{
    if (!stands_within(job))
        return;
    cm_item(d, CM_GOOD,
            "With the masses that are on now every counted reading was within its limit: nothing more has to "
            "be mounted.");
    unsigned char *lost = CM_NEW(d->session, job->problem->planes, unsigned char);
    bool any = false;
    for (int j = 0; j < job->problem->planes; j++)
        any |= lost[j] = cm_change_is_lost(job, j);
    if (any)
        cm_item(d, CM_CAREFUL,
                "The change on %s is no larger than its own uncertainty: mounting it may do nothing.",
                cm_planes_words(d->session, job->given, lost, 1));
}

void cm_words_summary(cm_document *d, const cm_job *job)
{
    bool limits = has_limits(job);
    const char *missed = cm_last_run_words(d->session, job);
    cm_section(d, "SUMMARY");
    if (missed)
        cm_item(d, CM_BAD, "%s", missed);
    say_worst(d, job, BEFORE, limits);
    cm_say_worst_orbit(d, job, false);
    say_worst(d, job, STANDING, limits);
    say_worst(d, job, AFTER, limits);
    cm_say_worst_orbit(d, job, true);
    if (limits) {
        say_limits(d, job);
        say_standing(d, job);
    }
    say_doubts(d, job);
    say_proof(d, job, limits);
}
