/* SPDX-License-Identifier: MIT */
/* Every run: what it carried and how it was made, what the runs before it let expect, and what was measured. One table
 * a run: a line a sensor, and for each speed what was measured, with what was expected before it where it was told. */
#include "page/words.h"
#include "base/constants.h"

#include "tree/node.h"

#include <math.h>

static size_t cell_of(const cm_job *job, int row, int run)
{
    return (size_t)row + (size_t)run * (size_t)job->runs->rows;
}

static int row_of(const cm_job *job, int sensor, int speed)
{
    return job->given->row_of[sensor + job->given->sensor_count * speed];
}

static bool is_read(const cm_job *job, int row, int run)
{
    return row >= 0 && job->runs->repeats[cell_of(job, row, run)] > 0;
}

static bool is_foretold(const cm_job *job, int row, int run)
{
    return is_read(job, row, run) && job->foretold->told[cell_of(job, row, run)];
}

typedef bool question(const cm_job *job, int row, int run);

static int count_at(const cm_job *job, int run, int speed, question *holds)
{
    int count = 0;
    for (int i = 0; i < job->runs->rows; i++)
        count += (speed < 0 || job->given->row_speed[i] == speed) && holds(job, i, run);
    return count;
}

/* ---- how the run was made ---- */

static const char *joined(cm_session *session, const char *words, const char *more)
{
    return *words ? cm_format(session, "%s; %s", words, more) : more;
}

static const char *carried(cm_session *session, const cm_job *job, int run)
{
    const char *words = "";
    for (int j = 0; j < job->runs->planes; j++) {
        cm_size_angle mass = cm_user_mass(job, j, job->runs->masses[run + j * job->runs->runs]);
        if (mass.size > 0)
            words = cm_format(session, "%s%s%s %s @ %s on %s", words, *words ? ", " : "",
                              cm_digits(session, mass.size, 4), job->given->mass_unit->name,
                              cm_degrees(session, mass.angle, 1),
                              cm_short_name(session, job->given->planes[j].id));
    }
    return *words ? words : "no masses";
}

static const char *shifted(cm_session *session, const cm_job *job, int run)
{
    const double degree = CM_PI / 180;
    double shift = remainder(job->runs->phase_shift[run] / degree, 360) * (job->given->phase_lag ? -1 : 1);
    double std = job->influence->phase_shift_std ? job->influence->phase_shift_std[run] / degree : 0;
    const char *words =
        cm_format(session, "phases read %s degrees too high, taken out", cm_decimal(session, shift, 1));
    return std > 0 ? cm_format(session,
                               "%s (found from a state that was read before, standard deviation %s degrees)",
                               words, cm_digits(session, std, 2))
                   : words;
}

/* Notes of the run: a text or a list of texts. */
static const char *with_notes(cm_session *session, const char *words, const cm_node *notes)
{
    if (notes && notes->kind == CM_TEXT)
        return joined(session, words, notes->text);
    for (const cm_node *note = notes ? notes->first : NULL; note; note = note->next)
        words = note->text ? joined(session, words, note->text) : words;
    return words;
}

static const char *circumstances(cm_session *session, const cm_job *job, int run)
{
    static const char *const taken[] = {NULL, "taken while holding", "taken during run-up",
                                        "taken during run-down"};
    const cm_run *given = &job->given->runs[run];
    const char *words = carried(session, job, run);
    if (given->group)
        words = joined(session, words, cm_format(session, "group %s", given->group));
    if (given->at)
        words = joined(session, words, given->at);
    if (taken[given->taken])
        words = joined(session, words, taken[given->taken]);
    if (!isnan(given->load))
        words = joined(session, words,
                       cm_format(session, "load %s MW", cm_digits(session, given->load / 1e6, 4)));
    if (job->runs->phase_shift && fabs(job->runs->phase_shift[run]) > 0)
        words = joined(session, words, shifted(session, job, run));
    if (given->left_out)
        words = joined(session, words,
                       cm_format(session, "%s left out: %s",
                                 cm_count_of(session, given->left_out, "reading", "readings"),
                                 given->leave_out.because));
    return with_notes(session, words, given->notes);
}

/* ---- the table ---- */

typedef struct layout {
    int count; /* columns */
    cm_column *column;
    int *speed;     /* of each column behind the key; the column before it is what was expected, or none */
    bool *expected; /* the column is what was expected */
} layout;

static void add_column(layout *l, const cm_speed *speed, int number, bool expected)
{
    l->column[l->count] =
        (cm_column){.head = speed->id, .unit = expected ? "predicted" : "measured", .right = true};
    l->speed[l->count] = number;
    l->expected[l->count++] = expected;
}

static layout layout_of(cm_session *session, const cm_job *job, int run)
{
    int most = 2 * job->given->speed_count + 2;
    layout l = {2, CM_NEW(session, most, cm_column), CM_NEW(session, most, int), CM_NEW(session, most, bool)};
    l.column[0] = (cm_column){.head = "sensor", .key = true};
    l.column[1] = (cm_column){.head = "unit", .key = true};
    for (int s = 0; s < job->given->speed_count; s++) {
        if (count_at(job, run, s, is_foretold) > 0)
            add_column(&l, &job->given->speeds[s], s, true);
        if (count_at(job, run, s, is_read) > 0)
            add_column(&l, &job->given->speeds[s], s, false);
    }
    return l;
}

static const char *cell(cm_session *session, const cm_job *job, int run, int row, bool expected)
{
    if (!(expected ? is_foretold(job, row, run) : is_read(job, row, run)))
        return "-";
    size_t at = cell_of(job, row, run);
    double complex reading = expected ? job->foretold->expected[at] : job->runs->readings[at];
    return cm_phasor(session, cm_user_reading(job, row, reading), 1);
}

static void add_sensor(cm_document *d, cm_table *table, const layout *l, const cm_job *job, int run,
                       int sensor)
{
    const char **cells = CM_NEW(d->session, l->count, const char *);
    bool any = false;
    cells[0] = job->given->sensors[sensor].id;
    cells[1] = cm_unit_words(job->given->sensors[sensor].unit);
    for (int k = 2; k < l->count; k++) {
        int row = row_of(job, sensor, l->speed[k]);
        any = any || is_read(job, row, run);
        cells[k] = cell(d->session, job, run, row, l->expected[k]);
    }
    if (any)
        cm_table_row(d, table, cells);
}

/* Root mean square of what was measured less what was expected, in standard deviations of a reading. */
static double misfit(const cm_job *job, int run)
{
    double sum = 0;
    int count = 0;
    for (int i = 0; i < job->runs->rows; i++) {
        size_t at = cell_of(job, i, run);
        if (!is_foretold(job, i, run))
            continue;
        double apart =
            cabs(job->runs->readings[at] - job->foretold->expected[at]) / job->influence->scatter[i];
        sum += apart * apart;
        count++;
    }
    return sqrt(sum / count);
}

static void say_run(cm_document *d, const cm_job *job, int run)
{
    int read = count_at(job, run, -1, is_read), told = count_at(job, run, -1, is_foretold);
    cm_section(d, "RUN %s", cm_short_name(d->session, job->given->runs[run].id));
    cm_say(d, CM_PLAIN, "On the rotor: %s.", circumstances(d->session, job, run));
    if (read == 0) {
        cm_say(d, CM_PLAIN, "None of its readings is used%s.",
               job->runs->phase_shift && isnan(job->runs->phase_shift[run])
                   ? ": nothing tells by how much its phases are shifted"
                   : "");
        return;
    }
    if (told == 0)
        cm_say(d, CM_PLAIN, run ? "The runs before it do not tell what to expect of it." : "The first run.");
    else
        cm_say(d, CM_PLAIN,
               "The runs before it tell %d of its %d readings; measured lies %s standard deviations of a "
               "reading from predicted (root mean square).",
               told, read, cm_digits(d->session, misfit(job, run), 2));
    layout l = layout_of(d->session, job, run);
    cm_table *table = cm_table_open(d, l.count, l.column);
    for (int s = 0; s < job->given->sensor_count; s++)
        add_sensor(d, table, &l, job, run, s);
}

void cm_words_run(cm_document *d, const cm_job *job, int run)
{
    if (job->foretold)
        say_run(d, job, run);
}

void cm_words_runs(cm_document *d, const cm_job *job)
{
    for (int k = 0; job->runs && k < job->runs->runs; k++)
        cm_words_run(d, job, k);
}
