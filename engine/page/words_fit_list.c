/* SPDX-License-Identifier: MIT */
/*
 * The fit list, plane by plane: where the positions are, then one line a position in their order with pieces, mass with
 * screw, running total, force and rim speed. Everything that is needed to check it by hand stands on the page.
 */
#include "page/words_place.h"

#include <math.h>

const char *cm_site_word(const cm_case *c, int plane)
{
    const char *called = c->planes[plane].sites.called;
    return called ? called : "position";
}

static const char *mass_digits(cm_session *session, const cm_job *job, double mass)
{
    return cm_digits(session, cm_user_kilograms(job, mass), 5);
}

static const char *length_words(cm_session *session, const cm_job *job, double metres)
{
    const cm_unit *unit = job->given->length_unit;
    return cm_format(session, "%s %s", cm_digits(session, metres / unit->factor, 5), unit->name);
}

/* ---- pieces in words ---- */

static const char *one_kind(cm_session *session, const cm_job *job, const cm_fit_piece *piece)
{
    const char *mass = mass_digits(session, job, piece->mass);
    if (piece->screw > 0)
        mass = cm_format(session, "%s (+%s)", mass, mass_digits(session, job, piece->screw));
    if (piece->replaces > 0)
        mass = cm_format(session, "%s for %s", mass, mass_digits(session, job, piece->replaces));
    return piece->count == 1 ? mass : cm_format(session, "%d x %s", piece->count, mass);
}

const char *cm_fit_words(cm_session *session, const cm_job *job, const cm_fit_entry *entry)
{
    const char *words = entry->kind == CM_FIT_TAKE_OUT ? "take out " : "";
    if (entry->kind == CM_FIT_DRILL)
        return cm_format(session, "drill %s deep", length_words(session, job, entry->depth));
    for (int i = 0; i < entry->piece_count; i++)
        words =
            cm_format(session, "%s%s%s", words, i ? " + " : "", one_kind(session, job, &entry->pieces[i]));
    return words;
}

/* ---- the table ---- */

enum { COLUMNS = 7 };

static const char *polar_words(cm_session *session, cm_size_angle mass)
{
    return cm_format(session, "%s @ %s", cm_decimal(session, mass.size, 2),
                     cm_degrees(session, mass.angle, 1));
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, const cm_fit_entry *entry)
{
    double angle = cm_mass_angle_to_user(job->given, entry->plane, entry->direction);
    const char *cells[COLUMNS] = {
        entry->site < 0 ? "any" : cm_format(d->session, "%d", entry->number),
        cm_degrees(d->session, angle, entry->site < 0 ? 2 : 1),
        cm_fit_words(d->session, job, entry),
        cm_decimal(d->session, cm_user_kilograms(job, entry->mass), 2),
        polar_words(d->session, cm_user_mass(job, entry->plane, entry->running)),
        cm_decimal(d->session, entry->piece_force, 0),
        cm_decimal(d->session, entry->rim_speed, 0),
    };
    cm_table_row(d, table, cells);
}

static void add_table(cm_document *d, const cm_job *job, const cm_fitting *fitting, int plane)
{
    const char *unit = job->given->mass_unit->name;
    const cm_column columns[COLUMNS] = {
        {.head = cm_site_word(job->given, plane), .right = true, .key = true},
        {.head = "angle", .unit = "deg", .right = true},
        {.head = "pieces", .unit = unit},
        {.head = "mass", .unit = unit, .right = true},
        {.head = "running total", .unit = cm_format(d->session, "%s @ deg", unit), .right = true},
        {.head = "force", .unit = "N", .right = true},
        {.head = "rim", .unit = "m/s", .right = true},
    };
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    for (int i = 0; i < fitting->entry_count; i++)
        if (fitting->entries[i].plane == plane)
            add_row(d, table, job, &fitting->entries[i]);
}

/* ---- where the positions are ---- */

/* "1, 2, 5": numbers of the positions with a mark. */
static const char *numbers(cm_session *session, const cm_shop_plane *shop, bool taken)
{
    const char *words = "";
    for (int s = 0; s < shop->site_count; s++) {
        const cm_shop_site *site = &shop->sites[s];
        if (taken ? site->taken : site->blocked)
            words = cm_format(session, "%s%s%d", words, *words ? ", " : "", site->number);
    }
    return words;
}

static void say_spaced(cm_document *d, const cm_job *job, int plane)
{
    const cm_sites *sites = &job->given->planes[plane].sites;
    const char *word = cm_site_word(job->given, plane);
    bool with = sites->numbered == CM_NUMBERED_UNSAID ? !job->given->against_rotation
                                                      : sites->numbered == CM_NUMBERED_WITH;
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    double first = cm_mass_angle_to_user(job->given, plane, shop->sites[0].direction);
    cm_item(d, CM_PLAIN, "%d %ss, %s degrees apart. Number %d is at %s; numbers grow %s rotation.",
            sites->count, word, cm_digits(d->session, 360.0 / sites->count, 6), sites->first_number,
            cm_direction(d->session, job->given, plane, first), with ? "with" : "against");
}

static void say_listed(cm_document *d, const cm_job *job, int plane)
{
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    const char *words = "";
    for (int s = 0; s < shop->site_count; s++)
        words = cm_format(
            d->session, "%s%s%d at %s", words, s ? ", " : "", shop->sites[s].number,
            cm_degrees(d->session, cm_mass_angle_to_user(job->given, plane, shop->sites[s].direction), 1));
    cm_item(d, CM_PLAIN, "%d %ss, by number and angle in degrees %s from %s: %s.", shop->site_count,
            cm_site_word(job->given, plane), cm_sense(job->given),
            fabs(job->given->planes[plane].zero) > 0 ? "the plane's own zero" : "the reference mark", words);
}

static void say_groove(cm_document *d, const cm_job *job, int plane)
{
    const cm_groove *groove = &job->given->planes[plane].groove;
    cm_item(d, CM_PLAIN,
            "A groove: pieces of %s along it slide to any free angle, here to the angle of their middle.",
            length_words(d->session, job, groove->piece_length));
    for (int i = 0; i < groove->blocked_count; i++)
        cm_item(d, CM_PLAIN, "No room from %s on to %s degrees.",
                cm_degrees(d->session, fmod(groove->blocked[i][0], 360), 1),
                cm_degrees(d->session, fmod(groove->blocked[i][1], 360), 1));
}

static void say_taken(cm_document *d, const cm_job *job, int plane)
{
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    const char *blocked = numbers(d->session, shop, false), *taken = numbers(d->session, shop, true);
    if (*blocked)
        cm_item(d, CM_PLAIN, "Blocked: %s.", blocked);
    if (*taken)
        cm_item(d, CM_PLAIN, "Carry something already: %s.", taken);
}

static void say_positions(cm_document *d, const cm_job *job, int plane)
{
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    if (shop->arc_count || !isnan(job->given->planes[plane].groove.piece_length))
        say_groove(d, job, plane);
    else if (job->given->planes[plane].sites.angles)
        say_listed(d, job, plane);
    else
        say_spaced(d, job, plane);
    say_taken(d, job, plane);
    if (isnan(shop->radius))
        cm_item(
            d, CM_CAREFUL,
            "Radius not given: forces and rim speeds are not known. Work them out before anything turns.");
    else if (fabs(shop->reduce - 1) > 1e-12)
        cm_item(d, CM_PLAIN,
                "They sit at radius %s; totals count at the plane's radius of %s, so a mass here counts %s "
                "times.",
                length_words(d->session, job, shop->radius),
                length_words(d->session, job, job->given->planes[plane].radius),
                cm_digits(d->session, shop->reduce, 5));
    else
        cm_item(d, CM_PLAIN, "They sit at radius %s.", length_words(d->session, job, shop->radius));
}

/* ---- one plane ---- */

static const char *screw_words(cm_session *session, const cm_job *job, int plane)
{
    const cm_shop_plane *shop = &job->placement->shop->plane[plane];
    const char *words = "";
    bool own = false;
    if (shop->site_screw > 0)
        words = cm_format(session, " Every %s that is filled takes a screw of %s %s.",
                          cm_site_word(job->given, plane), mass_digits(session, job, shop->site_screw),
                          job->given->mass_unit->name);
    for (int k = 0; k < shop->piece_count; k++)
        own = own || shop->pieces[k].screw > 0;
    return own ? cm_format(session, "%s In brackets: the screw that comes with each piece.", words) : words;
}

static bool has_entries(const cm_fitting *fitting, int plane)
{
    for (int i = 0; i < fitting->entry_count; i++)
        if (fitting->entries[i].plane == plane)
            return true;
    return false;
}

static void say_totals(cm_document *d, const cm_job *job, int plane)
{
    const cm_fitting *fitting = &job->placement->best;
    const char *unit = job->given->mass_unit->name;
    cm_size_angle now = cm_user_mass(job, plane, job->problem->now[plane]);
    cm_size_angle total = cm_user_mass(job, plane, fitting->x[plane]);
    cm_size_angle change = cm_user_mass(job, plane, fitting->x[plane] - job->problem->now[plane]);
    cm_item(d, CM_PLAIN, "Together this changes the plane by %s %s at %s.",
            cm_decimal(d->session, change.size, 2), unit,
            cm_direction(d->session, job->given, plane, change.angle));
    if (now.size > 0)
        cm_item(d, CM_PLAIN,
                "The running total begins with what is on the plane now, %s %s at %s degrees, and ends at %s "
                "%s at %s degrees.",
                cm_decimal(d->session, now.size, 2), unit, cm_degrees(d->session, now.angle, 1),
                cm_decimal(d->session, total.size, 2), unit, cm_degrees(d->session, total.angle, 1));
}

static void say_drilled(cm_document *d, const cm_job *job, int plane)
{
    const cm_fitting *fitting = &job->placement->best;
    const cm_drill *drill = &job->given->planes[plane].drill;
    for (int i = 0; i < fitting->entry_count; i++) {
        const cm_fit_entry *entry = &fitting->entries[i];
        if (entry->plane == plane && entry->kind == CM_FIT_DRILL)
            cm_item(d, CM_PLAIN,
                    "%s %d: diameter %s, %s down to the tip of the point (%s degrees), of this %s at full "
                    "diameter; takes %s %s.",
                    cm_site_word(job->given, plane), entry->number,
                    length_words(d->session, job, drill->diameter),
                    length_words(d->session, job, entry->depth), cm_digits(d->session, drill->point, 4),
                    length_words(d->session, job, entry->full_depth),
                    mass_digits(d->session, job, -entry->mass), job->given->mass_unit->name);
    }
}

static void say_plane(cm_document *d, const cm_job *job, int plane)
{
    const cm_fitting *fitting = &job->placement->best;
    cm_section(d, "FIT LIST OF %s", cm_short_name(d->session, job->given->planes[plane].id));
    say_positions(d, job, plane);
    if (!has_entries(fitting, plane)) {
        cm_say(d, CM_GOOD, "Nothing to fit here.");
        return;
    }
    add_table(d, job, fitting, plane);
    say_totals(d, job, plane);
    say_drilled(d, job, plane);
    cm_item(d, CM_PLAIN,
            "mass: what is added, screws included and what comes out taken off; negative: taken away. force: "
            "of the heaviest single piece with its screw.%s",
            screw_words(d->session, job, plane));
}

void cm_words_fit_lists(cm_document *d, const cm_job *job)
{
    for (int j = 0; j < job->problem->planes; j++)
        if (job->placement->shop->plane[j].used)
            say_plane(d, job, j);
}
