/* SPDX-License-Identifier: MIT */
/*
 * What to mount, from where the rotor stands now: each mass in words and in a
 * table with force and rim speed; both ways when masses are on the rotor. Then
 * what each plane carries afterwards.
 */
#include "page/mount.h"

#include "base/complex.h"
#include "model/overspeed.h"
#include "standards/hazard.h"

#include <math.h>

static const cm_run *last_run(const cm_case *c)
{
    return c->run_count ? &c->runs[c->run_count - 1] : NULL;
}

/* What cannot come off: masses on the rotor now that stay. */
static double complex staying(const cm_case *c, int plane)
{
    const cm_mass_list *list = c->has_now ? &c->now : c->run_count ? &last_run(c)->masses : NULL;
    double complex sum = 0;
    for (int i = 0; list && i < list->count; i++)
        if (list->items[i].plane == plane && list->items[i].stays)
            sum += list->items[i].mass;
    return sum;
}

/* Masses to mount on every plane: from now on, or with what can come off taken off first. */
double complex *cm_to_mount(cm_session *session, const cm_job *job, bool off_first)
{
    double complex *mass = CM_NEW(session, job->problem->planes, double complex);
    for (int j = 0; j < job->problem->planes; j++) {
        double complex start = off_first ? staying(job->given, j) : job->problem->now[j];
        mass[j] = job->answer->x[j] - start;
    }
    return mass;
}

/* Decimals that show the largest mass of the job with four digits. */
int cm_mass_decimals(const cm_job *job)
{
    double largest = 0;
    for (int j = 0; j < job->problem->planes; j++)
        largest = fmax(largest, fmax(cm_abs(job->answer->x[j]), cm_abs(job->problem->now[j])));
    return cm_decimals(cm_user_kilograms(job, largest), 4);
}

/* ", radius 260 mm,": a mass without its radius is half an answer. */
const char *cm_at_radius(cm_session *session, const cm_job *job, int plane)
{
    double radius = job->given->planes[plane].radius / job->given->length_unit->factor;
    return isnan(radius) ? ""
                         : cm_format(session, ", radius %s %s,", cm_digits(session, radius, 4),
                                     job->given->length_unit->name);
}

static void say_masses(cm_document *d, const cm_job *job, const double complex *mass)
{
    const char *unit = job->given->mass_unit->name;
    for (int j = 0; j < job->problem->planes; j++) {
        cm_size_angle m = cm_user_mass(job, j, mass[j]);
        const char *plane = cm_short_name(d->session, job->given->planes[j].id);
        if (m.size <= 0)
            cm_item(d, CM_PLAIN, "%s: nothing to mount.", plane);
        else
            cm_item(d, CM_PLAIN, "%s: %s %s%s at %s.", plane,
                    cm_decimal(d->session, m.size, cm_mass_decimals(job)), unit,
                    cm_at_radius(d->session, job, j), cm_direction(d->session, job->given, j, m.angle));
    }
}

static void add_mass_row(cm_document *d, cm_table *table, const cm_job *job, int plane, double complex mass)
{
    bool assumed;
    double omega = cm_overspeed_of(job->given, &assumed);
    double radius = job->given->planes[plane].radius;
    cm_size_angle m = cm_user_mass(job, plane, mass);
    const char *cells[] = {
        job->given->planes[plane].id,
        cm_decimal(d->session, m.size, cm_mass_decimals(job)),
        cm_degrees(d->session, m.angle, 1),
        cm_digits(d->session, cm_mass_radius(job, plane), 2),
        cm_digits(d->session, radius / job->given->length_unit->factor, 4),
        cm_decimal(d->session, cm_centrifugal_force(cabs(mass), radius, omega), 0),
        cm_decimal(d->session, cm_rim_speed(radius, omega), 0),
    };
    cm_table_row(d, table, cells);
}

void cm_mount_table(cm_document *d, const cm_job *job, const double complex *mass)
{
    const cm_column columns[] = {
        {"plane", NULL, false, true, 0},
        {"mass", job->given->mass_unit->name, true, false, 0},
        {"angle", "degrees", true, false, 0},
        {"± 90 %", job->given->mass_unit->name, true, false, 0},
        {"radius", job->given->length_unit->name, true, false, 0},
        {"force", "N", true, false, 0},
        {"rim speed", "m/s", true, false, 0},
    };
    cm_table *table = cm_table_open(d, sizeof columns / sizeof *columns, columns);
    for (int j = 0; j < job->problem->planes; j++)
        if (cabs(mass[j]) > job->runs->mass_zero)
            add_mass_row(d, table, job, j, mass[j]);
}

/* Force and rim speed rest on a speed, a radius and a spread: say which. */
void cm_say_overspeed(cm_document *d, const cm_job *job)
{
    bool assumed, radius_missing = false;
    double omega = cm_overspeed_of(job->given, &assumed);
    double shown = omega / job->given->speed_unit->factor;
    const char *unit = cm_unit_words(job->given->speed_unit);
    cm_say(
        d, assumed ? CM_CAREFUL : CM_PLAIN, "Force and rim speed are for %s of %s %s%s",
        assumed ? "an overspeed" : "the overspeed", cm_digits(d->session, shown, 5), unit,
        assumed
            ? " that is assumed: 1.1 times the highest speed in the case. If the machine can run faster than "
              "that, "
              "write rotor: {overspeed: ...} into the case. ± 90 %: the radius around the mass that holds "
              "the "
              "true best mass in 9 of 10 cases (-: not available)."
            : ". ± 90 %: the radius around the mass that holds the true best mass in 9 of 10 cases (-: not "
              "available).");
    for (int j = 0; j < job->problem->planes; j++)
        radius_missing |= isnan(job->given->planes[j].radius);
    if (radius_missing)
        cm_say(d, CM_CAREFUL,
               "Planes without a radius in the case have no force and no rim speed here (-): work them "
               "out before mounting anything.");
}

static void say_way(cm_document *d, const cm_job *job, bool off_first)
{
    const double complex *mass = cm_to_mount(d->session, job, off_first);
    bool any = false;
    for (int j = 0; j < job->problem->planes; j++)
        any |= cabs(mass[j]) > job->runs->mass_zero;
    say_masses(d, job, mass);
    if (any)
        cm_mount_table(d, job, mass);
}

bool cm_anything_on(const cm_job *job)
{
    for (int j = 0; j < job->problem->planes; j++)
        if (cabs(job->problem->now[j] - staying(job->given, j)) > job->runs->mass_zero)
            return true;
    return false;
}

/* Anything among the masses on the rotor now that cannot come off. */
bool cm_anything_stays(const cm_job *job)
{
    for (int j = 0; j < job->problem->planes; j++)
        if (cabs(staying(job->given, j)) > job->runs->mass_zero)
            return true;
    return false;
}

void cm_say_on_rotor(cm_document *d, const cm_job *job)
{
    const char *list = "";
    for (int j = 0; j < job->problem->planes; j++) {
        cm_size_angle m = cm_user_mass(job, j, job->problem->now[j]);
        if (m.size > 0)
            list = cm_format(d->session, "%s%s%s %s at %s on %s", list, *list ? "; " : "",
                             cm_decimal(d->session, m.size, cm_mass_decimals(job)),
                             job->given->mass_unit->name, cm_direction(d->session, job->given, j, m.angle),
                             cm_short_name(d->session, job->given->planes[j].id));
    }
    const char *source = job->given->has_now || !job->given->run_count
                             ? "as the case says under now"
                             : cm_format(d->session, "left from the last run, %s",
                                         cm_short_name(d->session, last_run(job->given)->id));
    cm_say(d, CM_PLAIN, "On the rotor now (%s): %s.", source, list);
}

void cm_words_mount(cm_document *d, const cm_job *job)
{
    const char *missed = cm_last_run_words(d->session, job);
    cm_section(d, "WHAT TO MOUNT");
    if (missed)
        cm_say(d, CM_BAD, "%s", missed);
    if (cm_anything_on(job)) {
        cm_say_on_rotor(d, job);
        cm_say(d, CM_PLAIN, "If these masses stay on, add:");
        say_way(d, job, false);
        cm_say(d, CM_PLAIN, "If %s off first, mount this instead, not as well:",
               cm_anything_stays(job) ? "all of them that can come off are taken" : "they are all taken");
        say_way(d, job, true);
    } else {
        cm_say(d, CM_PLAIN,
               cm_anything_stays(job) ? "What is on the rotor now has to stay. Add:"
                                      : "Nothing is on the rotor now. Mount:");
        say_way(d, job, false);
    }
    cm_say(d, CM_PLAIN,
           "Taking the same mass away on the opposite side (180 degrees on) at the same radius does the "
           "same.");
    cm_say_overspeed(d, job);
}

static const char *plane_state(const cm_job *job, int plane)
{
    bool same = cabs(job->answer->x[plane] - job->problem->now[plane]) <= job->runs->mass_zero;
    if (job->problem->held[plane])
        return job->given->goal.fixed && job->given->goal.fixed[plane] ? "held by the case"
               : same                                                  ? "not in use, kept as it is"
                                                                       : "not in use";
    if (job->answer->at_cap[plane])
        return "at its greatest";
    return isfinite(job->given->planes[plane].cap) ? "room left" : "";
}

static void add_total_row(cm_document *d, cm_table *table, const cm_job *job, int plane)
{
    bool assumed;
    const cm_plane *where = &job->given->planes[plane];
    cm_size_angle m = cm_user_mass(job, plane, job->answer->x[plane]);
    double force = cm_centrifugal_force(cabs(job->answer->x[plane]), where->radius,
                                        cm_overspeed_of(job->given, &assumed));
    const char *cells[] = {
        where->id,
        cm_decimal(d->session, m.size, cm_mass_decimals(job)),
        cm_degrees(d->session, m.angle, 1),
        isfinite(where->cap) ? cm_digits(d->session, cm_user_kilograms(job, where->cap), 4) : "-",
        cm_decimal(d->session, force, 0),
        plane_state(job, plane),
    };
    cm_table_row(d, table, cells);
}

void cm_words_totals(cm_document *d, const cm_job *job)
{
    const char *unit = job->given->mass_unit->name;
    const cm_column columns[] = {
        {"plane", NULL, false, true, 0},      {"total", unit, true, false, 0},
        {"angle", "degrees", true, false, 0}, {"greatest", unit, true, false, 0},
        {"force", "N", true, false, 0},       {"", NULL, false, false, 0},
    };
    double sum = 0;
    cm_section(d, "ON EACH PLANE AFTERWARDS, COUNTED FROM AS-FOUND");
    cm_table *table = cm_table_open(d, sizeof columns / sizeof *columns, columns);
    for (int j = 0; j < job->problem->planes; j++) {
        add_total_row(d, table, job, j);
        sum += cm_user_mass(job, j, job->answer->x[j]).size;
    }
    cm_say(d, CM_PLAIN, "All planes together: %s %s.", cm_decimal(d->session, sum, cm_mass_decimals(job)),
           unit);
}
