/* SPDX-License-Identifier: MIT */
/* Question: is a mass that stays on the rotor still there in the runs after it, and now?
 *
 * Runs are in the order made, so what stays in one must be in the next: as an entry of the same mass, or within what the
 * plane is said to carry when that is exactly what stays. A mass that is forgotten is missing from what is on the rotor now
 * and from what the plane may still take.
 */
#include "evidence/notes.h"

#include <math.h>

#undef I

static bool alike(const cm_notes *notes, double complex a, double complex b)
{
    return cabs(a - b) <= fmax(notes->job->runs->mass_zero, 1e-9 * cabs(a));
}

static double complex sum_on(const cm_mass_list *list, int plane, bool staying_only)
{
    double complex sum = 0;
    for (int i = 0; i < list->count; i++)
        if (list->items[i].plane == plane && (list->items[i].stays || !staying_only))
            sum += list->items[i].mass;
    return sum;
}

static int count_alike(const cm_notes *notes, const cm_mass_list *list, const cm_mass *mass,
                       bool staying_only)
{
    int count = 0;
    for (int i = 0; i < list->count; i++)
        count += list->items[i].plane == mass->plane && (list->items[i].stays || !staying_only) &&
                 alike(notes, list->items[i].mass, mass->mass);
    return count;
}

static bool is_missing(const cm_notes *notes, const cm_mass_list *before, const cm_mass *mass,
                       const cm_mass_list *after)
{
    double complex stays = sum_on(before, mass->plane, true);
    return count_alike(notes, after, mass, false) < count_alike(notes, before, mass, true) &&
           !alike(notes, stays, sum_on(after, mass->plane, true)) &&
           !alike(notes, stays, sum_on(after, mass->plane, false));
}

/* One finding a plane. `to` -1: what is on the rotor now. */
static void compare(cm_notes *notes, int from, int to)
{
    const cm_case *given = notes->job->given;
    const cm_mass_list *before = &given->runs[from].masses,
                       *after = to < 0 ? &given->now : &given->runs[to].masses;
    unsigned char *said = CM_NEW(notes->session, given->plane_count, unsigned char);
    for (int i = 0; i < before->count; i++) {
        const cm_mass *mass = &before->items[i];
        if (!mass->stays || said[mass->plane] || !is_missing(notes, before, mass, after))
            continue;
        said[mass->plane] = 1;
        const char *place = to < 0 ? "`now`" : cm_format(notes->session, "run %s", given->runs[to].id);
        cm_note(notes, "staying-mass-missing", CM_WARNING, (cm_where){to, -1, -1, mass->plane},
                "%s stays on %s since run %s, but %s does not list it: it is counted as gone. If it is still "
                "there, "
                "list it again with `stays: true`, or tell a run by `after` and `added`; if it was taken "
                "off, leave "
                "out `stays`.",
                cm_mass_size(notes, cabs(mass->mass)), given->planes[mass->plane].id, given->runs[from].id,
                place);
    }
}

void cm_ask_staying(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    if (!notes->job->runs)
        return;
    for (int k = 1; k < given->run_count; k++)
        compare(notes, k - 1, k);
    if (given->has_now && given->run_count)
        compare(notes, given->run_count - 1, -1);
}
