/* SPDX-License-Identifier: MIT */
/* Row weights: sensor weight times speed weight over limit, and the rules on limits that are missing. */
#include "case/arrays.h"

#include <math.h>

static void share_of_rows(cm_session *session, const cm_case *c, double *weight, double *limit)
{
    for (int i = 0; i < c->row_count; i++) {
        const cm_sensor *sensor = &c->sensors[c->row_sensor[i]];
        int speed = c->row_speed[i];
        weight[i] = sensor->weight[speed] * c->speeds[speed].weight;
    }
    for (int d = 0; d < c->goal.drop_count; d++) {
        int row = c->row_of[c->goal.drop[d][0] + c->sensor_count * c->goal.drop[d][1]];
        if (row >= 0)
            weight[row] = 0;
    }
    for (int i = 0; i < c->row_count; i++)
        limit[i] = cm_limit_of_row(session, c, i, weight[i] > 0);
}

typedef struct tally {
    int with, without; /* counted rows with a limit, without one */
    int lacking;       /* a counted row without */
    bool mixed;        /* counted rows differ in unit */
    const cm_unit *unit;
} tally;

static tally count_limits(const cm_case *c, const double *weight, const double *limit)
{
    tally t = {.lacking = -1};
    for (int i = 0; i < c->row_count; i++) {
        const cm_unit *unit = c->sensors[c->row_sensor[i]].unit;
        if (!(weight[i] > 0))
            continue;
        t.mixed = t.mixed || (t.unit && t.unit != unit);
        t.unit = unit;
        if (isfinite(limit[i])) {
            t.with++;
        } else {
            t.without++;
            t.lacking = t.lacking < 0 ? i : t.lacking;
        }
    }
    return t;
}

static void report_lacking(cm_session *session, const cm_case *c, const tally *t)
{
    const cm_sensor *sensor = &c->sensors[c->row_sensor[t->lacking]];
    const char *speed = c->speeds[c->row_speed[t->lacking]].id;
    if (t->with)
        cm_report(session, CM_ERROR, &sensor->place,
                  "the sensor '%s' has no limit at '%s', but others have; give it a 'limit', or 'weight: 0' "
                  "to leave it uncounted",
                  sensor->id, speed);
    else
        cm_report(session, CM_ERROR, &sensor->place,
                  "the sensors read in different units, so their readings can only be weighed by limits; "
                  "give '%s' a 'limit' (and every other sensor that counts)",
                  sensor->id);
}

bool cm_case_weights(cm_session *session, const cm_case *c, double *weight, double *limit)
{
    share_of_rows(session, c, weight, limit);
    tally t = count_limits(c, weight, limit);
    if (t.without && (t.with || t.mixed))
        report_lacking(session, c, &t);
    double unit =
        t.unit ? t.unit->factor : 1; /* of all readings without a limit; without any it is not needed */
    for (int i = 0; i < c->row_count; i++)
        if (weight[i] > 0)
            weight[i] /= isfinite(limit[i]) ? limit[i] : unit;
    return t.with > 0;
}
