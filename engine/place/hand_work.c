/* SPDX-License-Identifier: MIT */
/*
 * Splitting and merging. A mass M at t between t_1 and t_2 (plane trigonometry, the law of sines in the triangle of the
 * three phasors):
 *
 *   m_1 = M sin(t_2 - t) / sin(t_2 - t_1),   m_2 = M sin(t - t_1) / sin(t_2 - t_1)
 *
 * Merging is the sum of phasors.
 */
#include "place/hand_work.h"

#include "base/given.h"
#include "base/number.h"
#include "base/text.h"
#include "model/units.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#define ONE_LINE 1e-9

/* A part below this share of the mass is nothing that a fitter could weigh. */
static const double NO_PART = 1e-6;

bool cm_split_between(double complex mass, double complex first, double complex second, double part[2])
{
    double across = cimag(conj(first) * second);
    part[0] = part[1] = NAN;
    if (fabs(across) < ONE_LINE)
        return false;
    part[0] = cimag(conj(mass) * second) / across;
    part[1] = cimag(conj(first) * mass) / across;
    return true;
}

bool cm_free_around(const cm_shop_plane *shop, double complex mass, int site[2])
{
    double before = INFINITY, after = INFINITY;
    site[0] = site[1] = -1;
    for (int s = 0; s < shop->site_count; s++) {
        if (shop->sites[s].blocked || shop->sites[s].taken)
            continue;
        double away = carg(shop->sites[s].direction / mass);
        if (away <= ONE_LINE && -away < before) {
            before = fmax(0, -away);
            site[0] = s;
        }
        if (away >= -ONE_LINE && away < after) {
            after = fmax(0, away);
            site[1] = s;
        }
    }
    return site[0] >= 0 && site[1] >= 0;
}

/* ---- lists ---- */

typedef struct cm_hand_working {
    cm_session *session;
    const cm_job *job;
    const cm_shop *shop;
    cm_split *splits;
    cm_merge *merges;
    int split_count, split_room, merge_count, merge_room;
} cm_hand_working;

/* Leaves out a part that is nothing; the other one stands first. */
static void leave_out_nothing(cm_split *split)
{
    double least = NO_PART * fmax(fabs(split->part[0]), fabs(split->part[1]));
    split->parts = split->possible ? 2 : 0;
    if (!split->possible || (fabs(split->part[0]) > least && fabs(split->part[1]) > least))
        return;
    int kept = fabs(split->part[0]) > least ? 0 : 1;
    split->parts = 1;
    split->number[0] = split->number[kept];
    split->direction[0] = split->direction[kept];
    split->part[0] = split->part[kept];
    split->part[1] = 0;
}

static void add_split(cm_hand_working *w, cm_split split)
{
    leave_out_nothing(&split);
    w->splits = cm_grow(w->session, w->splits, w->split_count, &w->split_room, sizeof *w->splits);
    w->splits[w->split_count++] = split;
}

static void add_merge(cm_hand_working *w, cm_merge merge)
{
    for (int i = 0; i < merge.count; i++)
        merge.sum += merge.masses[i];
    w->merges = cm_grow(w->session, w->merges, w->merge_count, &w->merge_room, sizeof *w->merges);
    w->merges[w->merge_count++] = merge;
}

/* Between positions: parts are real masses at their radius. One right at the angle takes it all. Where there is only
 * drilling, what is missing on one side is taken away on the other: around the opposite angle, parts negative. */
static void split_on_positions(cm_hand_working *w, int plane, double complex mass)
{
    const cm_shop_plane *shop = &w->shop->plane[plane];
    cm_split split = {.plane = plane, .mass = mass, .positions = 1, .part = {NAN, NAN}};
    int site[2];
    bool only_removes = shop->action == CM_ACTION_REMOVE;
    double sign = only_removes ? -1 : 1;
    split.reason = only_removes && shop->drill_diameter <= 0 ? CM_SPLIT_NO_WAY : CM_SPLIT_NO_FREE;
    if (split.reason != CM_SPLIT_NO_WAY && cm_free_around(shop, sign * mass, site)) {
        for (int i = 0; i < 2; i++) {
            split.number[i] = shop->sites[site[i]].number;
            split.direction[i] = shop->sites[site[i]].direction;
        }
        split.possible = site[0] == site[1] ||
                         cm_split_between(sign * mass, split.direction[0], split.direction[1], split.part);
        if (site[0] == site[1]) {
            split.part[0] = cabs(mass);
            split.part[1] = 0;
        }
        split.possible = split.possible && split.part[0] >= -ONE_LINE * cabs(mass) &&
                         split.part[1] >= -ONE_LINE * cabs(mass);
        for (int i = 0; i < 2; i++)
            split.part[i] *= sign / shop->reduce;
    }
    if (split.possible)
        split.reason = CM_SPLIT_POSSIBLE;
    add_split(w, split);
}

static void split_what_is_needed(cm_hand_working *w)
{
    const cm_placement *placement = w->job->placement;
    for (int j = 0; w->shop && placement && placement->continuous_x && j < w->shop->planes; j++) {
        double complex change = placement->continuous_x[j] - w->job->problem->now[j];
        if (w->shop->plane[j].used && w->shop->plane[j].site_count &&
            cabs(change) > w->job->problem->mass_zero)
            split_on_positions(w, j, change);
    }
}

static void merge_old_masses(cm_hand_working *w)
{
    const cm_case *c = w->job->given;
    const cm_mass_list *now = c->has_now ? &c->now : c->run_count ? &c->runs[c->run_count - 1].masses : NULL;
    for (int j = 0; now && j < c->plane_count; j++) {
        double complex *masses = CM_NEW(w->session, now->count, double complex);
        int count = 0;
        for (int i = 0; i < now->count; i++)
            if (now->items[i].plane == j)
                masses[count++] = now->items[i].mass;
        if (count > 1)
            add_merge(w, (cm_merge){.plane = j, .count = count, .masses = masses, .old = 1});
    }
}

/* ---- texts ---- */

typedef struct cm_wish {
    cm_hand_working *work;
    const char *text; /* as given, for messages */
    const char *at;
    int plane;
} cm_wish;

static void refuse(const cm_wish *wish, const char *form)
{
    cm_fail(wish->work->session, CM_BAD_INPUT, "'%s' cannot be read; write, for example, %s", wish->text,
            form);
}

static void skip_blanks(cm_wish *wish)
{
    wish->at += strspn(wish->at, " ");
}

static bool take_word(cm_wish *wish, const char *word)
{
    skip_blanks(wish);
    size_t length = strlen(word);
    if (strncmp(wish->at, word, length) != 0)
        return false;
    wish->at += length;
    return true;
}

static double take_number(cm_wish *wish, const char *form)
{
    double value = NAN;
    skip_blanks(wish);
    const char *end = cm_number_read(wish->at, &value);
    if (!end || !isfinite(value))
        refuse(wish, form);
    wish->at = end;
    return value;
}

/* The longest id of a plane that stands before a colon. */
static cm_wish new_wish(cm_hand_working *w, const char *text)
{
    cm_wish wish = {w, text, text, -1};
    const cm_case *c = w->job->given;
    size_t longest = 0;
    for (int j = 0; j < c->plane_count; j++) {
        size_t length = strlen(c->planes[j].id);
        if (length > longest && !strncmp(text, c->planes[j].id, length) && text[length] == ':') {
            longest = length;
            wish.plane = j;
            wish.at = text + length + 1;
        }
    }
    return wish;
}

static double complex take_mass(cm_wish *wish, const char *form)
{
    const cm_case *c = wish->work->job->given;
    double mass = take_number(wish, form);
    take_word(wish, c->mass_unit->name);
    if (!take_word(wish, "@"))
        refuse(wish, form);
    return cm_mass_from_user(c, wish->plane, mass * c->mass_unit->factor, take_number(wish, form));
}

static void end_wish(cm_wish *wish, const char *form)
{
    skip_blanks(wish);
    if (*wish->at)
        refuse(wish, form);
}

static void read_split(cm_hand_working *w, const char *text)
{
    static const char *const form = "\"120 @ 40 between 30 and 60\" or \"PLANE: 120 @ 40\"";
    cm_wish wish = new_wish(w, text);
    const cm_case *c = w->job->given;
    cm_split split = {.plane = wish.plane, .mass = take_mass(&wish, form)};
    if (take_word(&wish, "between")) {
        split.direction[0] = cm_mass_from_user(c, wish.plane, 1, take_number(&wish, form));
        if (!take_word(&wish, "and"))
            refuse(&wish, form);
        split.direction[1] = cm_mass_from_user(c, wish.plane, 1, take_number(&wish, form));
        end_wish(&wish, form);
        split.possible = cm_split_between(split.mass, split.direction[0], split.direction[1], split.part);
        split.reason = split.possible ? CM_SPLIT_POSSIBLE : CM_SPLIT_ONE_LINE;
        add_split(w, split);
        return;
    }
    end_wish(&wish, form);
    if (wish.plane < 0 || !w->shop || !w->shop->plane[wish.plane].site_count)
        cm_fail(w->session, CM_BAD_INPUT,
                "'%s' names no plane in use that has 'sites'; say between which angles, as in \"120 @ 40 "
                "between 30 and 60\"",
                text);
    split_on_positions(w, wish.plane, split.mass);
}

static void read_merge(cm_hand_working *w, const char *text)
{
    static const char *const form = "\"60 @ 10 + 40 @ 80\" or \"PLANE: 60 @ 10 + 40 @ 80\"";
    cm_wish wish = new_wish(w, text);
    double complex *masses = CM_NEW(w->session, strlen(text), double complex);
    int count = 0;
    do
        masses[count++] = take_mass(&wish, form);
    while (take_word(&wish, "+"));
    end_wish(&wish, form);
    add_merge(w, (cm_merge){.plane = wish.plane, .count = count, .masses = masses});
}

static const cm_shop *given_shop(cm_session *session, const cm_shop *given, int planes)
{
    if (!given)
        return NULL;
    /* the last member is a pointer: NOLINTNEXTLINE(bugprone-sizeof-expression) */
    const cm_shop *shop = CM_GIVEN(session, cm_shop, plane, given);
    if (shop->planes != planes || !shop->plane)
        cm_fail(session, CM_BAD_INPUT, "cm_shop must tell what each of the %d planes of the case offers",
                planes);
    return shop;
}

cm_status cm_hand_work_of(cm_session *session, cm_job *theirs, const cm_shop *shop, int splits,
                          const char *const *split, int merges, const char *const *merge)
{
    static const cm_job_call CALL = {"cm_hand_work_of", CM_HAS_GIVEN, CM_HAS_HAND_WORK};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    cm_hand_working w = {
        .session = session, .job = job, .shop = given_shop(session, shop, job->given->plane_count)};
    for (int i = 0; i < splits; i++)
        read_split(&w, split[i]);
    for (int i = 0; i < merges; i++)
        read_merge(&w, merge[i]);
    merge_old_masses(&w);
    split_what_is_needed(&w);
    cm_hand_work *out = CM_NEW(session, 1, cm_hand_work);
    *out = (cm_hand_work){sizeof *out, w.split_count, w.splits, w.merge_count, w.merges};
    job->hand_work = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
