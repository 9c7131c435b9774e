/* SPDX-License-Identifier: MIT */
/* What no mass can cure between operating states: as a tree and in words. */
#include "page/load_range.h"

#include "page/phrases.h"
#include "page/words.h"

#include <math.h>

enum { MOST_LISTED = 8 };

static double user(const cm_job *job, const cm_state_floor *floor, double value)
{
    return cm_user_amplitude(job, floor->row[0], value);
}

/* ---- tree ---- */

static void add_states(cm_session *session, cm_node *map, const char *key, const cm_job *job,
                       const cm_state_floor *floor, bool clashing)
{
    cm_node *list = cm_node_add_list(session, map, key);
    for (int k = 0; k < floor->count; k++)
        if (!clashing || floor->clashes[k])
            cm_node_add_text(session, list, NULL, cm_speed_of(job, floor->row[k])->id);
}

static void add_floor(cm_session *session, cm_node *list, const cm_job *job, const cm_state_floor *floor)
{
    cm_node *map = cm_node_add_map(session, list, NULL);
    cm_node_add_text(session, map, "sensor", cm_sensor_of(job, floor->row[0])->id);
    cm_node_add_text(session, map, "unit", cm_sensor_of(job, floor->row[0])->unit->name);
    cm_node_add_number(session, map, "not_below", user(job, floor, floor->value));
    cm_node_add_number(session, map, "bound", user(job, floor, floor->bound));
    cm_node_add_boolean(session, map, "moved_by_masses", floor->moves);
    add_states(session, map, "states", job, floor, false);
    add_states(session, map, "clash", job, floor, true);
}

static void add_alone(cm_session *session, cm_node *map, const cm_job *job)
{
    cm_node *list = cm_node_add_list(session, map, "alone");
    for (int s = 0; s < job->given->speed_count; s++) {
        if (isnan(job->load_range->alone[s]))
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_node_add_text(session, entry, "speed", job->given->speeds[s].id);
        cm_node_add_number(session, entry, "value", job->load_range->alone[s]);
    }
}

static void add_together(cm_session *session, cm_node *map, const cm_job *job)
{
    const cm_load_range *range = job->load_range;
    cm_node *together = cm_node_add_map(session, map, "together");
    cm_node_add_number(session, together, "value", range->together);
    cm_node_add_number(session, together, "bound", range->together_bound);
    cm_node *list = cm_node_add_list(session, together, "held_up_by");
    for (int i = 0; i < job->problem->rows; i++) {
        if (!(range->share[i] > 1e-6))
            continue;
        cm_node *entry = cm_node_add_map(session, list, NULL);
        cm_tree_row(session, entry, job, i);
        cm_node_add_number(session, entry, "share", range->share[i]);
    }
}

void cm_tree_load_range(cm_session *session, cm_node *tree, const cm_job *job)
{
    if (!job->load_range)
        return;
    cm_node *map = cm_node_add_map(session, tree, "load_range");
    cm_node *list = cm_node_add_list(session, map, "readings");
    for (int k = 0; k < job->load_range->count; k++)
        add_floor(session, list, job, &job->load_range->floors[k]);
    add_together(session, map, job);
    add_alone(session, map, job);
}

/* ---- words ---- */

static const char *states_words(cm_session *session, const cm_job *job, const cm_state_floor *floor,
                                bool clashing)
{
    const char *words = "";
    int left = 0;
    for (int k = 0; k < floor->count; k++)
        left += !clashing || floor->clashes[k];
    for (int k = 0; k < floor->count; k++) {
        if (clashing && !floor->clashes[k])
            continue;
        left--;
        const char *after = left > 1 ? ", " : left == 1 ? " and " : "";
        words = cm_format(session, "%s%s%s", words,
                          cm_short_name(session, cm_speed_of(job, floor->row[k])->id), after);
    }
    return words;
}

/* Least limit of the reading over its states, as the user counts it; NAN: none. */
static double least_limit(const cm_job *job, const cm_state_floor *floor)
{
    double least = NAN;
    for (int k = 0; k < floor->count; k++)
        least = fmin(least, cm_user_limit(job, floor->row[k]));
    return least;
}

static void say_floor(cm_document *d, const cm_job *job, const cm_state_floor *floor)
{
    const char *sensor = cm_short_name(d->session, cm_sensor_of(job, floor->row[0])->id);
    const char *unit = cm_unit_words(cm_sensor_of(job, floor->row[0])->unit);
    double limit = least_limit(job, floor), value = user(job, floor, floor->value);
    const char *against =
        isnan(limit) ? ""
                     : cm_format(d->session, "; its limit is %s %s", cm_digits(d->session, limit, 4), unit);
    if (floor->moves)
        cm_item(d, value > limit ? CM_BAD : CM_PLAIN,
                "Between %s %s cannot be below %s %s, whatever the masses%s.",
                states_words(d->session, job, floor, true), sensor, cm_digits(d->session, value, 4), unit,
                against);
    else
        cm_item(d, value > limit ? CM_BAD : CM_PLAIN, "%s stays at up to %s %s: no plane in use moves it%s.",
                sensor, cm_digits(d->session, value, 4), unit, against);
}

/* Worst first by what is left over the limit, or by size. */
static double weight_of(const cm_job *job, const cm_state_floor *floor)
{
    double limit = least_limit(job, floor), value = user(job, floor, floor->value);
    return isnan(limit) ? value : value / limit;
}

static void say_worst(cm_document *d, const cm_job *job)
{
    const cm_load_range *range = job->load_range;
    unsigned char *said = CM_NEW(d->session, range->count, unsigned char);
    for (int n = 0; n < range->count && n < MOST_LISTED; n++) {
        int worst = -1;
        for (int k = 0; k < range->count; k++)
            if (!said[k] &&
                (worst < 0 || weight_of(job, &range->floors[k]) > weight_of(job, &range->floors[worst])))
                worst = k;
        said[worst] = 1;
        say_floor(d, job, &range->floors[worst]);
    }
}

static void say_together(cm_document *d, const cm_job *job)
{
    const cm_load_range *range = job->load_range;
    const char *alone = "", *comma = "";
    if (isnan(range->together))
        return;
    for (int s = 0; s < job->given->speed_count; s++) {
        if (isnan(range->alone[s]))
            continue;
        alone = cm_format(d->session, "%s%s%s %s", alone, comma,
                          cm_short_name(d->session, job->given->speeds[s].id),
                          cm_digits(d->session, range->alone[s], 3));
        comma = ", ";
    }
    cm_item(d, CM_PLAIN,
            "Largest weighted reading that these planes can reach: all states together %s; each alone: %s.",
            cm_digits(d->session, range->together, 3), alone);
}

void cm_words_load_range(cm_document *d, const cm_job *job)
{
    if (!job->load_range)
        return;
    cm_section(d, "WHAT NO MASS CAN CURE BETWEEN OPERATING STATES");
    say_worst(d, job);
    say_together(d, job);
    cm_say(d, CM_PLAIN,
           "Masses move a reading alike in all states that share its coefficients; what sets the states "
           "apart stays. "
           "Where it is too much, find its cause (heat, load, alignment, clearances) before adding mass.");
}
