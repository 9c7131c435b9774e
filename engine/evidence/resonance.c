/* SPDX-License-Identifier: MIT */
/*
 * Resonances from sweeps, and questions about holding near them.
 *
 * Sensors of different units are brought together by their scatter: declared, else 3 % of the rms of the channel and a
 * floor. A mode is clear when it lies within the speeds of the sweep, its speed is known to 2 % and its damping to half of
 * it (one standard deviation), and its height R/(2 z) is over five times the scatter of the sensor that shows it best (our
 * own figures). Fastest sweep: 54 f²/Q² Hz per minute (ISO 7626-2, value from memory), f in Hz, Q = 1/(2 z). Separation
 * margins: standards/margins.c.
 */
#include "evidence/notes.h"
#include "base/constants.h"
#include "evidence/sweep_fit.h"
#include "linalg/dense.h"
#include "model/units.h"
#include "standards/bearings.h"
#include "standards/margins.h"
#include "model/job_call.h"

#include <math.h>

#undef I

static const double SPEED_KNOWN = 0.02, DAMPING_KNOWN = 0.5, STANDS_OUT = 5;
static const double LEAST_AMPLIFICATION =
    2.5; /* below, a mode is critically damped (API 617, value from memory) */

/* ---- fitting ---- */

static double channel_scatter(const cm_case *c, int sensor, const double complex *value, int count)
{
    double squares = 0;
    const cm_sensor *s = &c->sensors[sensor];
    for (int v = 0; v < c->speed_count; v++)
        if (s->repeatability[v] > 0)
            return s->repeatability[v];
    for (int k = 0; k < count; k++)
        squares += cm_abs2(value[k]);
    return cm_assumed_scatter(sqrt(squares / count), s->unit->assumed_floor);
}

static const int DERIVATIVES[] = {[CM_DISPLACEMENT] = 0, [CM_VELOCITY] = 1, [CM_ACCELERATION] = 2};

/* Sorts the points by sensor; `channel` (sensors) receives the channel of each. */
static cm_sweep_data gather(cm_session *session, const cm_case *c, const cm_sweep *sweep, int *channel)
{
    int *first = CM_NEW(session, c->sensor_count + 1, int), channels = 0, at = 0;
    double *omega = CM_NEW(session, sweep->count, double);
    double *weight = CM_NEW(session, c->sensor_count, double);
    int *derivative = CM_NEW(session, c->sensor_count, int);
    double complex *value = CM_NEW(session, sweep->count, double complex);
    for (int s = 0; s < c->sensor_count; s++) {
        int from = at;
        for (int k = 0; k < sweep->count; k++)
            if (sweep->points[k].sensor == s) {
                omega[at] = sweep->points[k].omega;
                value[at++] = sweep->points[k].value;
            }
        channel[s] = at > from ? channels : -1;
        if (at == from)
            continue;
        weight[channels] = 1 / channel_scatter(c, s, value + from, at - from);
        derivative[channels] = DERIVATIVES[c->sensors[s].unit->quantity];
        first[channels++] = from;
    }
    first[channels] = at;
    return (cm_sweep_data){channels, first, omega, value, weight, derivative};
}

static void fill_resonance(const cm_case *c, const cm_sweep_result *result, const cm_sweep_data *data, int m,
                           cm_resonance *r)
{
    const cm_sweep_model *model = result->model;
    double best = 0, running = cm_running_speed(c);
    *r = (cm_resonance){.omega = model->omega[m],
                        .omega_std = model->omega_std[m],
                        .damping = model->damping[m],
                        .damping_std = model->damping_std[m],
                        .amplification = 0.5 / model->damping[m],
                        .sensor = -1};
    cm_half_power(r->omega, r->damping, &r->low, &r->high);
    r->peak = cm_peak_speed(r->omega, r->damping);
    r->inside = r->omega >= result->low && r->omega <= result->high;
    for (int s = 0; s < c->sensor_count; s++) {
        int channel = result->channel[s];
        double height =
            channel < 0 ? 0 : cabs(model->residue[m + channel * CM_MOST_MODES]) * r->amplification;
        if (channel < 0 || height * data->weight[channel] <= best)
            continue;
        best = height * data->weight[channel];
        r->sensor = s;
        r->height = height;
    }
    r->clear = r->inside && r->omega_std < SPEED_KNOWN * r->omega &&
               r->damping_std < DAMPING_KNOWN * r->damping && best > STANDS_OUT;
    cm_separation_margin(r->amplification, &r->asked_below, &r->asked_above);
    r->margin = 100 * fabs(r->omega - running) / running;
    double f = r->omega / (2 * CM_PI);
    r->rate_limit = 54 * f * f / (r->amplification * r->amplification) * 2 * CM_PI / 60;
}

static cm_sweep_result fit_one(cm_session *session, const cm_case *c, const cm_sweep *sweep)
{
    int *channel = CM_NEW(session, c->sensor_count, int);
    cm_sweep_data data = gather(session, c, sweep, channel);
    cm_sweep_model *model = CM_NEW(session, 1, cm_sweep_model);
    *model = cm_fit_sweep(session, &data, CM_MOST_MODES);
    cm_sweep_result result = {.run = sweep->run,
                              .readings = sweep->count,
                              .sensors = data.channels,
                              .low = INFINITY,
                              .share = model->share,
                              .count = model->modes,
                              .model = model,
                              .channel = channel};
    for (int k = 0; k < sweep->count; k++) {
        result.low = fmin(result.low, sweep->points[k].omega);
        result.high = fmax(result.high, sweep->points[k].omega);
    }
    result.rate = sweep->count ? (result.high - result.low) / sweep->seconds : NAN;
    cm_resonance *list = CM_NEW(session, model->modes, cm_resonance);
    for (int m = 0; m < model->modes; m++)
        fill_resonance(c, &result, &data, m, &list[m]);
    result.resonances = list;
    return result;
}

cm_status cm_sweeps_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_sweeps_of", CM_HAS_GIVEN, CM_HAS_SWEEPS};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    cm_sweeps *out = CM_NEW(session, 1, cm_sweeps);
    cm_sweep_result *items = CM_NEW(session, job->given->sweep_count, cm_sweep_result);
    for (int i = 0; i < job->given->sweep_count; i++)
        items[i] = fit_one(session, job->given, &job->given->sweeps[i]);
    *out = (cm_sweeps){sizeof *out, job->given->sweep_count, items};
    job->sweeps = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}

/* ---- held inside the half-power band ---- */

static const char *speed_words(const cm_notes *notes, double omega)
{
    const cm_case *c = notes->job->given;
    return cm_format(notes->session, "%s %s", cm_five_digits(notes->session, omega / c->speed_unit->factor),
                     cm_unit_words(c->speed_unit));
}

/* The first run that held a speed of the case within low … high; -1: none. */
static int held_within(const cm_notes *notes, int speed, double low, double high)
{
    const cm_case *c = notes->job->given;
    for (int k = 0; k < c->run_count; k++) {
        const cm_run *run = &c->runs[k];
        double held = run->actual_speed && !isnan(run->actual_speed[speed]) ? run->actual_speed[speed]
                                                                            : c->speeds[speed].omega;
        if (run->taken == CM_TAKEN_RUN_UP || run->taken == CM_TAKEN_RUN_DOWN || !(held > low && held < high))
            continue;
        for (int r = 0; r < run->reading_count; r++)
            if (run->readings[r].speed == speed)
                return k;
    }
    return -1;
}

static void ask_band(cm_notes *notes, double omega, double amplification, double low, double high,
                     const char *from)
{
    const cm_case *c = notes->job->given;
    for (int v = 0; v < c->speed_count; v++) {
        int run = held_within(notes, v, low, high);
        if (run < 0)
            continue;
        cm_note(
            notes, "held-at-critical", CM_ERROR, (cm_where){run, v, -1, -1},
            "At %s run %s was held inside the half-power band, %s to %s, of the resonance at %s "
            "(amplification "
            "factor %s, from %s). Never hold there: small changes of speed turn the readings, and amplitudes "
            "grow. "
            "Read below or above the band, or on the way through (`taken: run-up`), or take the speed out.",
            c->speeds[v].id, c->runs[run].id, speed_words(notes, low), speed_words(notes, high),
            speed_words(notes, omega), cm_three_digits(notes->session, amplification), from);
    }
}

void cm_ask_critical(cm_notes *notes)
{
    const cm_case *c = notes->job->given;
    const cm_sweeps *sweeps = notes->job->sweeps;
    bool told = false;
    for (int i = 0; sweeps && i < sweeps->count; i++)
        for (int m = 0; m < sweeps->items[i].count; m++) {
            const cm_resonance *r = &sweeps->items[i].resonances[m];
            if (!r->clear || r->amplification < LEAST_AMPLIFICATION)
                continue;
            told = true;
            ask_band(notes, r->omega, r->amplification, r->low, r->high,
                     cm_format(notes->session, "the sweep of run %s", c->runs[sweeps->items[i].run].id));
        }
    double q = c->rotor.amplification, omega = c->rotor.first_resonance;
    if (!told && q >= LEAST_AMPLIFICATION && omega > 0) {
        double low, high;
        cm_half_power(omega, 0.5 / q, &low, &high);
        ask_band(notes, omega, q, low, high, "the rotor's data");
    }
}

/* ---- margins and rates ---- */

void cm_ask_margins(cm_notes *notes)
{
    const cm_case *c = notes->job->given;
    const cm_sweeps *sweeps = notes->job->sweeps;
    double running = cm_running_speed(c);
    for (int i = 0; sweeps && i < sweeps->count; i++)
        for (int m = 0; m < sweeps->items[i].count; m++) {
            const cm_resonance *r = &sweeps->items[i].resonances[m];
            double asked = r->omega < running ? r->asked_below : r->asked_above;
            if (!r->clear || !(r->margin < asked))
                continue;
            cm_note(notes, "near-resonance", CM_WARNING, CM_NOWHERE,
                    "The resonance at %s (amplification factor %s, sweep of run %s) lies %s %% from the "
                    "running speed "
                    "of %s; the separation margin of API 617 (formulas from memory) is %s %%. Expect "
                    "readings that "
                    "change with load and temperature; balance for a range of speeds.",
                    speed_words(notes, r->omega), cm_three_digits(notes->session, r->amplification),
                    c->runs[sweeps->items[i].run].id, cm_three_digits(notes->session, r->margin),
                    speed_words(notes, running), cm_three_digits(notes->session, asked));
        }
}

void cm_ask_sweep_rate(cm_notes *notes)
{
    const cm_sweeps *sweeps = notes->job->sweeps;
    for (int i = 0; sweeps && i < sweeps->count; i++)
        for (int m = 0; m < sweeps->items[i].count; m++) {
            const cm_sweep_result *sweep = &sweeps->items[i];
            const cm_resonance *r = &sweep->resonances[m];
            if (!r->clear || !(sweep->rate > r->rate_limit))
                continue;
            double per_minute = 60 / notes->job->given->speed_unit->factor;
            cm_note(notes, "sweep-too-fast", CM_WARNING, (cm_where){sweep->run, -1, -1, -1},
                    "The sweep of run %s went at %s %s a minute, faster than the %s that the resonance at %s "
                    "takes to "
                    "build up (54 f²/Q² Hz a minute, ISO 7626-2, value from memory): its peak is too low and "
                    "comes "
                    "late. Sweep more slowly past it, as far as the plant's procedures allow.",
                    notes->job->given->runs[sweep->run].id,
                    cm_three_digits(notes->session, sweep->rate * per_minute),
                    cm_unit_words(notes->job->given->speed_unit),
                    cm_three_digits(notes->session, r->rate_limit * per_minute),
                    speed_words(notes, r->omega));
        }
}
