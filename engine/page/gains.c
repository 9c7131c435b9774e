/* SPDX-License-Identifier: MIT */
/* What would raise the confidence: as a tree and in words. */
#include "page/gains.h"

#include "page/phrases.h"

#include <math.h>

/* Probability that all limits hold, at least; 0 where kappa promises nothing. */
static double chance_of(const cm_job *job, double kappa)
{
    return fmax(0, 1 - job->gains->errors * exp(-kappa * kappa));
}

static void add_value(cm_session *session, cm_node *map, const cm_job *job, double value)
{
    cm_node_add_number(session, map, "value", value);
    cm_node_add_number(session, map, "adds", value - job->gains->value);
    cm_node_add_number(session, map, "chance", isnan(value) ? NAN : chance_of(job, value));
}

void cm_tree_gains(cm_session *session, cm_node *tree, const cm_job *job)
{
    const cm_kappa_gains *g = job->gains;
    if (!g)
        return;
    cm_node *map = cm_node_add_map(session, tree, "confidence");
    cm_node_add_number(session, map, "chance", chance_of(job, g->value));
    cm_node *runs = cm_node_add_list(session, map, "one_more_run");
    for (int k = 0; k < g->run_count; k++) {
        cm_node *entry = cm_node_add_map(session, runs, NULL);
        cm_node_add_text(session, entry, "repeats", job->given->runs[g->runs[k].run].id);
        add_value(session, entry, job, g->runs[k].value);
    }
    cm_node *masses = cm_node_add_list(session, map, "one_more_mass_unit");
    for (int k = 0; k < g->mass_count; k++) {
        cm_node *entry = cm_node_add_map(session, masses, NULL);
        cm_node_add_text(session, entry, "plane", job->given->planes[g->masses[k].plane].id);
        add_value(session, entry, job, g->masses[k].value);
    }
}

static const char *chance_words(cm_session *session, const cm_job *job, double kappa)
{
    double chance = chance_of(job, kappa);
    if (!(chance > 0))
        return "no promise";
    return chance > 0.9999 ? "> 99.99 %" : cm_format(session, "%s %%", cm_digits(session, 100 * chance, 4));
}

static void add_line(cm_document *d, cm_table *table, const cm_job *job, const char *what, double value)
{
    const char *cells[] = {what, cm_digits(d->session, value, 4),
                           isnan(value) ? "-" : chance_words(d->session, job, value)};
    cm_table_row(d, table, cells);
}

static const char *best_run(cm_session *session, const cm_job *job)
{
    const cm_kappa_gains *g = job->gains;
    int best = -1;
    for (int k = 0; k < g->run_count; k++)
        if (!isnan(g->runs[k].value) && (best < 0 || g->runs[k].value > g->runs[best].value))
            best = k;
    return best < 0 ? NULL : cm_short_name(session, job->given->runs[g->runs[best].run].id);
}

void cm_words_gains(cm_document *d, const cm_job *job)
{
    const cm_kappa_gains *g = job->gains;
    if (!g)
        return;
    const cm_column columns[] = {{.head = "what is done", .key = true},
                                 {.head = "kappa", .right = true},
                                 {.head = "chance", .unit = "at least", .right = true}};
    cm_section(d, "WHAT WOULD MAKE IT SURER");
    cm_table *table = cm_table_open(d, 3, columns);
    add_line(d, table, job, "nothing more", g->value);
    for (int k = 0; k < g->run_count; k++)
        add_line(d, table, job,
                 cm_format(d->session, "repeat %s",
                           cm_short_name(d->session, job->given->runs[g->runs[k].run].id)),
                 g->runs[k].value);
    for (int k = 0; k < g->mass_count; k++)
        if (g->masses[k].value > g->value)
            add_line(d, table, job,
                     cm_format(d->session, "1 %s more on %s", job->given->mass_unit->name,
                               cm_short_name(d->session, job->given->planes[g->masses[k].plane].id)),
                     g->masses[k].value);
    const char *best = best_run(d->session, job);
    cm_say(d, CM_PLAIN,
           "kappa: every limit is this many standard deviations of the predicted reading away. chance: that "
           "all limits "
           "hold, whatever the readings have in common.%s",
           best ? cm_format(d->session, " Of one more run, repeating %s tells most, if it reads as before.",
                            best)
                : "");
}
