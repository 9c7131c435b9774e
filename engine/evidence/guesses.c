/* SPDX-License-Identifier: MIT */
/*
 * The usual mistakes as changes of what is on the rotor, or of how its readings were written down.
 *
 * With d the pieces added on plane j, t those removed, k what stays of what was there (stated = k + d), Z the direction of
 * the plane's own zero and extra what is on the rotor beyond what was stated:
 *
 *     angle-mirrored      Z² conj(d) - d        opposite-side    -2 d            mass-missing     -d
 *     one-position-off    pieces moved          mass-came-off    -k, -k - d, or -k - d from some speed on
 *     trial-left-on       t                     mass-unit        d (factor - 1)  wrong-radius     d (ratio - 1)
 *     planes-swapped      each plane's pieces at their own angles on the other plane
 *     numbered-the-other-way   each piece at the position that has its number the other way round from the first (sites.c)
 *
 * Every kind has the same weight before the readings are seen, shared by its places; a pair of mistakes has a twentieth of
 * the product of its parts' weights (our own figure). Miscounts of positions or angles that leave the very same masses on a
 * plane have equal weights, the mean of theirs: readings cannot tell them apart, so neither may stand above the other for
 * having fewer places. What changes no expected reading visibly explains nothing and is
 * left out, as is what the runs before cannot tell.
 */
#include "evidence/mounting.h"
#include "fit/foretell.h"
#include "linalg/dense.h"
#include "model/units.h"

#include <math.h>
#include <string.h>

#undef I

enum { MOST_SINGLES_PAIRED = 40, MOST_PAIRS = 400 };
static const double PAIR_WEIGHT = 0.05;
static const double VISIBLE = 0.5; /* least root of the sum of (effect/scatter)² that can explain anything */

static cm_mistake at_plane(cm_mistake_kind kind, int plane)
{
    return (cm_mistake){kind, plane, -1, -1, -1};
}

static cm_guess *add(const cm_view *view, cm_guesses *all, cm_mistake mistake, cm_twist twist)
{
    all->items = cm_grow(view->session, all->items, all->count, &all->room, sizeof *all->items);
    cm_guess *guess = &all->items[all->count++];
    *guess = (cm_guess){.mistake = mistake, .twist = twist, .prior = 1, .value = NAN};
    return guess;
}

static double complex *nothing(const cm_view *view)
{
    return CM_NEW(view->session, view->planes, double complex);
}

/* ---- maps from what was added on one plane to what is there beyond it ---- */

/* Direction of the plane's own zero in the frame. */
static double complex zero_of(const cm_view *view, int plane)
{
    return cm_mass_from_user(view->job->given, plane, 1, 0);
}

static double complex mirrored(const cm_view *view, int j, double complex d)
{
    double complex z = zero_of(view, j);
    return z * z * conj(d) - d;
}

static double complex opposite(const cm_view *view, int j, double complex d)
{
    (void)view;
    (void)j;
    return -2 * d;
}

static double complex missing(const cm_view *view, int j, double complex d)
{
    (void)view;
    (void)j;
    return -d;
}

static double complex renumbered(const cm_view *view, int j, double complex d)
{
    double complex extra;
    (void)d;
    cm_site_miscount(view, j, 0, &extra);
    return extra;
}

typedef double complex cm_change(const cm_view *view, int plane, double complex added);

static const struct {
    cm_mistake_kind kind;
    cm_change *change;
} CHANGES[] = {
    /* on one plane, or on every plane at once */
    {CM_ANGLE_MIRRORED, mirrored},
    {CM_OPPOSITE_SIDE, opposite},
    {CM_MASS_MISSING, missing},
    {CM_NUMBERED_THE_OTHER_WAY, renumbered},
};

static int count_added(const cm_view *view)
{
    int count = 0;
    for (int j = 0; j < view->planes; j++)
        count += view->added[j] != 0;
    return count;
}

static void guess_changes(const cm_view *view, cm_guesses *all)
{
    for (size_t c = 0; c < sizeof CHANGES / sizeof *CHANGES; c++) {
        double complex *every = nothing(view);
        int count = 0;
        for (int j = 0; j < view->planes; j++) {
            if (view->added[j] == 0)
                continue;
            every[j] = CHANGES[c].change(view, j, view->added[j]);
            count += every[j] != 0;
            cm_guess *guess = add(view, all, at_plane(CHANGES[c].kind, j), CM_TWIST_NONE);
            guess->extra = nothing(view);
            guess->extra[j] = every[j];
        }
        if (count > 1)
            add(view, all, at_plane(CHANGES[c].kind, -1), CM_TWIST_NONE)->extra = every;
    }
}

static void guess_sites(const cm_view *view, cm_guesses *all)
{
    double complex extra;
    for (int j = 0; j < view->planes; j++)
        for (int way = -1; way <= 1; way += 2) {
            if (view->added[j] == 0 || !cm_site_miscount(view, j, way, &extra))
                continue;
            cm_guess *guess = add(view, all, at_plane(CM_ONE_POSITION_OFF, j), CM_TWIST_NONE);
            guess->extra = nothing(view);
            guess->extra[j] = extra;
            guess->prior = 0.5;
        }
}

static void guess_left_on(const cm_view *view, cm_guesses *all)
{
    double complex *every = nothing(view);
    int count = 0;
    for (int j = 0; j < view->planes; j++) {
        if (view->removed[j] == 0)
            continue;
        cm_guess *guess = add(view, all, at_plane(CM_TRIAL_LEFT_ON, j), CM_TWIST_NONE);
        guess->extra = nothing(view);
        guess->extra[j] = every[j] = view->removed[j];
        count++;
    }
    if (count > 1)
        add(view, all, at_plane(CM_TRIAL_LEFT_ON, -1), CM_TWIST_NONE)->extra = every;
}

/* ---- came off ---- */

static cm_guess *came_off(const cm_view *view, cm_guesses *all, int j, double complex extra, double above)
{
    cm_guess *guess = add(view, all, at_plane(CM_MASS_CAME_OFF, j), CM_TWIST_NONE);
    guess->extra = nothing(view);
    guess->extra[j] = extra;
    guess->above = above;
    return guess;
}

/* Speeds (rad/s) of the run's readings other than its highest: a mass may have come off above each. */
static int steps_up(const cm_view *view, double *omega)
{
    int count = 0;
    double highest = 0;
    for (int i = 0; i < view->count; i++)
        highest = fmax(highest, view->job->given->speeds[view->job->given->row_speed[view->row[i]]].omega);
    for (int v = 0; v < view->job->given->speed_count; v++) {
        bool read = false;
        for (int i = 0; i < view->count && !read; i++)
            read = view->job->given->row_speed[view->row[i]] == v;
        double own = view->job->given->speeds[v].omega;
        bool known = false;
        for (int q = 0; q < count; q++)
            known = known || omega[q] == own;
        if (read && !known && own < highest)
            omega[count++] = own;
    }
    return count;
}

static void guess_came_off(const cm_view *view, cm_guesses *all)
{
    double *omega = CM_NEW(view->session, view->job->given->speed_count, double);
    int steps = steps_up(view, omega);
    for (int j = 0; j < view->planes; j++) {
        double complex kept = view->stated[j] - view->added[j];
        if (view->stated[j] == 0)
            continue;
        int first = all->count;
        if (kept != 0)
            came_off(view, all, j, -kept, 0);
        if (kept != 0 && view->added[j] != 0)
            came_off(view, all, j, -view->stated[j], 0);
        for (int s = 0; s < steps; s++)
            came_off(view, all, j, -view->stated[j], omega[s]);
        if (all->count == first) /* the same as missing: it went before anything was read */
            came_off(view, all, j, -view->stated[j], 0)->prior = 0.3;
        else
            for (int g = first; g < all->count; g++)
                all->items[g].prior = 1.0 / (all->count - first);
    }
}

/* ---- swapped, unit, radius ---- */

static void guess_swapped(const cm_view *view, cm_guesses *all)
{
    for (int j = 0; j < view->planes; j++)
        for (int k = j + 1; k < view->planes; k++) {
            if (view->added[j] == 0 && view->added[k] == 0)
                continue;
            cm_guess *guess = add(view, all, (cm_mistake){CM_PLANES_SWAPPED, j, k, -1, -1}, CM_TWIST_NONE);
            double complex turn = zero_of(view, k) / zero_of(view, j);
            guess->extra = nothing(view);
            guess->extra[j] = view->added[k] / turn - view->added[j];
            guess->extra[k] = view->added[j] * turn - view->added[k];
        }
}

static const struct {
    const char *unit;
    double factor;
} UNIT_SLIPS[] = {
    {"g", 28.349523125}, {"g", 1 / 28.349523125}, {"oz", 28.349523125}, {"oz", 1 / 28.349523125},
    {"kg", 0.45359237},  {"kg", 1 / 0.45359237},  {"lb", 0.45359237},   {"lb", 1 / 0.45359237},
};

static void guess_unit(const cm_view *view, cm_guesses *all)
{
    int only = -1;
    for (int j = 0; j < view->planes; j++)
        only = view->added[j] != 0 ? j : only;
    for (size_t u = 0; u < sizeof UNIT_SLIPS / sizeof *UNIT_SLIPS; u++) {
        if (only < 0 || strcmp(view->job->given->mass_unit->name, UNIT_SLIPS[u].unit) != 0)
            continue;
        cm_guess *guess =
            add(view, all, at_plane(CM_MASS_UNIT, count_added(view) > 1 ? -1 : only), CM_TWIST_NONE);
        guess->extra = nothing(view);
        guess->value = UNIT_SLIPS[u].factor;
        guess->prior = 0.5;
        for (int j = 0; j < view->planes; j++)
            guess->extra[j] = view->added[j] * (UNIT_SLIPS[u].factor - 1);
    }
}

static void guess_radius(const cm_view *view, cm_guesses *all)
{
    for (int j = 0; j < view->planes; j++) {
        if (view->added[j] == 0)
            continue;
        cm_guess *guess = add(view, all, at_plane(CM_WRONG_RADIUS, j), CM_TWIST_RADIUS);
        guess->lever = nothing(view);
        guess->lever[j] = view->added[j];
    }
}

/* ---- readings ---- */

/* With more sensors the pairs of cables would take longer than all else; nobody exchanges cables among so many. */
enum { MOST_CABLES = 64 };

static void guess_cables(const cm_view *view, cm_guesses *all)
{
    if (view->job->given->sensor_count > MOST_CABLES)
        return;
    const cm_case *c = view->job->given;
    for (int a = 0; a < c->sensor_count; a++)
        for (int b = a + 1; b < c->sensor_count; b++)
            if (c->sensors[a].unit == c->sensors[b].unit)
                add(view, all, (cm_mistake){CM_CABLES_SWAPPED, -1, -1, a, b}, CM_TWIST_SWAP);
}

/* Factors between peak to peak, peak and rms. */
static const double SCALES[] = {
    2, 0.5, 1.4142135623730951, 0.7071067811865476, 2.8284271247461903, 0.35355339059327379};
enum { SCALE_COUNT = (int)(sizeof SCALES / sizeof *SCALES) };

static void guess_scales(const cm_view *view, cm_guesses *all)
{
    for (int s = -1; s < view->job->given->sensor_count; s++)
        for (int f = 0; f <= SCALE_COUNT; f++) {
            cm_guess *guess = add(view, all, (cm_mistake){CM_AMPLITUDE_SCALE, -1, -1, s, -1}, CM_TWIST_SCALE);
            guess->scale = f < SCALE_COUNT ? SCALES[f] : 0;
            guess->prior = f < SCALE_COUNT ? 0.5 / SCALE_COUNT : 0.5;
        }
}

static void guess_readings(const cm_view *view, cm_guesses *all)
{
    static const double SIZES[] = {0.1, 0.3, 1};
    add(view, all, at_plane(CM_PHASE_CONVENTION, -1), CM_TWIST_CONJUGATE);
    add(view, all, at_plane(CM_PHASE_REFERENCE_MOVED, -1), CM_TWIST_SHIFT);
    guess_cables(view, all);
    guess_scales(view, all);
    for (int i = 0; i < 3; i++) {
        cm_guess *guess = add(view, all, at_plane(CM_MACHINE_CHANGED, -1), CM_TWIST_CHANGED);
        guess->changed = SIZES[i];
        guess->prior = 1.0 / 3;
    }
}

/* ---- sorting out ---- */

static bool is_told(const cm_view *view, const double complex *extra)
{
    double complex *masses = nothing(view);
    for (int j = 0; j < view->planes; j++)
        masses[j] = view->stated[j] + extra[j];
    for (int i = 0; i < view->count; i++)
        if (!cm_state_is_told(view->session, view->fit, view->row[i], masses))
            return false;
    return true;
}

static bool explains(const cm_view *view, const cm_guess *guess)
{
    const double complex *extra = guess->lever ? guess->lever : guess->extra;
    if (!extra)
        return true;
    double squares = 0;
    for (int i = 0; i < view->count; i++)
        squares += cm_abs2(cm_effect_of(view, i, extra) / view->fit->scatter[view->row[i]]);
    return squares > VISIBLE * VISIBLE && is_told(view, extra);
}

static void sift(const cm_view *view, cm_guesses *all)
{
    int kept = 0;
    for (int g = 0; g < all->count; g++)
        if (explains(view, &all->items[g]))
            all->items[kept++] = all->items[g];
    all->count = kept;
}

/* The weight of a kind is shared by its places; variants of one place have shared theirs already. */
static void share_weights(cm_guesses *all)
{
    double weight[CM_MISTAKE_COUNT] = {0};
    for (int g = 0; g < all->count; g++)
        weight[all->items[g].mistake.kind] += all->items[g].prior;
    for (int g = 0; g < all->count; g++)
        all->items[g].prior /= fmax(1, weight[all->items[g].mistake.kind]);
}

/* Counting wrong on the rotor: kinds that may come to the same. */
static bool is_miscount(const cm_guess *guess)
{
    cm_mistake_kind kind = guess->mistake.kind;
    return kind == CM_ANGLE_MIRRORED || kind == CM_OPPOSITE_SIDE || kind == CM_ONE_POSITION_OFF ||
           kind == CM_NUMBERED_THE_OTHER_WAY;
}

static bool same_masses(const cm_view *view, const cm_guess *a, const cm_guess *b)
{
    if (!is_miscount(a) || !is_miscount(b) || a->mistake.plane != b->mistake.plane)
        return false;
    for (int j = 0; j < view->planes; j++)
        if (cabs(a->extra[j] - b->extra[j]) > fmax(view->job->runs->mass_zero, 1e-9 * cabs(a->extra[j])))
            return false;
    return true;
}

static void even_out(const cm_view *view, cm_guesses *all)
{
    unsigned char *done = CM_NEW(view->session, all->count, unsigned char);
    for (int g = 0; g < all->count; g++) {
        double sum = 0;
        int count = 0;
        for (int h = g; h < all->count && !done[g]; h++)
            if (same_masses(view, &all->items[g], &all->items[h])) {
                sum += all->items[h].prior;
                count++;
            }
        for (int h = g; h < all->count && count > 1; h++)
            if (same_masses(view, &all->items[g], &all->items[h])) {
                all->items[h].prior = sum / count;
                done[h] = 1;
            }
    }
}

/* ---- pairs ---- */

/* Mistakes with one plane's masses can be made twice, on different planes or, when they handle different pieces, on one. */
static bool can_pair(const cm_guess *a, const cm_guess *b)
{
    bool masses = a->extra && b->extra && a->above == 0 && b->above == 0 && a->mistake.plane >= 0 &&
                  b->mistake.plane >= 0 && a->mistake.kind != CM_MASS_UNIT &&
                  b->mistake.kind != CM_MASS_UNIT && a->mistake.kind != CM_PLANES_SWAPPED &&
                  b->mistake.kind != CM_PLANES_SWAPPED;
    bool apart = a->mistake.plane != b->mistake.plane;
    bool other_pieces = a->mistake.kind == CM_TRIAL_LEFT_ON || b->mistake.kind == CM_TRIAL_LEFT_ON;
    return masses && (apart || (other_pieces && a->mistake.kind != b->mistake.kind));
}

static void add_pair(const cm_view *view, cm_guesses *all, int a, int b)
{
    cm_mistake mistake = all->items[a].mistake;
    cm_guess *pair = add(view, all, mistake, CM_TWIST_NONE);
    const cm_guess *first = &all->items[a], *second = &all->items[b];
    pair->second = second->mistake;
    pair->has_second = true;
    pair->prior = PAIR_WEIGHT * first->prior * second->prior;
    pair->extra = nothing(view);
    for (int j = 0; j < view->planes; j++)
        pair->extra[j] = first->extra[j] + second->extra[j];
}

/* Both the wrong way round and on the opposite side. */
static void pair_mirrored(const cm_view *view, cm_guesses *all, int a, int b)
{
    int j = all->items[a].mistake.plane;
    if (all->items[a].mistake.kind != CM_ANGLE_MIRRORED || all->items[b].mistake.kind != CM_OPPOSITE_SIDE ||
        j != all->items[b].mistake.plane || j < 0)
        return;
    add_pair(view, all, a, b);
    all->items[all->count - 1].extra[j] = -mirrored(view, j, view->added[j]) - 2 * view->added[j];
}

static void guess_pairs(const cm_view *view, cm_guesses *all)
{
    int singles = all->count, pairs = 0, paired = 0;
    for (int a = 0; a < singles && paired < MOST_SINGLES_PAIRED && pairs < MOST_PAIRS; a++) {
        paired += all->items[a].extra != NULL;
        for (int b = a + 1; b < singles && pairs < MOST_PAIRS; b++) {
            if (can_pair(&all->items[a], &all->items[b])) {
                add_pair(view, all, a, b);
                pairs++;
            }
            pair_mirrored(view, all, a, b);
        }
    }
}

cm_guesses cm_guess_all(const cm_view *view)
{
    cm_guesses all = {0};
    guess_changes(view, &all);
    guess_sites(view, &all);
    guess_left_on(view, &all);
    guess_came_off(view, &all);
    guess_swapped(view, &all);
    guess_unit(view, &all);
    guess_radius(view, &all);
    guess_readings(view, &all);
    sift(view, &all);
    share_weights(&all);
    even_out(view, &all);
    guess_pairs(view, &all);
    return all;
}
