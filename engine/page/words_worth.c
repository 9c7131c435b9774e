/* SPDX-License-Identifier: MIT */
/* What holds the answer up: caps and limits whose loosening would better it. */
#include "page/orbits.h"
#include "page/words.h"
#include "page/worth.h"

#include <math.h>

#define WORTH_A_WORD 1e-4 /* of the value, by 1 % of a cap or limit */

static double percent_of_cap(const cm_job *job, int plane)
{
    double cap = job->given->planes[plane].cap;
    return (isfinite(cap) ? cap : cabs(job->answer->x[plane])) / 100;
}

static bool cap_matters(const cm_job *job, int plane, cm_cap_kind kind)
{
    double worth = cm_worth_of_cap(job, plane, kind);
    double step = cm_user_kilograms(job, percent_of_cap(job, plane));
    return !isnan(worth) && fabs(worth) * step > WORTH_A_WORD * cm_user_objective(job, job->answer->value);
}

static bool limit_matters(const cm_job *job, int row)
{
    double worth = cm_worth_of_limit(job, row);
    return !isnan(worth) && fabs(worth) > WORTH_A_WORD * cm_user_objective(job, job->answer->value);
}

static bool orbit_matters(const cm_job *job, int k)
{
    double worth = cm_worth_of_orbit(job, k);
    return !isnan(worth) && fabs(worth) > WORTH_A_WORD * cm_user_objective(job, job->answer->value);
}

/* In a sum of squares every limit is a weight: only caps are worth words there. */
static bool limits_hold(const cm_problem *p)
{
    return p->within_limits || p->objective == CM_MIN_MAX || p->objective == CM_LEAST_MASS ||
           p->objective == CM_LEAST_CHANGE || p->objective == CM_CONFIDENCE;
}

static int count_what_matters(const cm_job *job)
{
    int count = 0;
    for (int j = 0; j < job->problem->planes; j++)
        for (int kind = 0; kind < CM_CAP_KINDS; kind++)
            count += cap_matters(job, j, (cm_cap_kind)kind);
    for (int i = 0; limits_hold(job->problem) && i < job->problem->rows; i++)
        count += limit_matters(job, i);
    for (int k = 0; k < job->problem->pair_count; k++)
        count += orbit_matters(job, k);
    return count;
}

void cm_words_worth(cm_document *d, const cm_job *job)
{
    static const char *const caps[] = {
        [CM_CAP_MASS] = "%s for each %s more that %s may carry",
        [CM_CAP_FORCE] = "%s for each %s more that the force allowed on %s lets it carry (`cap_force`)",
        [CM_CAP_CHANGE] = "%s for each %s more that %s may be changed by (`change_cap`)"};
    if (!cm_worth_is_told(job) || !count_what_matters(job))
        return;
    cm_section(d, "WHAT HOLDS THE ANSWER UP");
    cm_say(d, CM_PLAIN, "The objective's value is %s. By first order it would %s by:",
           cm_digits(d->session, cm_user_objective(job, job->answer->value), 4),
           job->problem->objective == CM_CONFIDENCE ? "rise" : "fall");
    for (int j = 0; j < job->problem->planes; j++)
        for (int kind = 0; kind < CM_CAP_KINDS; kind++)
            if (cap_matters(job, j, (cm_cap_kind)kind))
                cm_item(d, CM_PLAIN, caps[kind],
                        cm_digits(d->session, fabs(cm_worth_of_cap(job, j, (cm_cap_kind)kind)), 3),
                        job->given->mass_unit->name, cm_short_name(d->session, job->given->planes[j].id));
    for (int i = 0; limits_hold(job->problem) && i < job->problem->rows; i++)
        if (limit_matters(job, i))
            cm_item(d, CM_PLAIN, "%s if the limit of %s were 1 %% higher",
                    cm_digits(d->session, fabs(cm_worth_of_limit(job, i)), 3),
                    cm_reading_name(d->session, job, i));
    for (int k = 0; k < job->problem->pair_count; k++)
        if (orbit_matters(job, k))
            cm_item(d, CM_PLAIN, "%s if the limit of %s were 1 %% higher",
                    cm_digits(d->session, fabs(cm_worth_of_orbit(job, k)), 3),
                    cm_orbit_name(d->session, job, k));
}

void cm_words_trade_off(cm_document *d, const cm_job *job)
{
    if (!job->trade_off)
        return;
    if (job->trade_off->count == 0) {
        cm_section(d, "WHAT LESS MASS WOULD COST");
        cm_say(d, CM_PLAIN, "%s",
               job->answer->outcome == CM_UNDETERMINED
                   ? "No curve: the runs do not tell what masses would do."
                   : "No curve: greatest masses, held masses and ties exclude each other.");
        return;
    }
    const cm_column columns[] = {{.head = "largest ratio", .unit = "to limit", .right = true},
                                 {.head = "least mass", .unit = job->given->mass_unit->name, .right = true}};
    cm_section(d, "WHAT LESS MASS WOULD COST");
    cm_table *table = cm_table_open(d, 2, columns);
    for (int k = 0; k < job->trade_off->count; k++) {
        const cm_trade_point *point = &job->trade_off->points[k];
        const char *cells[] = {cm_decimal(d->session, point->largest_ratio, 3),
                               cm_digits(d->session, cm_user_kilograms(job, point->total_mass), 4)};
        cm_table_row(d, table, cells);
    }
    if (job->trade_off->count == 1)
        cm_say(d, CM_PLAIN,
               "The lightest masses allowed are already the best for the largest ratio: there is nothing to "
               "trade.");
    if (job->trade_off->open > 0)
        cm_say(d, CM_CAREFUL, "%s a proof with a gap above 1e-8: masses a little lighter may do the same.",
               cm_count_of(d->session, job->trade_off->open, "point has", "points have"));
}
