/* SPDX-License-Identifier: MIT */
/* The positions of a plane as they stand before the fitter, and what goes where. */
#include "page/columns.h"
#include "page/dial.h"
#include "page/figures.h"
#include "page/words_place.h"

#include <math.h>

static const double WIDTH = 280, HEIGHT = 300, RIM = 84;
enum { ALL_NUMBERED = 36 }; /* of more positions only those that matter have their number drawn */

static const cm_fit_entry *entry_at(const cm_fitting *best, int plane, int site)
{
    for (int i = 0; i < best->entry_count; i++)
        if (best->entries[i].plane == plane && best->entries[i].site == site)
            return &best->entries[i];
    return NULL;
}

static double paper_of(const cm_dial *dial, const cm_job *job, int plane, double complex direction)
{
    return cm_paper_angle(dial, cm_mass_angle_to_user(job->given, plane, direction));
}

static void draw_number(const cm_dial *dial, double paper, int number, bool strong)
{
    cm_point p = cm_point_at(dial->centre, dial->radius + 16, paper);
    cm_draw_words(dial->drawing, strong ? "strong" : "small soft", CM_MIDDLE, (cm_point){p.x, p.y + 3.5},
                  cm_format(dial->drawing->session, "%d", number));
}

/* What comes off must not look like what goes on: a hollow mark with a bar. */
static void draw_off(cm_drawing *d, cm_point at)
{
    cm_draw_mark(d, "before-mark", CM_MARK_RING, at, 7);
    cm_draw_line(d, "before", (cm_point){at.x - 4, at.y}, (cm_point){at.x + 4, at.y});
}

static bool comes_off(const cm_fit_entry *e)
{
    return e->kind == CM_FIT_TAKE_OUT || e->kind == CM_FIT_DRILL;
}

static void draw_handled(cm_drawing *d, const cm_fit_entry *e, cm_point at)
{
    if (comes_off(e))
        draw_off(d, at);
    else
        cm_draw_mark(d, "mass", CM_MARK_DISC, at, 7);
}

static void draw_site(const cm_dial *dial, const cm_job *job, int plane, int site)
{
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    const cm_shop_site *s = &shop->sites[site];
    double paper = paper_of(dial, job, plane, s->direction);
    cm_point at = cm_point_at(dial->centre, dial->radius, paper);
    const cm_fit_entry *handled = entry_at(&job->placement->best, plane, site);
    if (handled)
        draw_handled(dial->drawing, handled, at);
    else if (s->blocked)
        cm_draw_mark(dial->drawing, "run", CM_MARK_CROSS, at, 4);
    else
        cm_draw_mark(dial->drawing, s->taken ? "now" : "run-mark", s->taken ? CM_MARK_SQUARE : CM_MARK_RING,
                     at, 4);
    if (handled || shop->site_count <= ALL_NUMBERED)
        draw_number(dial, paper, s->number, handled);
}

/* In a groove pieces stand at any angle. */
static void draw_in_groove(const cm_dial *dial, const cm_job *job, int plane)
{
    const cm_fitting *best = &job->placement->best;
    for (int i = 0; i < best->entry_count; i++)
        if (best->entries[i].plane == plane && best->entries[i].site < 0)
            draw_handled(dial->drawing, &best->entries[i],
                         cm_point_at(dial->centre, dial->radius,
                                     paper_of(dial, job, plane, best->entries[i].direction)));
}

static const char *describe(cm_session *session, const cm_job *job, int plane)
{
    const char *words = "";
    const cm_fitting *best = &job->placement->best;
    for (int i = 0; i < best->entry_count; i++) {
        const cm_fit_entry *e = &best->entries[i];
        if (e->plane != plane)
            continue;
        const char *where =
            e->site < 0 ? "" : cm_format(session, "%s %d, ", cm_site_word(job->given, plane), e->number);
        words = cm_format(session, "%s%s%s%s degrees: %s", words, *words ? "; " : "", where,
                          cm_degrees(session, cm_mass_angle_to_user(job->given, plane, e->direction), 1),
                          cm_fit_words(session, job, e));
    }
    return *words ? cm_format(session, "%s.", words) : "Nothing to handle on this plane.";
}

static bool any_off(const cm_fitting *best, int plane)
{
    for (int i = 0; i < best->entry_count; i++)
        if (best->entries[i].plane == plane && comes_off(&best->entries[i]))
            return true;
    return false;
}

static void draw_key(cm_drawing *d, const cm_case *c, bool off)
{
    double y = HEIGHT - 26;
    if (off) {
        draw_off(d, (cm_point){228, y - 4});
        cm_draw_words(d, "small", CM_LEFT, (cm_point){238, y}, "take off");
    }
    cm_draw_mark(d, "mass", CM_MARK_DISC, (cm_point){14, y - 4}, 6);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){24, y}, "put on");
    cm_draw_mark(d, "run-mark", CM_MARK_RING, (cm_point){70, y - 4}, 4);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){78, y}, "free");
    cm_draw_mark(d, "now", CM_MARK_SQUARE, (cm_point){116, y - 4}, 4);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){124, y}, "taken");
    cm_draw_mark(d, "run", CM_MARK_CROSS, (cm_point){168, y - 4}, 4);
    cm_draw_words(d, "small", CM_LEFT, (cm_point){175, y}, "blocked");
    const char *view = c->rotation && c->seen_from
                           ? cm_format(d->session, "seen from %s", cm_shorten(d->session, c->seen_from, 32))
                           : "drawn as for a rotor that turns counter-clockwise";
    cm_draw_words(d, "small soft", CM_LEFT, (cm_point){6, HEIGHT - 8}, view);
}

const cm_drawing *cm_figure_positions(cm_session *session, const cm_job *job, int plane)
{
    const cm_case *c = job->given;
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    if (!shop->used)
        return NULL;
    cm_drawing *d =
        cm_drawing_new(session, WIDTH, HEIGHT,
                       cm_format(session, "Positions on %s", cm_short_name(session, c->planes[plane].id)),
                       describe(session, job, plane));
    cm_dial dial = {d, {WIDTH / 2, 126}, RIM, 1, cm_growth_of_angles(c), cm_zero_on_paper(c, plane)};
    int turn = cm_turn_on_paper(c);
    cm_draw_circle(d, "ink", dial.centre, RIM);
    cm_draw_mark(d, "solid", CM_MARK_TRIANGLE, cm_point_at(dial.centre, RIM - 14, 0), -5);
    cm_draw_words(d, "small strong halo", CM_MIDDLE, cm_point_at(dial.centre, RIM - 30, 0), "mark");
    cm_draw_arc(d, "thick", dial.centre, 24, -turn * 130.0, turn * 130.0, true);
    cm_draw_words(d, "small halo", CM_MIDDLE, (cm_point){dial.centre.x, dial.centre.y + 3.5}, "turns");
    for (int s = 0; s < shop->site_count; s++)
        draw_site(&dial, job, plane, s);
    draw_in_groove(&dial, job, plane);
    draw_key(d, c, any_off(&job->placement->best, plane));
    return d;
}

const cm_drawing *cm_figure_placements(cm_session *session, const cm_job *job)
{
    int count = 0;
    const cm_drawing **parts = CM_NEW(session, job->given->plane_count, const cm_drawing *);
    for (int j = 0; job->placement && job->placement->shop && j < job->placement->shop->planes; j++) {
        const cm_drawing *drawing = cm_figure_positions(session, job, j);
        if (drawing)
            parts[count++] = drawing;
    }
    return cm_drawing_join(session, count, parts, 3);
}
