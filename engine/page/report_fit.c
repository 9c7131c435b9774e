/* SPDX-License-Identifier: MIT */
/* Real pieces at real positions: then these are what to mount, and masses of any size only what they stand in for. */
#include "page/figures.h"
#include "page/report.h"
#include "page/words_place.h"

bool cm_has_fit_list(const cm_job *job)
{
    return job->placement && job->placement->outcome == CM_PLACED && job->placement->best.entry_count > 0;
}

static bool is_handled(const cm_job *job, int plane)
{
    for (int i = 0; i < job->placement->best.entry_count; i++)
        if (job->placement->best.entries[i].plane == plane)
            return true;
    return false;
}

static void say_value(cm_document *d, const cm_job *job)
{
    const cm_placement *p = job->placement;
    cm_say(d, CM_PLAIN, "%s on %s, with the masses on the rotor now left where they are.",
           cm_count_of(d->session, p->best.pieces, "piece", "pieces"),
           cm_count_of(d->session, p->best.entry_count, "position", "positions"));
    cm_say(d, CM_PLAIN, "Objective with these pieces: %s; with masses of any size and angle: %s%s.",
           cm_digits(d->session, p->value, 4), cm_digits(d->session, p->continuous, 4),
           p->proven ? "; no other choice of these pieces and positions does better"
                     : "; whether another choice does better was not settled in the time");
}

/* One line a position, as the hand takes them. */
static void say_entries(cm_document *d, const cm_job *job, int plane)
{
    const cm_fitting *best = &job->placement->best;
    for (int i = 0; i < best->entry_count; i++) {
        const cm_fit_entry *e = &best->entries[i];
        if (e->plane != plane)
            continue;
        const char *angle = cm_degrees(d->session, cm_mass_angle_to_user(job->given, plane, e->direction), 1);
        const char *where = e->site < 0 ? cm_format(d->session, "at %s°", angle)
                                        : cm_format(d->session, "%s %d, at %s°",
                                                    cm_site_word(job->given, plane), e->number, angle);
        cm_item(d, CM_PLAIN, "%s: %s%s%s", where, cm_fit_words(d->session, job, e),
                e->kind == CM_FIT_DRILL ? "" : " ",
                e->kind == CM_FIT_DRILL ? "" : job->given->mass_unit->name);
    }
}

void cm_report_fit_list(cm_document *d, const cm_job *job)
{
    if (!cm_has_fit_list(job))
        return;
    const char *missed = cm_last_run_words(d->session, job);
    cm_section(d, "WHAT TO FIT NOW");
    if (missed)
        cm_say(d, CM_BAD, "%s", missed);
    say_value(d, job);
    cm_open_group(d, "cards");
    for (int j = 0; j < job->placement->shop->planes; j++) {
        const cm_drawing *drawing = is_handled(job, j) ? cm_figure_positions(d->session, job, j) : NULL;
        if (!drawing)
            continue;
        cm_open_group(d, "card");
        cm_head(d, "%s", cm_short_name(d->session, job->given->planes[j].id));
        say_entries(d, job, j);
        cm_figure(d, drawing);
        cm_tick(d, "fitted and secured, by:");
        cm_tick(d, "positions and pieces checked by a second person:");
        cm_close_group(d);
    }
    cm_close_group(d);
    cm_words_fit_lists(d, job);
}
