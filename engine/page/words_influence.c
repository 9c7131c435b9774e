/* SPDX-License-Identifier: MIT */
/* The page of `influence`: one matrix per speed, where the scatter comes from, planes hardly seen, condition. */
#include "page/words.h"

#include <math.h>

static size_t at(const cm_job *job, int row, int plane)
{
    return (size_t)row + (size_t)plane * (size_t)job->influence->rows;
}

/* Radius that holds 90 % of a coefficient; NAN: not available. */
static double radius_of(const cm_job *job, int row, int plane)
{
    size_t k = at(job, row, plane);
    if (!job->influence->determined[k] || !job->influence->std_known[k])
        return NAN;
    return cm_user_coefficient_size(job, row, job->influence->radius_factor[row] * job->influence->std[k]);
}

static int decimals_at(const cm_job *job, int speed)
{
    double largest = 0;
    for (int i = 0; i < job->influence->rows; i++)
        for (int j = 0; j < job->influence->planes && job->given->row_speed[i] == speed; j++)
            largest = fmax(largest, cm_user_coefficient(job, i, j).size);
    return cm_decimals(largest, 3);
}

static const char *coefficient_words(cm_session *session, const cm_job *job, int row, int plane, int decimals)
{
    if (!job->influence->determined[at(job, row, plane)])
        return "not told";
    double radius = radius_of(job, row, plane);
    const char *spread =
        isfinite(radius) ? cm_format(session, " ± %s", cm_decimal(session, radius, decimals)) : "";
    return cm_format(session, "%s%s", cm_phasor(session, cm_user_coefficient(job, row, plane), decimals),
                     spread);
}

/* True when all readings at a speed share one unit: then the head says it, not every line. */
static bool one_unit(const cm_job *job, int speed)
{
    const cm_unit *unit = NULL;
    for (int i = 0; i < job->influence->rows; i++) {
        if (job->given->row_speed[i] != speed)
            continue;
        if (unit && cm_sensor_of(job, i)->unit != unit)
            return false;
        unit = cm_sensor_of(job, i)->unit;
    }
    return true;
}

static const char *unit_words(cm_session *session, const cm_job *job, int row)
{
    return cm_format(session, "%s/%s", cm_unit_words(cm_sensor_of(job, row)->unit),
                     job->given->mass_unit->name);
}

static cm_table *open_matrix(cm_document *d, const cm_job *job, const char *unit)
{
    int planes = job->influence->planes;
    cm_column *columns = CM_NEW(d->session, planes + 2, cm_column);
    columns[0] = (cm_column){.head = "sensor", .key = true};
    columns[1] = (cm_column){.head = unit ? "" : "unit", .key = true};
    for (int j = 0; j < planes; j++)
        columns[j + 2] = (cm_column){.head = job->given->planes[j].id, .unit = unit, .right = true};
    return cm_table_open(d, planes + 2, columns);
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, int row, int decimals, bool common)
{
    int planes = job->influence->planes;
    const char **cells = CM_NEW(d->session, planes + 2, const char *);
    cells[0] = cm_sensor_of(job, row)->id;
    cells[1] = common ? "" : unit_words(d->session, job, row);
    for (int j = 0; j < planes; j++)
        cells[j + 2] = coefficient_words(d->session, job, row, j, decimals);
    cm_table_row(d, table, cells);
}

static void say_speed(cm_document *d, const cm_job *job, int speed)
{
    cm_table *table = NULL;
    int decimals = decimals_at(job, speed);
    bool common = one_unit(job, speed);
    for (int i = 0; i < job->influence->rows; i++) {
        if (job->given->row_speed[i] != speed)
            continue;
        if (!table) {
            cm_section(
                d, "INFLUENCE AT %s, %s %s", cm_short_name(d->session, job->given->speeds[speed].id),
                cm_digits(d->session, job->given->speeds[speed].omega / job->given->speed_unit->factor, 6),
                cm_unit_words(job->given->speed_unit));
            table = open_matrix(d, job, common ? unit_words(d->session, job, i) : NULL);
        }
        add_row(d, table, job, i, decimals, common);
    }
}

/* ---- sets ---- */

static const char *set_words(cm_session *session, const cm_job *job, int row, int set, int decimals)
{
    const cm_influence *f = job->influence;
    size_t k = at(job, row, set);
    if (!f->set_determined[k])
        return "not told";
    double radius = cm_user_coefficient_size(job, row, f->radius_factor[row] * f->set_std[k]);
    const char *words = cm_phasor(session, cm_user_set_coefficient(job, row, set), decimals);
    return f->set_std_known[k] ? cm_format(session, "%s ± %s", words, cm_decimal(session, radius, decimals))
                               : words;
}

static void say_sets(cm_document *d, const cm_job *job)
{
    int sets = job->influence->set_count;
    if (sets == 0)
        return;
    cm_column *columns = CM_NEW(d->session, sets + 3, cm_column);
    columns[0] = (cm_column){.head = "speed", .key = true};
    columns[1] = (cm_column){.head = "sensor", .key = true};
    columns[2] = (cm_column){.head = "unit", .key = true};
    for (int s = 0; s < sets; s++)
        columns[s + 3] = (cm_column){.head = job->given->sets[s].id, .right = true};
    cm_section(d, "INFLUENCE OF SETS, PER UNIT, ANGLES FROM THE REFERENCE MARK");
    cm_table *table = cm_table_open(d, sets + 3, columns);
    for (int i = 0; i < job->influence->rows; i++) {
        const char **cells = CM_NEW(d->session, sets + 3, const char *);
        cells[0] = cm_speed_of(job, i)->id;
        cells[1] = cm_sensor_of(job, i)->id;
        cells[2] = unit_words(d->session, job, i);
        for (int s = 0; s < sets; s++)
            cells[s + 3] = set_words(d->session, job, i, s, decimals_at(job, job->given->row_speed[i]));
        cm_table_row(d, table, cells);
    }
}

/* A plane is hardly seen when no reading answers to it by more than the radius that holds 90 %. */
static bool hardly_seen(const cm_job *job, int plane)
{
    bool known = false;
    for (int i = 0; i < job->influence->rows; i++) {
        double radius = radius_of(job, i, plane);
        if (isnan(radius))
            continue;
        known = true;
        if (cm_user_coefficient(job, i, plane).size > radius)
            return false;
    }
    return known;
}

static void say_hardly_seen(cm_document *d, const cm_job *job)
{
    for (int j = 0; j < job->influence->planes; j++)
        if (hardly_seen(job, j))
            cm_say(d, CM_CAREFUL,
                   "%s is hardly seen: no reading answers to it by more than its own uncertainty. A larger "
                   "trial mass "
                   "or more readings would tell more.",
                   cm_short_name(d->session, job->given->planes[j].id));
}

static void say_scatter(cm_document *d, const cm_job *job)
{
    static const char *const words[] = {
        [CM_SCATTER_DECLARED] = "declared in the case (repeatability)",
        [CM_SCATTER_FIT] = "from what the fit leaves over",
        [CM_SCATTER_REPEATS] = "from repeated readings inside runs: a lower bound",
        [CM_SCATTER_ASSUMED] =
            ("assumed (3 % of the reading and a floor): nothing in the case tells it; coefficients have "
             "no ± for that reason"),
    };
    cm_section(d, "SCATTER OF THE READINGS");
    for (int source = CM_SCATTER_DECLARED; source <= (int)CM_SCATTER_ASSUMED; source++) {
        int count = 0;
        for (int i = 0; i < job->influence->rows; i++)
            count += (int)job->influence->scatter_source[i] == source;
        if (count)
            cm_item(d, source == (int)CM_SCATTER_ASSUMED ? CM_CAREFUL : CM_PLAIN, "%s: %s.",
                    cm_count_of(d->session, count, "reading", "readings"), words[source]);
    }
}

void cm_words_matrices(cm_document *d, const cm_job *job)
{
    for (int s = 0; s < job->given->speed_count; s++)
        say_speed(d, job, s);
    say_sets(d, job);
    say_hardly_seen(d, job);
    say_scatter(d, job);
}

cm_document *cm_words_influence(cm_session *session, const cm_job *job)
{
    cm_document *d = cm_document_new(session);
    const char *mass = job->given->mass_unit->name;
    cm_words_head(
        d, job,
        cm_format(
            session,
            "Influence: what 1 %s at each plane's radius and angle 0 adds to each reading, as amplitude "
            "@ phase %s in degrees; ± is the radius that holds 90 %%.",
            mass, job->given->phase_lag ? "lag" : "lead"));
    cm_words_matrices(d, job);
    cm_words_runs(d, job);
    cm_words_condition(d, job);
    cm_words_findings(d, job, "WARNINGS AND NOTES", NULL);
    cm_words_angles(d, job->given);
    return d;
}
