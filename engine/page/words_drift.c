/* SPDX-License-Identifier: MIT */
/* Whether readings drift from run to run, how sure that is, and what the other setting would have answered. */
#include "page/words.h"
#include "model/moment.h"

#include <math.h>

static const double LIKELY = 0.05; /* chance of scatter alone below which drift is spoken of */

static void say_evidence(cm_document *d, const cm_job *job)
{
    const cm_drift_report *r = job->drift;
    int i = r->largest;
    double std = cm_user_amplitude(job, i, r->std[i]);
    cm_size_angle change = cm_user_reading(job, i, r->change[i]);
    int decimals = cm_decimals(std, 2);
    cm_say(d, r->chance < LIKELY ? CM_CAREFUL : CM_PLAIN,
           "%s tell a drift of %s standard deviations (root mean square); scatter alone makes that much or "
           "more in %s %% of "
           "jobs%s. Most in %s: %s %s from the first run to the last, standard deviation %s.",
           cm_count_of(d->session, r->told, "reading", "readings"), cm_digits(d->session, r->deviations, 2),
           cm_percent(d->session, r->chance), r->assumed ? ", by the assumed scatter" : "",
           cm_reading_name(d->session, job, i), cm_phasor(d->session, change, decimals),
           cm_unit_words(cm_sensor_of(job, i)->unit), cm_decimal(d->session, std, decimals));
}

static const char *setting(int fitted)
{
    return fitted ? "objective: {drift: linear}" : "objective: {drift: none}";
}

static void say_other(cm_document *d, const cm_job *job)
{
    const cm_drift_report *r = job->drift;
    if (!r->x) {
        cm_say(d, CM_PLAIN, "With %s there would be no answer: %s.", setting(!r->fitted),
               r->outcome == CM_UNDETERMINED ? "the runs do not tell enough"
                                             : "no masses meet what is asked");
        return;
    }
    if (r->plane < 0)
        return;
    cm_size_angle mass = cm_user_mass(job, r->plane, r->x[r->plane]);
    cm_say(d, CM_PLAIN,
           "With %s no mass would change by more than %s %s: on %s it would be %s %s @ %s in all.",
           setting(!r->fitted), cm_digits(d->session, cm_user_kilograms(job, r->apart), 3),
           job->given->mass_unit->name, cm_short_name(d->session, job->given->planes[r->plane].id),
           cm_digits(d->session, mass.size, 4), job->given->mass_unit->name,
           cm_degrees(d->session, mass.angle, 1));
}

void cm_words_drift(cm_document *d, const cm_job *job)
{
    if (!job->drift)
        return;
    cm_section(d, "DRIFT FROM RUN TO RUN");
    int odd;
    bool timed = cm_times_of(job->given, &odd) == CM_TIMES_TOLD;
    if (job->drift->fitted)
        cm_say(d, CM_PLAIN, "Readings are taken to drift evenly %s, from the first run to the last.",
               timed ? "in time (`at`)" : "from run to run");
    else
        cm_say(d, CM_PLAIN, "Readings are taken not to drift. A drift would be counted %s.",
               timed ? "in time (`at`)" : "from run to run");
    if (job->drift->told == 0)
        cm_say(d, CM_PLAIN, "The runs cannot tell: no state was made again%s that would show it.",
               timed ? " at another time" : "");
    else
        say_evidence(d, job);
    say_other(d, job);
}
