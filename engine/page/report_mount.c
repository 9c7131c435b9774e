/* SPDX-License-Identifier: MIT */
/* The first screen: what the answer is, and one card a plane for the person who mounts. */
#include "page/figures.h"
#include "page/mount.h"
#include "page/report.h"
#include "page/words_place.h"

#include "model/overspeed.h"
#include "standards/hazard.h"

#include <math.h>

enum { IN_A_LINE = 8 };

/* The masses in one line, for who reads no further; of many planes only their number. */
static const char *masses_in_a_line(cm_session *session, const cm_job *job, const double complex *mass)
{
    const char *list = "";
    int count = 0;
    for (int j = 0; j < job->problem->planes; j++) {
        cm_size_angle m = cm_user_mass(job, j, mass[j]);
        if (m.size <= 0)
            continue;
        list = cm_format(session, "%s%s%s %s %s at %s°", list, count++ ? "; " : "",
                         cm_short_name(session, job->given->planes[j].id),
                         cm_decimal(session, m.size, cm_mass_decimals(job)), job->given->mass_unit->name,
                         cm_degrees(session, m.angle, 1));
    }
    return count == 0          ? "nothing"
           : count > IN_A_LINE ? cm_format(session, "masses on %d planes, below", count)
                               : list;
}

static void say_masses(cm_document *d, const cm_job *job)
{
    if (cm_has_fit_list(job))
        cm_item(d, CM_PLAIN, "Mount now: the pieces of the fit list below.");
    else
        cm_item(d, CM_PLAIN, "Mount now%s: %s.",
                cm_anything_on(job) ? ", with what is on the rotor left on" : "",
                masses_in_a_line(d->session, job, cm_to_mount(d->session, job, false)));
    cm_item(d, CM_PLAIN,
            "Check before the start: angle zero and the way angles count, radius and mass of every piece, "
            "how it is fastened, "
            "by a second person; then the cautions below.");
}

void cm_report_summary(cm_document *d, const cm_job *job)
{
    if (!job->answer) {
        cm_section(d, "SUMMARY");
        cm_say(d, CM_CAREFUL, "The case has no readings yet: there are no masses to mount.");
    } else if (job->answer->outcome == CM_INFEASIBLE) {
        cm_words_infeasible(d, job);
    } else if (job->answer->outcome == CM_UNDETERMINED) {
        cm_words_undetermined(d, job);
    } else if (cm_has_fit_list(job)) {
        cm_words_place_summary(d, job);
        say_masses(d, job);
    } else {
        cm_words_summary(d, job);
        say_masses(d, job);
    }
}

static void say_force(cm_document *d, const cm_job *job, int plane, double mass)
{
    bool assumed;
    double omega = cm_overspeed_of(job->given, &assumed), radius = job->given->planes[plane].radius;
    double force = cm_centrifugal_force(mass, radius, omega);
    if (force > 0)
        cm_say(d, CM_PLAIN, "Pulls with %s N at %s %s.", cm_decimal(d->session, force, 0),
               cm_digits(d->session, omega / job->given->speed_unit->factor, 5),
               cm_unit_words(job->given->speed_unit));
}

static void say_where(cm_document *d, const cm_job *job, int plane, double angle)
{
    double radius = job->given->planes[plane].radius / job->given->length_unit->factor;
    const char *at = isnan(radius)
                         ? ""
                         : cm_format(d->session, "At radius %s %s, ", cm_digits(d->session, radius, 4),
                                     job->given->length_unit->name);
    cm_say(d, CM_PLAIN, "%s%s.", at, cm_direction(d->session, job->given, plane, angle));
}

static void add_card(cm_document *d, const cm_job *job, int plane, double complex mass)
{
    cm_size_angle m = cm_user_mass(job, plane, mass);
    const char *unit = job->given->mass_unit->name;
    cm_open_group(d, "card");
    cm_head(d, "%s", cm_short_name(d->session, job->given->planes[plane].id));
    if (m.size > 0) {
        cm_big(d, "%s %s at %s°", cm_decimal(d->session, m.size, cm_mass_decimals(job)), unit,
               cm_degrees(d->session, m.angle, 1));
        say_where(d, job, plane, m.angle);
        say_force(d, job, plane, cabs(mass));
    } else {
        cm_big(d, "nothing to mount");
    }
    cm_figure(d, cm_figure_mount(d->session, job, plane, job->answer->x[plane] - mass, mass));
    if (m.size > 0) {
        cm_tick(d, "mounted and secured, by:");
        cm_tick(d, "mass, angle, radius checked by a second person:");
    }
    cm_close_group(d);
}

/* Two ways lead to the same end; under B stand only the planes on which they differ. */
static bool is_other(const cm_job *job, const double complex *stay, const double complex *off, int plane)
{
    return cabs(stay[plane] - off[plane]) > job->runs->mass_zero;
}

static void add_way(cm_document *d, const cm_job *job, bool off_first)
{
    const double complex *stay = cm_to_mount(d->session, job, false),
                         *off = cm_to_mount(d->session, job, true);
    cm_open_group(d, "cards");
    for (int j = 0; j < job->problem->planes; j++)
        if (!off_first || is_other(job, stay, off, j))
            add_card(d, job, j, off_first ? off[j] : stay[j]);
    cm_close_group(d);
}

static void add_other_way(cm_document *d, const cm_job *job)
{
    cm_head(d, "B. If %s off first: this instead, not as well",
            cm_anything_stays(job) ? "all masses that can come off are taken" : "all masses are taken");
    cm_say(d, CM_PLAIN, "Planes that are not named here: as under A.");
    add_way(d, job, true);
}

/* Beside a fit list: for comparison, so that nobody mounts both. */
static void say_any_size(cm_document *d, const cm_job *job)
{
    cm_section(d, "WHAT MASSES OF ANY SIZE WOULD BE");
    cm_say(d, CM_CAREFUL, "For comparison with the fit list above, not to be mounted as well.");
    cm_mount_table(d, job, cm_to_mount(d->session, job, false));
    cm_say_overspeed(d, job);
}

void cm_report_mount(cm_document *d, const cm_job *job)
{
    if (!cm_has_masses(job))
        return;
    if (job->placed && cm_has_fit_list(job->placed)) {
        say_any_size(d, job);
        return;
    }
    bool on = cm_anything_on(job);
    const char *missed = cm_last_run_words(d->session, job);
    cm_section(d, "WHAT TO MOUNT NOW");
    if (missed)
        cm_say(d, CM_BAD, "%s", missed);
    if (on) {
        cm_say_on_rotor(d, job);
        cm_head(d, "A. If these masses stay on: add");
    } else {
        cm_say(d, CM_PLAIN, "Nothing is on the rotor now.");
    }
    add_way(d, job, false);
    if (on)
        add_other_way(d, job);
    cm_say(
        d, CM_PLAIN,
        "Taking the same mass away on the opposite side (180 degrees on) at the same radius does the same.");
    cm_say_overspeed(d, job);
}

void cm_report_angles(cm_document *d, const cm_job *job)
{
    cm_words_angles(d, job->given);
    cm_open_group(d, "halves");
    cm_figure(d, cm_figure_angles(d->session, job->given));
    cm_figure(d, cm_figure_phase(d->session, job->given));
    cm_close_group(d);
}
