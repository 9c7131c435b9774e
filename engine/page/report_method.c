/* SPDX-License-Identifier: MIT */
/* Conditions of the runs, method, numbers to compute the answer again, and the lines to sign. */
#include "page/report.h"

#include "countermass/version.h"
#include "model/judged.h"
#include "page/tree_common.h"

#include <math.h>

static const char *actual_speeds(cm_document *d, const cm_job *job, const cm_run *run)
{
    const char *words = "";
    for (int s = 0; run->actual_speed && s < job->given->speed_count; s++)
        if (isfinite(run->actual_speed[s]))
            words = cm_format(d->session, "%s%s%s at %s", words, *words ? "; " : "",
                              cm_digits(d->session, run->actual_speed[s] / job->given->speed_unit->factor, 6),
                              cm_short_name(d->session, job->given->speeds[s].id));
    return words;
}

static const char *left_out(cm_document *d, const cm_run *run)
{
    return run->left_out ? cm_format(d->session, "%s, because %s",
                                     cm_count_of(d->session, run->left_out, "reading", "readings"),
                                     run->leave_out.because)
                         : "";
}

static void add_conditions(cm_document *d, cm_table *table, const cm_job *job, int k)
{
    static const char *const taken[] = {[CM_TAKEN_UNSAID] = "",
                                        [CM_TAKEN_HOLDING] = "holding",
                                        [CM_TAKEN_RUN_UP] = "run-up",
                                        [CM_TAKEN_RUN_DOWN] = "run-down"};
    const cm_run *run = &job->given->runs[k];
    const char *cells[] = {
        cm_format(d->session, "%d", k + 1),
        run->id,
        run->at ? run->at : "",
        taken[run->taken],
        isfinite(run->load) ? cm_format(d->session, "%s MW", cm_digits(d->session, run->load / 1e6, 4)) : "",
        run->group ? run->group : "",
        actual_speeds(d, job, run),
        left_out(d, run),
    };
    cm_table_row(d, table, cells);
}

/* A text of the case, or a list of texts, one item each. */
static void say_notes(cm_document *d, const char *what, const cm_node *node)
{
    if (node && node->kind == CM_TEXT)
        cm_item(d, CM_PLAIN, "%s: %s", what, node->text);
    for (const cm_node *entry = node && node->kind == CM_LIST ? node->first : NULL; entry;
         entry = entry->next)
        if (entry->text)
            cm_item(d, CM_PLAIN, "%s: %s", what, entry->text);
}

static void say_all_notes(cm_document *d, const cm_case *c)
{
    if (c->header) {
        say_notes(d, "Instruments", cm_node_get(c->header, "instruments"));
        say_notes(d, "Notes", cm_node_get(c->header, "notes"));
    }
    for (int k = 0; k < c->run_count; k++)
        say_notes(d, cm_format(d->session, "Run %s", cm_short_name(d->session, c->runs[k].id)),
                  c->runs[k].notes);
}

void cm_report_conditions(cm_document *d, const cm_job *job)
{
    static const cm_column columns[] = {
        {.head = "", .key = true}, {.head = "run", .key = true},
        {.head = "when"},          {.head = "taken"},
        {.head = "load"},          {.head = "group"},
        {.head = "actual speed"},  {.head = "left out"},
    };
    if (!job->runs)
        return;
    cm_section(d, "CONDITIONS OF THE RUNS");
    cm_table *table = cm_table_open(d, sizeof columns / sizeof *columns, columns);
    for (int k = 0; k < job->given->run_count; k++)
        add_conditions(d, table, job, k);
    say_all_notes(d, job->given);
    cm_say(d, CM_PLAIN,
           "What is empty, the case does not say. Slow roll is subtracted from every reading on this page.");
}

static void say_method(cm_document *d, const cm_job *job)
{
    cm_say(d, CM_PLAIN,
           "Influence coefficients: every reading is fitted by least squares to the runs that read it, as a "
           "base reading plus "
           "the sum of coefficient times mass over all planes. The masses then minimise the objective (%s) "
           "over all masses "
           "that the planes may carry; a lower bound, computed apart from the solver, shows how good any "
           "masses could be.",
           cm_objective_name(job->problem->objective));
    cm_say(d, CM_PLAIN,
           "To compute a prediction by hand: reading = base reading + sum over the planes of influence × "
           "(mass − mass in the "
           "base state), all as phasors; the angle of a mass %s the phase that its influence has.",
           job->given->phase_lag == job->given->against_rotation ? "adds to" : "is taken from");
    cm_say(d, CM_PLAIN, "Computed by countermass %s.", CM_VERSION);
}

/* With digits enough to compute with. */
static const char *exact(cm_document *d, cm_size_angle value)
{
    return cm_format(d->session, "%s @ %s", cm_digits(d->session, value.size, 6),
                     cm_degrees(d->session, value.angle, 2));
}

static void add_base_masses(cm_document *d, const cm_job *job)
{
    const char *unit = job->given->mass_unit->name;
    const cm_column columns[] = {
        {.head = "plane", .key = true},
        {.head = "base state", .unit = cm_format(d->session, "%s @ deg", unit), .right = true},
        {.head = "on the rotor now", .unit = cm_format(d->session, "%s @ deg", unit), .right = true}};
    cm_table *table = cm_table_open(d, 3, columns);
    for (int j = 0; j < job->problem->planes; j++) {
        const char *cells[] = {job->given->planes[j].id,
                               exact(d, cm_user_mass(job, j, job->problem->base[j])),
                               exact(d, cm_user_mass(job, j, job->problem->now[j]))};
        cm_table_row(d, table, cells);
    }
}

static void add_base_readings(cm_document *d, const cm_job *job)
{
    const cm_column columns[] = {{.head = "speed", .key = true},
                                 {.head = "sensor", .key = true},
                                 {.head = "unit"},
                                 {.head = "base reading", .unit = "@ deg", .right = true},
                                 {.head = "weight", .right = true},
                                 {.head = "scatter", .unit = "one reading", .right = true}};
    cm_table *table = cm_table_open(d, 6, columns);
    for (int i = 0; i < job->problem->rows; i++) {
        double weight = job->problem->weight[i] * cm_sensor_of(job, i)->unit->factor;
        const char *cells[] = {
            cm_speed_of(job, i)->id,
            cm_sensor_of(job, i)->id,
            cm_unit_words(cm_sensor_of(job, i)->unit),
            exact(d, cm_user_reading(job, i, cm_compensated(job->problem, i, job->problem->y[i]))),
            cm_digits(d->session, weight, 4),
            cm_digits(d->session, cm_user_amplitude(job, i, job->influence->scatter[i]), 3)};
        cm_table_row(d, table, cells);
    }
}

void cm_report_method(cm_document *d, const cm_job *job)
{
    if (job->problem) {
        cm_section(d, "METHOD AND NUMBERS TO COMPUTE IT AGAIN");
        say_method(d, job);
        add_base_masses(d, job);
        add_base_readings(d, job);
        cm_data(d, "result", cm_tree_report(d->session, job));
    }
    cm_section(d, "THE CASE AS IT WAS READ");
    cm_say(
        d, CM_PLAIN,
        "Saved as a file, beside the tables and records that it names, these lines give this report again.");
    cm_source_lines(d, job->given->source);
}

void cm_report_sign_off(cm_document *d, const cm_job *job)
{
    static const char *const lines[] = {"Balanced by (name, signature, date)",
                                        "Masses checked by (name, signature, date)",
                                        "Measured again, within limits: yes / no",
                                        "Accepted by (name, signature, date)",
                                        "Remarks",
                                        ""};
    (void)job;
    cm_section(d, "SIGN-OFF");
    cm_say(d, CM_PLAIN,
           "Who signs confirms what was mounted and measured on the machine, not what this page predicts. "
           "The plant's own "
           "procedures, local codes and licensed practice come first.");
    cm_open_group(d, "sign keep");
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        cm_blank(d, "%s", lines[i]);
    cm_close_group(d);
}
