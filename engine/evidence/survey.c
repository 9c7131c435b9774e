/* SPDX-License-Identifier: MIT */
/*
 * Is it unbalance at all? Unbalance is a force that turns with the rotor: once per turn, radial, with equal size in all
 * radial directions and a quarter turn between horizontal and vertical, in proportion to speed squared; the orbit goes
 * forward. On a support of unequal stiffness the sizes differ and the orbit gets a backward part. Each sign has a table row
 * (model/signs.c). Orbit: p_k = F exp(-i a_k) + B exp(i a_k) for probes at angles a_k; backward share |B|/(|F| + |B|).
 *
 * Growth: exponent n = ln(r2/r1)/ln(W2/W1); velocity and acceleration of unbalance grow with one and two more powers, which
 * are taken off.
 */
#include "evidence/notes.h"
#include "evidence/steps.h"
#include "base/text.h"
#include "linalg/dense.h"
#include "model/signs.h"
#include "model/units.h"
#include "model/job_call.h"

#include <math.h>
#include <string.h>

#undef I

typedef struct cm_collector {
    cm_session *session;
    cm_survey_verdict *verdict;
    cm_sign *signs;
} cm_collector;

static void add_sign(cm_collector *to, cm_sign_kind kind, double value)
{
    const cm_sign_row *row = &CM_SIGNS[kind];
    if (isnan(value))
        return;
    bool bad = value < row->bad_low || value > row->bad_high;
    bool good = value >= row->good_low && value <= row->good_high;
    to->signs[to->verdict->count++] = (cm_sign){kind, value,
                                                bad    ? CM_SPEAKS_AGAINST
                                                : good ? CM_SPEAKS_FOR
                                                       : CM_SPEAKS_NOT};
    to->verdict->against += bad;
    to->verdict->in_favour += good && !bad;
}

static double once_of(const cm_survey *s, int way)
{
    return s->way[way].once_quantity >= 0 ? cabs(s->way[way].once) : NAN;
}

/* The radial direction with the larger once-per-turn amplitude (-1: none). */
static int larger_way(const cm_survey *s)
{
    double h = once_of(s, CM_HORIZONTAL), v = once_of(s, CM_VERTICAL);
    if (isnan(h) && isnan(v))
        return -1;
    return isnan(v) || h >= v ? CM_HORIZONTAL : CM_VERTICAL;
}

static void shares(cm_collector *to, const cm_survey_way *way)
{
    if (way->overall_quantity == way->once_quantity && way->overall > 0)
        add_sign(to, CM_SIGN_ONCE_SHARE, cabs(way->once) / way->overall);
    if (way->twice_quantity == way->once_quantity && cabs(way->once) > 0)
        add_sign(to, CM_SIGN_TWICE, way->twice / cabs(way->once));
}

static void axial_share(cm_collector *to, const cm_survey *s, int large)
{
    const cm_survey_way *axial = &s->way[CM_AXIAL], *radial = &s->way[large];
    if (axial->once_quantity >= 0 && axial->once_quantity == radial->once_quantity)
        add_sign(to, CM_SIGN_AXIAL, cabs(axial->once) / cabs(radial->once));
    else if (axial->overall_quantity >= 0 && axial->overall_quantity == radial->overall_quantity)
        add_sign(to, CM_SIGN_AXIAL, axial->overall / radial->overall);
}

static void directions(cm_collector *to, const cm_survey *s)
{
    double h = once_of(s, CM_HORIZONTAL), v = once_of(s, CM_VERTICAL);
    if (isnan(h) || isnan(v) || s->way[0].once_quantity != s->way[1].once_quantity || !(fmin(h, v) > 0))
        return;
    add_sign(to, CM_SIGN_SIZES, fmax(h, v) / fmin(h, v));
    add_sign(to, CM_SIGN_PHASE, cm_degrees_between(s->way[CM_HORIZONTAL].once, s->way[CM_VERTICAL].once));
}

/* Growth from the entry of the same bearing at the next lower speed. */
static void growth(cm_collector *to, const cm_case *c, const cm_survey *s, int large)
{
    const cm_survey *below = NULL;
    double omega = s->speed >= 0 ? c->speeds[s->speed].omega : NAN;
    for (int i = 0; i < c->survey_count; i++) {
        const cm_survey *o = &c->surveys[i];
        double own = o->speed >= 0 ? c->speeds[o->speed].omega : NAN;
        bool fits = strcmp(o->bearing, s->bearing) == 0 && own < 0.9 * omega && once_of(o, large) > 0 &&
                    o->way[large].once_quantity == s->way[large].once_quantity;
        if (fits && (!below || own > c->speeds[below->speed].omega))
            below = o;
    }
    if (!below)
        return;
    int powers = s->way[large].once_quantity - CM_DISPLACEMENT; /* velocity 1, acceleration 2 */
    add_sign(to, CM_SIGN_GROWTH,
             log(once_of(s, large) / once_of(below, large)) / log(omega / c->speeds[below->speed].omega) -
                 powers);
}

static void judge_entry(cm_session *session, const cm_case *c, const cm_survey *s, cm_survey_verdict *verdict)
{
    cm_collector to = {session, verdict, CM_NEW(session, CM_SIGN_COUNT, cm_sign)};
    *verdict =
        (cm_survey_verdict){.bearing = s->bearing, .speed = s->speed, .sensor = {-1, -1}, .signs = to.signs};
    int large = larger_way(s);
    if (large < 0)
        return;
    shares(&to, &s->way[large]);
    axial_share(&to, s, large);
    directions(&to, s);
    growth(&to, c, s, large);
}

/* ---- orbits ---- */

/* Backward share from lead phasors at two angles; NAN: they see one direction. */
static double backward_share(double complex p, double complex q, double a, double b)
{
    double complex ea = cm_pack(cos(a), sin(a)), eb = cm_pack(cos(b), sin(b));
    double complex det = conj(ea) * eb - ea * conj(eb);
    if (cabs(det) < 0.1)
        return NAN;
    double forward = cabs((p * eb - q * ea) / det), backward = cabs((q * conj(ea) - p * conj(eb)) / det);
    return forward + backward > 0 ? backward / (forward + backward) : NAN;
}

/* Two sensors of one kind at one position, seen from different angles. */
static bool see_one_orbit(const cm_sensor *a, const cm_sensor *b)
{
    return a->unit->quantity == b->unit->quantity && a->kind == b->kind && a->position == b->position &&
           !isnan(a->angle) && !isnan(b->angle) && fabs(sin(a->angle - b->angle)) > 0.5;
}

/* The first run's reading of a row, if it stands out of its scatter. */
static bool first_reading(const cm_job *job, int sensor, int speed, double complex *value)
{
    int row = job->given->row_of[sensor + job->given->sensor_count * speed];
    if (row < 0 || !cm_run_read(job->runs, row, 0))
        return false;
    *value = job->runs->readings[row];
    return true;
}

static bool judge_orbit(cm_session *session, const cm_job *job, int a, int b, int speed,
                        cm_survey_verdict *verdict)
{
    const cm_sensor *s = job->given->sensors;
    double complex p, q;
    if (!see_one_orbit(&s[a], &s[b]) || !first_reading(job, a, speed, &p) ||
        !first_reading(job, b, speed, &q))
        return false;
    int row = job->given->row_of[a + job->given->sensor_count * speed];
    if (!job->influence || hypot(cabs(p), cabs(q)) < 10 * job->influence->scatter[row])
        return false;
    cm_collector to = {session, verdict, CM_NEW(session, CM_SIGN_COUNT, cm_sign)};
    *verdict = (cm_survey_verdict){.bearing = cm_format(session, "%s and %s", s[a].id, s[b].id),
                                   .speed = speed,
                                   .sensor = {a, b},
                                   .signs = to.signs};
    add_sign(&to, CM_SIGN_BACKWARD, backward_share(p, q, s[a].angle, s[b].angle));
    return verdict->count > 0;
}

static int judge_orbits(cm_session *session, const cm_job *job, cm_survey_verdict *items)
{
    const cm_case *c = job->given;
    int count = 0;
    for (int v = 0; job->runs && v < c->speed_count; v++)
        for (int a = 0; a + 1 < c->sensor_count; a++)
            for (int b = a + 1; b < c->sensor_count; b++)
                if (see_one_orbit(&c->sensors[a], &c->sensors[b])) {
                    count += judge_orbit(session, job, a, b, v, &items[count]);
                    break;
                }
    return count;
}

cm_status cm_survey_of(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_survey_of", CM_HAS_GIVEN, CM_HAS_SURVEY};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    const cm_case *c = job->given;
    cm_survey_verdicts *out = CM_NEW(session, 1, cm_survey_verdicts);
    cm_survey_verdict *items =
        CM_NEW(session, c->survey_count + c->speed_count * c->sensor_count, cm_survey_verdict);
    for (int i = 0; i < c->survey_count; i++)
        judge_entry(session, c, &c->surveys[i], &items[i]);
    int orbits = judge_orbits(session, job, items + c->survey_count);
    *out = (cm_survey_verdicts){sizeof *out, c->survey_count + orbits, items};
    job->surveyed = out;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}

/* ---- the finding ---- */

static const char *against_words(const cm_notes *notes, const cm_survey_verdict *v)
{
    cm_text text = {.session = notes->session};
    for (int i = 0; i < v->count; i++)
        if (v->signs[i].speaks == CM_SPEAKS_AGAINST)
            cm_text_print(
                &text, "%s%s: %s (may mean %s)", text.bytes ? "; " : "", CM_SIGNS[v->signs[i].kind].words,
                cm_three_digits(notes->session, v->signs[i].value), CM_SIGNS[v->signs[i].kind].points_to);
    return text.bytes;
}

void cm_ask_survey(cm_notes *notes)
{
    const cm_survey_verdicts *all = notes->job->surveyed;
    for (int i = 0; all && i < all->count; i++) {
        const cm_survey_verdict *v = &all->items[i];
        if (v->against == 0)
            continue;
        cm_where where = {-1, v->speed, v->sensor[0], -1};
        cm_note(notes, "not-unbalance", CM_WARNING, where,
                "At %s some signs speak against unbalance as the main cause (%d against, %d for): %s. Such "
                "signs are "
                "common practice, no source, and no proof. Before any mass is mounted look for deposits, "
                "loose bolts and "
                "lost masses or blades, see that the phase probe sits firmly, and read again at steady speed "
                "and load.",
                v->bearing, v->against, v->in_favour, against_words(notes, v));
    }
}
