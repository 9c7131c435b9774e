/* SPDX-License-Identifier: MIT */
/* Parts that can be refitted in steps, as a section of the page of `planes`. */
#include "page/words.h"

#include "countermass/planes.h"

#include <math.h>

/* Positions that the page shows. */
#define SHOWN 8
/* A share of the change that turning does not explain; above it the unbalance is doubted (our own figure). */
#define DOUBTFUL 0.3

static void say_part(cm_document *d, const cm_job *job, const cm_turned_part *part)
{
    const char *name = cm_short_name(d->session, job->given->planes[part->plane].id);
    if (!part->told) {
        cm_item(d, CM_CAREFUL, "Part at %s: not told, it stays as found here: %s.", name, part->why_not);
        return;
    }
    cm_size_angle u = cm_user_mass(job, part->plane, *part->unbalance);
    cm_item(d, CM_PLAIN,
            "Part at %s: an unbalance of %s %s at the plane's radius, %s, as it stood when found; turned in "
            "steps "
            "of %s degrees.",
            name, cm_digits(d->session, u.size, 4), job->given->mass_unit->name,
            cm_direction(d->session, job->given, part->plane, u.angle),
            cm_digits(d->session, 360.0 / part->positions, 4));
}

static const char *turned_words(cm_document *d, const cm_job *job, const cm_turned_position *position)
{
    const cm_plane_comparison *found = job->comparison;
    const char *words = "";
    for (int p = 0; p < found->part_count; p++)
        if (found->parts[p].told)
            words = cm_format(d->session, "%s%s%s by %s", words, *words ? ", " : "",
                              cm_short_name(d->session, job->given->planes[found->parts[p].plane].id),
                              cm_digits(d->session,
                                        cm_turned_degrees(job, found->parts[p].positions, position->steps[p]),
                                        4));
    return words;
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, const cm_turned_position *position)
{
    const cm_plane_set *set = &position->answer;
    const char **cells = CM_NEW(d->session, 4, const char *);
    cells[0] = turned_words(d, job, position);
    cells[1] =
        set->outcome == CM_OPTIMAL ? cm_digits(d->session, cm_user_objective(job, set->value), 4) : "none";
    cells[2] = cm_digits(d->session, set->largest_ratio, 3);
    cells[3] = cm_digits(d->session, cm_user_kilograms(job, set->total_mass), 4);
    cm_table_row(d, table, cells);
}

static void say_positions(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    const cm_column columns[] = {{.head = "turned", .unit = "degrees", .key = true},
                                 {.head = "value", .right = true},
                                 {.head = "worst/", .unit = "limit", .right = true},
                                 {.head = "mass", .unit = job->given->mass_unit->name, .right = true}};
    cm_table *table = cm_table_open(d, 4, columns);
    for (int n = 0; n < found->position_count && n < SHOWN; n++)
        add_row(d, table, job, &found->positions[n]);
    cm_say(d, CM_PLAIN,
           "%s compared%s. Angles are counted from as-found %s; all planes that may be used are "
           "solved again for each position.",
           cm_count_of(d->session, found->position_count, "position", "positions"),
           found->position_count > SHOWN ? cm_format(d->session, ", the best %d shown", SHOWN) : "",
           cm_sense(job->given));
    if (found->positions[0].answer.value == found->positions[found->position_count - 1].answer.value)
        cm_say(d, CM_PLAIN,
               "The value is the same in every position, for masses on these planes make up for any turn; "
               "turning "
               "changes how much mass that takes, and the least mass stands first.");
    cm_say(d, CM_CAREFUL,
           "Other commands count with every part as found. Refitting a coupling can change its run-out and "
           "its fit: follow the maker's instructions, and read the machine again before masses go on.");
}

void cm_words_turned(cm_document *d, const cm_job *job)
{
    const cm_plane_comparison *found = job->comparison;
    if (found->part_count == 0)
        return;
    cm_section(d, "PARTS THAT CAN BE TURNED");
    for (int p = 0; p < found->part_count; p++)
        say_part(d, job, &found->parts[p]);
    if (found->turned_misfit > DOUBTFUL)
        cm_item(d, CM_CAREFUL,
                "%s %% of the change of the readings is not explained by an unbalance at these planes: "
                "something else "
                "changed as well.",
                cm_digits(d->session, 100 * found->turned_misfit, 2));
    if (found->position_count > 0)
        say_positions(d, job);
}
