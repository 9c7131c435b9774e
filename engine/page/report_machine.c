/* SPDX-License-Identifier: MIT */
/* The machine, its influence, and the choice of planes. */
#include "countermass/evidence.h"
#include "page/load_range.h"
#include "page/figures.h"
#include "page/report.h"

static void add_figure(cm_document *d, const cm_drawing *drawing)
{
    if (drawing)
        cm_figure(d, drawing);
}

void cm_report_machine(cm_document *d, const cm_job *job)
{
    const cm_drawing *machine = cm_figure_machine(d->session, job);
    if (!machine)
        return;
    cm_section(d, "THE MACHINE");
    cm_figure(d, machine);
}

/* Resonances, and every sensor of each sweep over speed. */
void cm_report_sweeps(cm_document *d, const cm_job *job)
{
    cm_words_sweeps(d, job);
    cm_open_group(d, "halves");
    for (int i = 0; job->sweeps && i < job->sweeps->count; i++)
        for (int s = 0; s < job->given->sensor_count; s++)
            add_figure(d, cm_figure_sweep(d->session, job, i, s));
    cm_close_group(d);
}

void cm_report_influence(cm_document *d, const cm_job *job)
{
    if (!job->influence)
        return;
    cm_section(d, "INFLUENCE OF THE PLANES ON THE READINGS");
    cm_say(d, CM_PLAIN,
           "What 1 %s at each plane's radius and angle 0 adds to each reading, as amplitude @ phase %s in "
           "degrees; ± is the "
           "radius that holds 90 %%.",
           job->given->mass_unit->name, job->given->phase_lag ? "lag" : "lead");
    cm_open_group(d, "halves");
    for (int s = 0; s < job->given->speed_count; s++)
        add_figure(d, cm_figure_influence(d->session, job, s));
    cm_close_group(d);
    cm_words_matrices(d, job);
}

void cm_report_tolerance(cm_document *d, const cm_job *job)
{
    if (!job->tolerance)
        return;
    cm_words_residual(d, job);
    add_figure(d, cm_figure_tolerance(d->session, job));
}

void cm_report_planes(cm_document *d, const cm_job *job)
{
    if (job->comparison) {
        cm_words_sets(d, job);
        add_figure(d, cm_figure_sets(d->session, job));
    }
    cm_words_trade_off(d, job);
    cm_words_load_range(d, job);
    add_figure(d, cm_figure_trade_off(d->session, job));
}
