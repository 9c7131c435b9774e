/* SPDX-License-Identifier: MIT */
/* The page of `planes`: the best few sets of each size, what each further plane buys, and what repeats what. */
#include "page/words.h"

#include "base/number.h"
#include "countermass/planes.h"

#include <math.h>
#include <string.h>

/* Sets of one size that the page shows. */
#define SHOWN_OF_EACH 3
/* Columns that the names of a set may take. */
#define KEY_COLUMNS 27
#define LETTERS 26
/* Without a sensor the value may rise by this much and it still counts as hardly missed (our own figure). */
#define HARDLY_MISSED 1.05
/* Values this near the best one are called a near tie (our own figure). */
#define NEAR 0.01
/* A plane of which the others make more than this share is named (our own figure). */
#define NEARLY_MADE 0.1

static const char *names_of(cm_document *d, const cm_job *job, const cm_plane_set *set)
{
    return cm_parts_words(d->session, job->given, set->in);
}

static int part_count(const cm_job *job)
{
    return job->given->plane_count + job->given->set_count;
}

/* Names too long to stand beside each other in a table are cut until sets look alike: letters then. */
static bool by_letters(const cm_job *job)
{
    size_t length = 0;
    for (int j = 0; j < part_count(job); j++)
        length += strlen(cm_part_id(job->given, j)) + strlen(" + ");
    return length > KEY_COLUMNS && part_count(job) <= LETTERS;
}

/* "P1 + P2 + P5", or "A + B + E": for the table. */
static const char *sum_of(cm_document *d, const cm_job *job, const cm_plane_set *set)
{
    const char *sum = "";
    for (int j = 0; j < part_count(job); j++)
        if (set->in[j])
            sum = cm_format(d->session, "%s%s%s", sum, *sum ? " + " : "",
                            by_letters(job) ? cm_format(d->session, "%c", 'A' + j)
                                            : cm_short_name(d->session, cm_part_id(job->given, j)));
    return sum;
}

static void say_letters(cm_document *d, const cm_job *job)
{
    const char *words = "";
    for (int j = 0; j < part_count(job); j++)
        words = cm_format(d->session, "%s%s%c: %s", words, *words ? "; " : "", 'A' + j,
                          cm_short_name(d->session, cm_part_id(job->given, j)));
    if (by_letters(job))
        cm_say(d, CM_PLAIN, "%s.", words);
}

static void say_objective(cm_document *d, const cm_job *job)
{
    static const char *const words[] = {
        [CM_LEAST_SQUARES] =
            "value: root of the sum of squares of all readings, each over its limit where it has one",
        [CM_MIN_MAX] = "value: the worst reading, over its limit where it has one",
        [CM_LEAST_MASS] = "value: total mass that keeps every limit",
        [CM_LEAST_CHANGE] = "value: total change of mass that keeps every limit",
        [CM_WORST_CASE] = "value: readings in the worst case of wrong influence",
        [CM_EXPECTED] = "value: what the readings are expected to come to, uncertainty included",
        [CM_CONFIDENCE] = "value: distance of the readings from their limits in spreads; large is good",
    };
    cm_say(d, CM_PLAIN,
           "Sets of correction planes compared; planes outside a set keep what is on the rotor now. Readings "
           "are weighted "
           "as in the case; %s.",
           words[job->problem->objective]);
}

static int failed_sets(const cm_plane_comparison *found)
{
    int count = 0;
    for (int k = 0; k < found->listed; k++)
        count += found->sets[k].failed;
    return count;
}

static void say_count(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (found->all)
        cm_say(d, CM_PLAIN, "%s compared.", cm_count_of(d->session, found->listed, "set", "sets"));
    else
        cm_say(d, CM_PLAIN,
               "%.0f sets: %.0f looked at, the likeliest %.0f solved; listed are the best %d of each size.",
               found->total, found->looked_at, found->solved, found->best);
    if (failed_sets(found) > 0)
        cm_say(d, CM_CAREFUL,
               "%s: no answer passed its recheck; where it belongs is not known, and the ranks of its size "
               "are not "
               "proven.",
               cm_count_of(d->session, failed_sets(found), "set failed", "sets failed"));
    if (found->stopped)
        cm_say(d, CM_CAREFUL,
               "The search was stopped. Ranks marked ? are not proven: a set not looked at may be better.");
}

/* Sets that the best one hardly beats, those with fewer planes among them; at most three are named. */
static void say_near(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    const cm_plane_set *best = &found->sets[0];
    for (int k = 1, named = 0; k < found->listed && named < 3; k++) {
        const cm_plane_set *set = &found->sets[k];
        if (isnan(set->value) || fabs(set->value - best->value) > NEAR * fabs(best->value))
            return;
        if (set->count > best->count)
            continue;
        cm_item(d, CM_PLAIN, "%s: %s%s.", names_of(d, job, set),
                set->value == best->value ? "a tie with it" : "a near tie, its value within 1 %",
                set->count < best->count ? ", with fewer planes" : "");
        named++;
    }
}

static void say_best(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (found->listed == 0 || isnan(found->sets[0].value)) {
        cm_say(d, CM_BAD,
               "No set of planes has an answer: limits and caps exclude each other, or the runs do not tell "
               "enough. `solve` says which.");
        return;
    }
    cm_say(d, CM_GOOD, "Best: %s.", names_of(d, job, &found->sets[0]));
    say_near(d, job);
}

/* What the case says that one more start costs; NAN: nothing. */
static double hours_per_start(const cm_case *c)
{
    const cm_node *node = c->header ? cm_node_get(c->header, "hours_per_start") : NULL;
    double hours = NAN;
    if (node && node->kind == CM_TEXT)
        cm_number_read(node->text, &hours);
    return hours;
}

static const char *starts_words(cm_document *d, const cm_job *job, const cm_plane_set *set)
{
    double hours = hours_per_start(job->given);
    if (set->starts < 0)
        return "-";
    if (set->starts == 0 || isnan(hours))
        return cm_format(d->session, "%d", set->starts);
    return cm_format(d->session, "%d (%s h)", set->starts, cm_digits(d->session, set->starts * hours, 3));
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, const cm_plane_set *set)
{
    const char **cells = CM_NEW(d->session, 7, const char *);
    bool known = !isnan(set->value);
    const char *mark = !known ? "" : !set->proven ? " ?" : set->pareto ? " *" : "";
    cells[0] = cm_format(d->session, "%s%s", sum_of(d, job, set), mark);
    cells[1] = known         ? cm_digits(d->session, cm_user_objective(job, set->value), 4)
               : set->failed ? "failed"
               : set->outcome == CM_UNDETERMINED ? "not told"
                                                 : "none";
    cells[2] = cm_digits(d->session, set->largest_ratio, 3);
    cells[3] = cm_digits(d->session, cm_user_kilograms(job, set->total_mass), 4);
    cells[4] = isfinite(set->condition) ? cm_digits(d->session, set->condition, 3) : "-";
    cells[5] = cm_digits(d->session, set->expected, 4);
    cells[6] = starts_words(d, job, set);
    cm_table_row(d, table, cells);
}

static void say_sets(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    const cm_column columns[] = {
        {.head = "planes", .key = true},
        {.head = "value", .right = true},
        {.head = "worst/", .unit = "limit", .right = true},
        {.head = "mass", .unit = job->given->mass_unit->name, .right = true},
        {.head = "condition", .right = true},
        {.head = "expected", .right = true},
        {.head = "starts", .unit = "needed", .right = true},
    };
    cm_section(d, "THE BEST SETS OF EACH SIZE");
    say_letters(d, job);
    cm_table *table = cm_table_open(d, 7, columns);
    for (int size = 1; size <= found->planes; size++)
        for (int k = 0, shown = 0; k < found->listed && shown < SHOWN_OF_EACH; k++)
            if (found->sets[k].count == size) {
                add_row(d, table, job, &found->sets[k]);
                shown++;
            }
    cm_say(d, CM_PLAIN,
           "At most %d of each size are shown; --format csv has all that were listed. "
           "* no other set is as good in value, mass and number of planes. Starts needed: trial runs beyond "
           "those of the case before the runs tell enough for this set. Expected: root of the sum of "
           "squares that is expected with these masses, uncertainty of readings and influence included; - "
           "where nothing tells it.",
           SHOWN_OF_EACH);
}

static const cm_plane_set *best_of_size(const cm_plane_comparison *found, int size)
{
    for (int k = 0; k < found->listed; k++)
        if (found->sets[k].count == size && !isnan(found->sets[k].value))
            return &found->sets[k];
    return NULL;
}

static void say_further_planes(cm_document *d, const cm_job *job)
{
    const cm_plane_set *last = NULL;
    cm_section(d, "WHAT EACH FURTHER PLANE BUYS");
    for (int size = 1; size <= job->comparison->planes; size++) {
        const cm_plane_set *set = best_of_size(job->comparison, size);
        if (!set)
            continue;
        const char *value = cm_digits(d->session, cm_user_objective(job, set->value), 4);
        if (!last)
            cm_item(d, CM_PLAIN, "%s (%s): value %s.", cm_count_of(d->session, size, "plane", "planes"),
                    names_of(d, job, set), value);
        else if (last->value > 0)
            cm_item(d, CM_PLAIN, "%s (%s): value %s, %s %% of that with %s.",
                    cm_count_of(d->session, size, "plane", "planes"), names_of(d, job, set), value,
                    cm_digits(d->session, 100 * set->value / last->value, 3),
                    cm_count_of(d->session, last->count, "plane", "planes"));
        last = set;
    }
}

static void say_share(cm_document *d, const cm_job *job, const cm_plane_share *share)
{
    const char *name = cm_short_name(d->session, cm_part_id(job->given, share->plane));
    if (isnan(share->own))
        cm_item(d, CM_CAREFUL, "%s: no run tells all of its effect, or it has none.", name);
    else if (share->like)
        cm_item(d, CM_CAREFUL,
                "%s: %s can do the same, all but %s %% of it; with both in use the split of the mass means "
                "little.",
                name, cm_parts_words(d->session, job->given, share->like),
                cm_digits(d->session, 100 * share->like_own, 2));
    else if (share->own <= NEARLY_MADE)
        cm_item(d, CM_CAREFUL, "%s: all other planes together make all but %s %% of its effect.", name,
                cm_digits(d->session, 100 * share->own, 2));
    else
        cm_item(d, CM_PLAIN, "%s: %s %% of its effect is its own, no masses on the others can make it.", name,
                cm_decimal(d->session, 100 * share->own, 0));
}

static void say_shares(cm_document *d, const cm_job *job)
{
    cm_section(d, "WHAT THE OTHER PLANES CAN DO INSTEAD");
    for (int k = 0; k < job->comparison->share_count; k++)
        say_share(d, job, &job->comparison->shares[k]);
}

static void say_left_out(cm_document *d, const cm_job *job, const cm_left_out *out)
{
    double all = job->comparison->value_all;
    const char *name = cm_short_name(d->session, out->sensor >= 0 ? job->given->sensors[out->sensor].id
                                                                  : job->given->speeds[out->speed].id);
    if (out->outcome != CM_OPTIMAL)
        cm_item(d, CM_PLAIN, "%s: without it there is no answer.", name);
    else
        cm_item(d, CM_PLAIN, "%s: value %s, worst reading %s of its limit%s.", name,
                cm_digits(d->session, cm_user_objective(job, out->value), 4),
                cm_digits(d->session, out->largest_ratio, 3),
                out->value <= HARDLY_MISSED * all ? " - hardly missed" : "");
}

static void say_without(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (found->left_out_count == 0)
        return;
    cm_section(d, "WOULD FEWER PROBES OR SPEEDS DO?");
    cm_say(
        d, CM_PLAIN,
        "All planes in use; the masses are found without the readings of one sensor or one speed and judged "
        "on all readings. With all of them the value is %s. A probe that is hardly missed here still "
        "guards its bearing.",
        cm_digits(d->session, cm_user_objective(job, found->value_all), 4));
    for (int k = 0; k < found->left_out_count; k++)
        say_left_out(d, job, &found->left_out[k]);
}

void cm_words_sets(cm_document *d, const cm_job *job)
{
    if (job->comparison->listed == 0)
        return;
    say_sets(d, job);
    say_further_planes(d, job);
}

cm_document *cm_words_planes(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    cm_words_head(d, job, "Which planes: sets of correction planes and what they can reach.");
    say_objective(d, job);
    say_count(d, job);
    say_best(d, job);
    cm_words_sets(d, job);
    say_shares(d, job);
    say_without(d, job);
    cm_words_turned(d, job);
    cm_words_cautions(d);
    return d;
}
