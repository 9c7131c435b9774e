/* SPDX-License-Identifier: MIT */
/* Questions about when runs were made: can drift be counted in time, and do the times follow the order of the runs? */
#include "evidence/notes.h"
#include "model/moment.h"

#include <math.h>

static const char *reason(const cm_notes *notes, cm_times times, int run)
{
    const cm_case *given = notes->job->given;
    const char *id = run < 0 ? "" : given->runs[run].id;
    switch (times) {
    case CM_TIMES_SOME:
        return cm_format(notes->session, "run %s does not say `at`", id);
    case CM_TIMES_DAYS:
        return cm_format(notes->session, "`at` of run %s, '%s', gives the day only", id, given->runs[run].at);
    case CM_TIMES_OTHER:
        return cm_format(notes->session, "`at` of run %s, '%s', is not written as 2026-03-14 02:40", id,
                         given->runs[run].at);
    default:
        return "all runs have the same time";
    }
}

void cm_ask_drift_times(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    int run;
    cm_times times = cm_times_of(given, &run);
    if (given->goal.drift != CM_DRIFT_LINEAR || given->run_count < 2 || times == CM_TIMES_TOLD ||
        times == CM_TIMES_NONE)
        return;
    cm_note(notes, "drift-by-order", CM_NOTE, (cm_where){run, -1, -1, -1},
            "Drift is counted from run to run in their order, not in time: %s. With `at: 2026-03-14 02:40` "
            "in every "
            "run it is counted in time.",
            reason(notes, times, run));
}

/* Days where one of the two has no time of day. */
static bool is_earlier(const cm_run *run, const cm_run *before)
{
    double own, other;
    cm_moment a = cm_moment_of(run->at, &own), b = cm_moment_of(before->at, &other);
    if (a > CM_MOMENT_DAY || b > CM_MOMENT_DAY)
        return false;
    double unit = a == CM_MOMENT_TIME && b == CM_MOMENT_TIME ? 1 : 24 * 3600;
    return floor(own / unit) < floor(other / unit);
}

void cm_ask_order_in_time(cm_notes *notes)
{
    const cm_case *given = notes->job->given;
    int before = -1;
    for (int k = 0; k < given->run_count; k++) {
        double seconds;
        if (cm_moment_of(given->runs[k].at, &seconds) > CM_MOMENT_DAY)
            continue;
        if (before >= 0 && is_earlier(&given->runs[k], &given->runs[before]))
            cm_note(notes, "times-out-of-order", CM_WARNING, (cm_where){k, -1, -1, -1},
                    "Run %s was made at %s, before run %s at %s, which stands before it. Runs are listed in "
                    "the order "
                    "made: what is on the rotor now, and what earlier runs foretell, rest on it. Put the "
                    "times or "
                    "the order right.",
                    given->runs[k].id, given->runs[k].at, given->runs[before].id, given->runs[before].at);
        before = k;
    }
}
