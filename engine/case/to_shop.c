/* SPDX-License-Identifier: MIT */
/* Positions, pieces, grooves and drills of a case as arrays in SI and one frame. */
#include "case/arrays.h"
#include "base/constants.h"
#include "countermass/place.h"
#include "model/given.h"

#include <math.h>
#include <stdlib.h>

/* Angles this close (rad) are one, masses this close (as a share) the same piece. */
#define SAME_ANGLE 1e-9
#define SAME_MASS 1e-9

/* ---- positions ---- */

static bool is_blocked(const cm_sites *sites, int number)
{
    for (int i = 0; i < sites->blocked_count; i++)
        if (sites->blocked[i] == number)
            return true;
    return false;
}

/* What masses on the rotor now leave at a position; those that were put there and taken away again cancel. */
static double complex sitting_at(const cm_case *c, int plane, int number)
{
    const cm_mass_list *list = cm_now_masses(c);
    double complex sum = 0;
    for (int i = 0; i < list->count; i++)
        if (list->items[i].plane == plane && list->items[i].sited && list->items[i].site == number)
            sum += list->items[i].mass;
    return sum;
}

static bool is_taken(const cm_case *c, int plane, int number)
{
    const cm_plane *p = &c->planes[plane];
    for (int i = 0; i < p->installed_count; i++)
        if (p->installed[i].number == number)
            return true;
    double complex sum = sitting_at(c, plane, number);
    return hypot(creal(sum), cimag(sum)) > cm_mass_zero_of(c);
}

static void put_sites(cm_session *session, const cm_case *c, int plane, cm_shop_plane *shop)
{
    const cm_sites *given = &c->planes[plane].sites;
    cm_shop_site *sites = CM_NEW(session, given->count, cm_shop_site);
    for (int i = 0; i < given->count; i++) {
        int number = given->first_number + i;
        sites[i] = (cm_shop_site){.number = number,
                                  .direction = cm_mass_from_user(c, plane, 1, cm_site_degrees(c, given, i)),
                                  .blocked = is_blocked(given, number),
                                  .taken = is_taken(c, plane, number)};
    }
    shop->sites = sites;
    shop->site_count = given->count;
}

/* ---- pieces ---- */

static void put_pieces(cm_session *session, const cm_plane *plane, cm_shop_plane *shop)
{
    cm_shop_piece *pieces = CM_NEW(session, plane->piece_count, cm_shop_piece);
    for (int k = 0; k < plane->piece_count; k++)
        pieces[k] = (cm_shop_piece){plane->pieces[k].mass, plane->pieces[k].screw, plane->pieces[k].replaces,
                                    plane->pieces[k].stock};
    shop->pieces = pieces;
    shop->piece_count = plane->piece_count;
}

/* ---- what sits at positions ---- */

/* Pieces at one position: what is listed as installed, and masses on the rotor now. */
typedef struct cm_seat {
    int count;
    double *mass;   /* that may come out */
    int listed;     /* of them, as installed */
    double removed; /* what was taken away again, not found among them yet */
    int stay;       /* pieces that stay */
} cm_seat;

static bool same_mass(double a, double b)
{
    return fabs(a - b) <= SAME_MASS * fmax(fabs(a), fabs(b));
}

/* A mass on the rotor now that is also listed as installed is one piece, not two. */
static bool is_listed(const cm_seat *seat, unsigned char *met, double mass)
{
    for (int k = 0; k < seat->listed; k++)
        if (!met[k] && same_mass(seat->mass[k], mass)) {
            met[k] = 1;
            return true;
        }
    return false;
}

static void take_off(cm_seat *seat, double mass)
{
    for (int k = 0; k < seat->count; k++)
        if (same_mass(seat->mass[k], mass)) {
            seat->mass[k] = seat->mass[--seat->count];
            return;
        }
    seat->removed += mass;
}

/* What was taken away without being one of the pieces leaves a rest of all of them together. */
static void join_rest(cm_seat *seat)
{
    double sum = -seat->removed;
    if (!(seat->removed > 0))
        return;
    for (int k = 0; k < seat->count; k++)
        sum += seat->mass[k];
    seat->count = sum > 0;
    if (seat->count)
        seat->mass[0] = sum;
}

/* Signed size of a mass at a position, as it is there; 0: it belongs elsewhere. */
static double size_at(const cm_case *c, int plane, int index, const cm_mass *mass, double reduce)
{
    const cm_sites *sites = &c->planes[plane].sites;
    if (mass->plane != plane || !mass->sited || cm_site_index(sites, mass->site) != index)
        return 0;
    return creal(mass->mass / cm_mass_from_user(c, plane, 1, cm_site_degrees(c, sites, index))) / reduce;
}

static cm_seat seat_of(cm_session *session, const cm_case *c, int plane, int index, double reduce)
{
    const cm_plane *p = &c->planes[plane];
    const cm_mass_list *now = cm_now_masses(c);
    cm_seat seat = {.mass = CM_NEW(session, p->installed_count + now->count, double)};
    unsigned char *met = CM_NEW(session, p->installed_count + 1, unsigned char);
    for (int i = 0; i < p->installed_count; i++)
        if (cm_site_index(&p->sites, p->installed[i].number) == index)
            seat.mass[seat.count++] = p->installed[i].mass;
    seat.listed = seat.count;
    for (int i = 0; i < now->count; i++) {
        double size = size_at(c, plane, index, &now->items[i], reduce);
        seat.stay += size > 0 && now->items[i].stays;
        if (size > 0 && !now->items[i].stays && !is_listed(&seat, met, size))
            seat.mass[seat.count++] = size;
    }
    for (int i = 0; i < now->count; i++) {
        double size = size_at(c, plane, index, &now->items[i], reduce);
        if (size < 0 && !now->items[i].stays)
            take_off(&seat, -size);
    }
    join_rest(&seat);
    return seat;
}

static void tell_crowded(cm_session *session, const cm_plane *plane, int number, int there)
{
    if (there > plane->sites.per_site)
        cm_report(
            session, CM_NOTE, &plane->sites.place,
            "position %d of '%s' holds %d pieces (installed, or on the rotor now), more than per_site, %d",
            number, plane->id, there, plane->sites.per_site);
}

/* Pieces that may come out: those listed as installed, and masses on the rotor now at a position that do not stay. */
static void put_installed(cm_session *session, const cm_case *c, int plane, cm_shop_plane *shop)
{
    const cm_plane *p = &c->planes[plane];
    cm_shop_installed *list =
        CM_NEW(session, p->installed_count + cm_now_masses(c)->count, cm_shop_installed);
    int count = 0;
    for (int s = 0; s < shop->site_count; s++) {
        if (!shop->sites[s].taken)
            continue;
        cm_seat seat = seat_of(session, c, plane, s, shop->reduce);
        tell_crowded(session, p, shop->sites[s].number, seat.count + seat.stay);
        for (int k = 0; k < seat.count; k++)
            list[count++] = (cm_shop_installed){s, seat.mass[k]};
    }
    shop->installed = list;
    shop->installed_count = count;
}

static void put_drill(const cm_plane *plane, cm_shop_plane *shop)
{
    if (isnan(plane->drill.diameter))
        return;
    shop->drill_diameter = plane->drill.diameter;
    shop->drill_density = plane->drill.density;
    shop->drill_deepest = plane->drill.deepest;
    shop->drill_point = plane->drill.point * (CM_PI / 180);
    shop->drill_step = plane->drill.step;
}

/* ---- grooves ---- */

static int by_from(const void *a, const void *b)
{
    double first = ((const cm_shop_arc *)a)->from, second = ((const cm_shop_arc *)b)->from;
    return (first > second) - (first < second);
}

static double turned_to_circle(double angle)
{
    double turned = fmod(angle, 2 * CM_PI);
    return turned < 0 ? turned + 2 * CM_PI : turned;
}

/* A blocked stretch in the frame: the user's [from, to] runs backwards where angles count against rotation. A whole turn
 * or more blocks everything, from an angle to itself nothing. */
static cm_shop_arc blocked_arc(const cm_case *c, int plane, const double arc[2])
{
    double from = c->against_rotation ? -arc[1] : arc[0], to = c->against_rotation ? -arc[0] : arc[1];
    double width = turned_to_circle((to - from) * (CM_PI / 180));
    if (fabs(to - from) >= 360)
        width = 2 * CM_PI;
    return (cm_shop_arc){turned_to_circle(from * (CM_PI / 180) + c->planes[plane].zero), width};
}

/* What lies between the blocked stretches, which are sorted first. Stretches that reach over angle 0 cover the beginning
 * too; the free one that lies there is put together again. */
static int free_arcs(cm_shop_arc *blocked, int count, cm_shop_arc *free)
{
    int arcs = 0;
    double end = 0;
    qsort(blocked, (size_t)count, sizeof *blocked, by_from);
    for (int i = 0; i < count; i++)
        end = fmax(end, blocked[i].from + blocked[i].width - 2 * CM_PI);
    for (int i = 0; i < count; i++) {
        if (blocked[i].from > end)
            free[arcs++] = (cm_shop_arc){end, blocked[i].from - end};
        end = fmax(end, blocked[i].from + blocked[i].width);
    }
    if (end < 2 * CM_PI)
        free[arcs++] = (cm_shop_arc){end, 2 * CM_PI - end};
    bool over_zero = arcs > 1 && free[0].from <= 0 && free[arcs - 1].from + free[arcs - 1].width >= 2 * CM_PI;
    if (over_zero) {
        free[0] = (cm_shop_arc){free[arcs - 1].from, free[arcs - 1].width + free[0].width};
        arcs--;
    }
    return arcs;
}

static bool on_one_line(double complex a, double complex b)
{
    return fabs(cimag(conj(a) * b)) <= SAME_ANGLE * hypot(creal(a), cimag(a)) * hypot(creal(b), cimag(b));
}

/* Old masses sit in the groove as one piece each does; those that were taken away again are gone. Returns how many. */
static int put_old_pieces(const cm_case *c, int plane, double piece_angle, cm_shop_arc *blocked)
{
    const cm_mass_list *now = cm_now_masses(c);
    int count = 0;
    for (int i = 0; i < now->count; i++) {
        double complex sum = 0;
        bool first = now->items[i].plane == plane;
        for (int k = 0; first && k < now->count; k++) {
            if (now->items[k].plane != plane || !on_one_line(now->items[i].mass, now->items[k].mass))
                continue;
            first = k >= i;
            sum += now->items[k].mass;
        }
        if (first && hypot(creal(sum), cimag(sum)) > cm_mass_zero_of(c))
            blocked[count++] =
                (cm_shop_arc){turned_to_circle(atan2(cimag(sum), creal(sum)) - piece_angle / 2), piece_angle};
    }
    return count;
}

static void put_arcs(cm_session *session, const cm_case *c, int plane, cm_shop_plane *shop)
{
    const cm_groove *groove = &c->planes[plane].groove;
    int count = groove->blocked_count, room = count + cm_now_masses(c)->count + 1;
    cm_shop_arc *blocked = CM_NEW(session, room, cm_shop_arc), *free = CM_NEW(session, room, cm_shop_arc);
    for (int i = 0; i < count; i++)
        blocked[i] = blocked_arc(c, plane, groove->blocked[i]);
    count += put_old_pieces(c, plane, shop->piece_angle, blocked + count);
    shop->arc_count = free_arcs(blocked, count, free);
    shop->arcs = free;
}

static void put_groove(cm_session *session, const cm_case *c, int plane, cm_shop_plane *shop)
{
    const cm_plane *p = &c->planes[plane];
    if (isnan(p->groove.piece_length))
        return;
    if (isnan(shop->radius))
        cm_report(session, CM_ERROR, &p->place,
                  "the plane '%s' has a groove but no 'radius', so a length along it is no angle", p->id);
    shop->piece_angle = p->groove.piece_length / shop->radius;
    put_arcs(session, c, plane, shop);
}

/* ---- planes ---- */

static double radius_of(const cm_plane *plane)
{
    double own = isnan(plane->groove.radius) ? plane->sites.radius : plane->groove.radius;
    return isnan(own) ? plane->radius : own;
}

static cm_shop_plane shop_plane(cm_session *session, const cm_case *c, int plane)
{
    const cm_plane *p = &c->planes[plane];
    double radius = radius_of(p);
    cm_shop_plane shop = {.used = 1,
                          .name = p->id,
                          .radius = radius,
                          .reduce = isnan(p->radius) ? 1 : radius / p->radius,
                          .action = (cm_shop_action)p->action,
                          .per_site = p->sites.per_site,
                          .most = p->sites.most,
                          .site_screw = p->sites.screw};
    put_sites(session, c, plane, &shop);
    put_pieces(session, p, &shop);
    put_installed(session, c, plane, &shop);
    put_drill(p, &shop);
    put_groove(session, c, plane, &shop);
    return shop;
}

static bool has_room(const cm_plane *plane)
{
    return plane->sites.count > 0 || !isnan(plane->groove.piece_length);
}

/* The piece comes in place of one plug; of a second piece at the same position nobody knows what it takes the place of. */
static void check_replaces(cm_session *session, const cm_plane *plane)
{
    for (int k = 0; plane->sites.per_site > 1 && k < plane->piece_count; k++)
        if (plane->pieces[k].replaces > 0) {
            cm_report(session, CM_ERROR, &plane->sites.place,
                      "'%s' has positions for %d pieces and a piece that 'replaces' what sits there; of "
                      "several pieces at one position it is not known which takes the plug out. Set per_site "
                      "to 1, or leave 'replaces' out and give the mass that is gained",
                      plane->id, plane->sites.per_site);
            return;
        }
}

static void check_pieces(cm_session *session, const cm_plane *plane)
{
    check_replaces(session, plane);
    if (!isnan(plane->groove.piece_length) && plane->action == (int)CM_ACTION_REMOVE)
        cm_report(
            session, CM_ERROR, &plane->action_place,
            "the plane '%s' has 'action: remove' and a 'groove': pieces are only put into a groove; leave "
            "'action' out, or give 'sites' with what is 'installed' there",
            plane->id);
    if (plane->piece_count == 0 && plane->action == (int)CM_ACTION_ADD)
        cm_report(session, CM_ERROR, &plane->place,
                  "the plane '%s' has positions but no 'pieces'; write, for example, pieces: [{mass: 20, "
                  "stock: 12}]",
                  plane->id);
}

/* ---- what pieces cannot keep ---- */

static void check_question(cm_session *session, const cm_case *c, const cm_problem *problem)
{
    const cm_objective goal = problem->objective;
    if (goal != CM_LEAST_SQUARES && goal != CM_MIN_MAX)
        cm_report(session, CM_ERROR, &c->goal.minimise_place,
                  "place can minimise least-squares or min-max only, the latter also with within_limits");
    if (c->goal.has_then)
        cm_report(session, CM_NOTE, &c->goal.then_place,
                  "place minimises the first objective only; 'then' is left out");
    if (problem->tie_count) {
        const cm_place *place = c->goal.tie_count ? &c->goal.ties[0].place : &c->goal.minimise_place;
        cm_report(session, CM_ERROR, place->line ? place : NULL,
                  "real pieces cannot keep ties between planes, nor the ratios of sets; take 'ties' out and "
                  "list single "
                  "planes under 'use_planes'");
    }
}

static void tell_unused(cm_session *session, const cm_case *c, const cm_problem *problem)
{
    if (problem->then)
        cm_report(session, CM_NOTE, &c->goal.then_place,
                  "pieces are placed for the first objective; objective.then is left out");
    for (int j = 0; j < c->plane_count; j++)
        if (!problem->held[j] && !has_room(&c->planes[j]))
            cm_report(session, CM_NOTE, &c->planes[j].place,
                      "the plane '%s' has neither 'sites' nor a 'groove': it stays as it is",
                      c->planes[j].id);
}

int cm_case_has_shop(const cm_case *c, const cm_problem *problem)
{
    bool goal = problem->objective == CM_LEAST_SQUARES || problem->objective == CM_MIN_MAX;
    bool kept = goal && !problem->tie_count && problem->planes == c->plane_count;
    int count = 0;
    for (int j = 0; kept && j < c->plane_count; j++) {
        const cm_plane *plane = &c->planes[j];
        if ((problem->held && problem->held[j]) || !has_room(plane))
            continue;
        if (plane->piece_count == 0 && plane->action == (int)CM_ACTION_ADD)
            return 0;
        count++;
    }
    return count > 0;
}

cm_status cm_case_shop(cm_session *session, const cm_case *c, const cm_problem *asked, const cm_shop **out)
{
    CM_ENTER(session);
    const cm_problem *problem = cm_given_problem(session, asked);
    if (problem->planes != c->plane_count)
        cm_fail(session, CM_BAD_INPUT, "cm_case_shop: the problem has %d planes, the case %d",
                problem->planes, c->plane_count);
    cm_shop *shop = CM_NEW(session, 1, cm_shop);
    cm_shop_plane *planes = CM_NEW(session, c->plane_count, cm_shop_plane);
    int count = 0;
    check_question(session, c, problem);
    tell_unused(session, c, problem);
    for (int j = 0; j < c->plane_count; j++) {
        if (problem->held[j] || !has_room(&c->planes[j]))
            continue;
        check_pieces(session, &c->planes[j]);
        planes[j] = shop_plane(session, c, j);
        count++;
    }
    if (!count) {
        cm_place whole = {c->file, 1, 1};
        cm_report(session, CM_ERROR, &whole,
                  "no plane in use says where pieces go; give the planes 'sites' and 'pieces', such as "
                  "sites: {count: 24}, "
                  "pieces: [{mass: 20}]");
    }
    cm_fail_on_errors(session);
    *shop = (cm_shop){.size = sizeof *shop, .planes = c->plane_count, .plane = planes};
    *out = shop;
    return cm_leave(session);
}
