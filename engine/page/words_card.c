/* SPDX-License-Identifier: MIT */
/* Go or no-go card: one table a speed, slowest first. */
#include "page/words.h"
#include "countermass/evidence.h"

#include <math.h>

enum { COLUMNS = 6 };

static const char *const FROM[] = {
    [CM_ABORT_SPREAD] = "spread", [CM_ABORT_ALARM] = "alarm", [CM_ABORT_TRIP] = "trip"};

/* A reading without slow roll as the instrument shows it; "-" for one that nothing tells. */
static const char *shown(cm_document *d, const cm_job *job, const cm_card_row *r, double complex reading,
                         int decimals)
{
    return isnan(creal(reading))
               ? "-"
               : cm_phasor(d->session, cm_user_reading(job, r->row, (reading + r->run_out) / job->card->turn),
                           decimals);
}

static void add_row(cm_document *d, cm_table *table, const cm_job *job, const cm_card_row *r,
                    const char *unread)
{
    int decimals = cm_decimals(cm_user_amplitude(job, r->row, r->abort), 3);
    const char *read = r->is_read ? cm_format(d->session, "%s%s", shown(d, job, r, r->measured, decimals),
                                              r->stops ? " !" : "")
                                  : unread;
    const char *cells[COLUMNS] = {
        cm_format(d->session, "%s", cm_sensor_of(job, r->row)->id),
        cm_unit_words(cm_sensor_of(job, r->row)->unit),
        shown(d, job, r, r->expected, decimals),
        isnan(r->radius90) ? "-"
                           : cm_decimal(d->session, cm_user_amplitude(job, r->row, r->radius90), decimals),
        cm_format(d->session, "%s (%s%s)",
                  cm_decimal(d->session, cm_user_amplitude(job, r->row, r->abort), decimals), FROM[r->source],
                  r->by_phase ? ", *" : ""),
        read,
    };
    cm_table_row(d, table, cells);
}

/* What was read so far, or room to write it down where the page is paper. */
static void say_speed(cm_document *d, const cm_job *job, int speed, bool by_hand)
{
    const cm_card *card = job->card;
    bool shown = card->run >= 0 || by_hand;
    const char *unread = card->run >= 0 ? "-" : by_hand ? "_______ @ ____" : "";
    const cm_column columns[COLUMNS] = {
        {.head = "sensor", .key = true},
        {.head = "unit"},
        {.head = "expect", .unit = "@ degrees", .right = true},
        {.head = "± 90 %", .right = true},
        {.head = "break off above", .right = true},
        {.head = shown ? "read" : "", .unit = shown ? "@ degrees" : NULL, .right = true},
    };
    const cm_speed *s = &job->given->speeds[speed];
    cm_say(d, CM_PLAIN, "At %s, %s %s:", cm_short_name(d->session, s->id),
           cm_digits(d->session, s->omega / job->given->speed_unit->factor, 6),
           cm_unit_words(job->given->speed_unit));
    cm_table *table = cm_table_open(d, COLUMNS, columns);
    for (int i = 0; i < card->count; i++)
        if (job->given->row_speed[card->rows[i].row] == speed)
            add_row(d, table, job, &card->rows[i], unread);
}

/* The worst reading still to come if the likeliest explanation holds. */
static void say_if_so(cm_document *d, const cm_job *job)
{
    const cm_card_row *worst = NULL;
    double most = 0;
    for (int i = 0; i < job->card->count; i++) {
        const cm_card_row *r = &job->card->rows[i];
        double limit = cm_sensor_of(job, r->row)->limit[job->given->row_speed[r->row]];
        double ratio = r->if_so_level / (isfinite(limit) ? limit : r->abort);
        if (!r->is_read && ratio > most) {
            most = ratio;
            worst = r;
        }
    }
    if (worst)
        cm_say(d, CM_CAREFUL, "If the likeliest reason holds, %s would come to %s %s.",
               cm_reading_name(d->session, job, worst->row),
               cm_digits(d->session, cm_user_amplitude(job, worst->row, worst->if_so_level), 3),
               cm_unit_words(cm_sensor_of(job, worst->row)->unit));
}

/* The reading furthest over its trip, else over its alarm; NULL: none is. */
static const cm_card_row *worst_over(const cm_job *job)
{
    const cm_card_row *worst = NULL;
    double most = 0;
    for (int i = 0; i < job->card->count; i++) {
        const cm_card_row *r = &job->card->rows[i];
        double above = r->over == CM_ABORT_SPREAD ? 0 : r->level / r->bound;
        if (r->is_read && above > most && (!worst || r->over >= worst->over)) {
            most = above;
            worst = r;
        }
    }
    return worst;
}

static void say_stop(cm_document *d, const cm_job *job, const char *run)
{
    const cm_card_row *over = worst_over(job);
    const char *why = cm_format(d->session, "what %s has read so far is not what the masses let expect%s",
                                run, cm_likely_words(d->session, job, job->card->test));
    if (over)
        why = cm_format(d->session, "%s reads %s %s, over its %s of %s",
                        cm_reading_name(d->session, job, over->row),
                        cm_digits(d->session, cm_user_amplitude(job, over->row, over->level), 3),
                        cm_unit_words(cm_sensor_of(job, over->row)->unit), FROM[over->over],
                        cm_digits(d->session, cm_user_amplitude(job, over->row, over->bound), 3));
    cm_say(d, CM_BAD,
           "Stop: %s. Do not go faster; come down as the plant's procedures say and find the reason first.",
           why);
}

static void say_verdict(cm_document *d, const cm_job *job)
{
    const cm_card *card = job->card;
    const char *run = cm_short_name(d->session, job->given->runs[card->run].id);
    const cm_run *given = &job->given->runs[card->run];
    if (card->go == CM_GO_UNTOLD && (given->reading_count == 0 || !(given->weight > 0)))
        cm_say(d, CM_CAREFUL, "No verdict on %s: %s.", run, cm_why_untold(d->session, job));
    else if (card->go == CM_GO_UNTOLD)
        cm_say(d, CM_CAREFUL, "The runs before do not tell what %s should read at these speeds: no verdict.",
               run);
    else if (card->go == CM_GO_ON)
        cm_say(d, CM_GOOD,
               "Go on: what %s has read so far is what the masses let expect (%s; chance %s of so large a "
               "miss).",
               run, cm_count_of(d->session, card->test->readings, "reading", "readings"),
               cm_digits(d->session, card->test->chance, 2));
    else
        say_stop(d, job, run);
    say_if_so(d, job);
}

static bool shows_roll(const cm_card *card)
{
    for (int i = 0; i < card->count; i++)
        if (card->rows[i].run_out != 0)
            return true;
    return false;
}

static bool any_by_phase(const cm_card *card)
{
    for (int i = 0; i < card->count; i++)
        if (card->rows[i].by_phase)
            return true;
    return false;
}

static bool any_stops(const cm_card *card)
{
    for (int i = 0; i < card->count; i++)
        if (card->rows[i].stops)
            return true;
    return false;
}

/* An alarm that the amplitude of the table does not hold by itself. */
static void say_exceptions(cm_document *d, const cm_job *job)
{
    if (any_by_phase(job->card))
        cm_say(d, CM_CAREFUL,
               "* At the phase expected only: slow roll is so large that the amplitude alone does not tell "
               "whether an alarm or trip is passed. At another phase take slow roll off the reading, or ask "
               "`check --so-far`.");
    for (int s = 0; s < job->given->sensor_count; s++)
        if (job->given->sensors[s].limit_is == CM_LIMIT_OVERALL)
            cm_say(d, CM_CAREFUL,
                   "Alarm and trip of %s are for the overall level: the amplitude to break off at takes what "
                   "is not once per turn as it was read. Break off over an overall alarm as well.",
                   cm_short_name(d->session, job->given->sensors[s].id));
}

void cm_words_card_tables(cm_document *d, const cm_job *job, bool by_hand)
{
    const cm_card *card = job->card;
    if (card->run >= 0)
        say_verdict(d, job);
    int last = -1;
    for (int i = 0; i < card->count; i++) {
        int speed = job->given->row_speed[card->rows[i].row];
        if (speed != last)
            say_speed(d, job, speed, by_hand);
        last = speed;
    }
    cm_say(d, CM_PLAIN, "All as the instrument shows it once per turn%s.",
           shows_roll(card) ? ", slow roll in it" : "");
    if (card->count > 0)
        say_exceptions(d, job);
    if (any_stops(card))
        cm_say(d, CM_BAD, "!: over what to break off at.");
    cm_say(d, CM_PLAIN,
           "± 90 %% holds 9 of 10 right readings. A right run passes none of the amplitudes to break off at "
           "in 99 of 100 cases; alarms and trips of the plant come first. Read on the way up, write the "
           "readings into a "
           "run of its own, and ask `check --so-far` before going faster.");
}

void cm_words_card(cm_document *d, const cm_job *job)
{
    if (!job->card)
        return;
    cm_section(d, job->card->run >= 0 ? "GO OR NO-GO: THE RUN SO FAR"
                                      : "GO OR NO-GO: THE NEXT RUN-UP WITH THE MASSES OF `solve`");
    cm_words_card_tables(d, job, false);
}
