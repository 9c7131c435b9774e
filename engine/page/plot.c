/* SPDX-License-Identifier: MIT */
/* The main picture of each result. */
#include "page/figures.h"
#include "countermass/planes.h"
#include "page/page.h"

#include <string.h>

enum { MOST_SIDE_BY_SIDE = 3 };

/* One picture for every speed that was read, side by side. */
static const cm_drawing *by_speed(cm_session *session, const cm_job *job,
                                  const cm_drawing *(*figure)(cm_session *, const cm_job *, int))
{
    const cm_drawing **parts = CM_NEW(session, job->given->speed_count, const cm_drawing *);
    int count = 0;
    for (int s = 0; s < job->given->speed_count; s++) {
        const cm_drawing *drawing = figure(session, job, s);
        if (drawing)
            parts[count++] = drawing;
    }
    return cm_drawing_join(session, count, parts, MOST_SIDE_BY_SIDE);
}

static const cm_drawing *plot_solve(cm_session *session, const cm_job *job)
{
    return by_speed(session, job, cm_figure_limits);
}

static const cm_drawing *plot_influence(cm_session *session, const cm_job *job)
{
    return by_speed(session, job, cm_figure_influence);
}

static const cm_drawing *plot_planes(cm_session *session, const cm_job *job)
{
    return cm_figure_sets(session, job);
}

static const cm_drawing *plot_check(cm_session *session, const cm_job *job)
{
    return job->runs ? cm_figure_runs(session, job) : cm_figure_machine(session, job);
}

static const struct {
    const char *result;
    const cm_drawing *(*draw)(cm_session *session, const cm_job *job);
} PLOTS[] = {
    {"solve", plot_solve},           {"influence", plot_influence},      {"planes", plot_planes},
    {"check", plot_check},           {"tolerance", cm_figure_tolerance}, {"trial", cm_figure_trials},
    {"place", cm_figure_placements},
};

static const cm_drawing *plot_of(cm_session *session, const cm_page *page)
{
    const cm_node *result = cm_node_get(cm_page_tree(session, page), "result");
    for (size_t i = 0; i < sizeof PLOTS / sizeof *PLOTS; i++)
        if (result && page->job.given && strcmp(result->text, PLOTS[i].result) == 0)
            return PLOTS[i].draw(session, &page->job);
    return NULL;
}

/* A set of planes that no answer was found for is not the fault of the case. */
static bool any_set_failed(const cm_plane_comparison *found)
{
    for (int k = 0; found && k < found->listed; k++)
        if (found->sets[k].failed)
            return true;
    return false;
}

cm_status cm_page_plot(cm_session *session, const cm_page *page, const char **svg)
{
    CM_ENTER(session);
    const cm_drawing *drawing = plot_of(session, page);
    if (!drawing && any_set_failed(page->job.comparison))
        cm_fail(session, CM_NUMERICS,
                "there is nothing to draw: no answer could be found for a set of planes");
    if (!drawing)
        cm_fail(session, CM_BAD_INPUT, "there is nothing to draw in this result");
    *svg = cm_drawing_file(session, drawing);
    return cm_leave(session);
}
