/* SPDX-License-Identifier: MIT */
/* Numbers, names and directions as people read them. */
#include "page/phrases.h"

#include "base/number.h"
#include "countermass/evidence.h"
#include "page/columns.h"

#include <math.h>
#include <string.h>

enum { NAME_COLUMNS = 60, DEGREES = 3 };
static const char BETWEEN[] = " @ ";

const char *cm_digits(cm_session *session, double value, int digits)
{
    char text[32];
    if (!isfinite(value))
        return "-";
    cm_number_short(value, digits, text);
    return cm_copy_text(session, text, strlen(text));
}

const char *cm_decimal(cm_session *session, double value, int decimals)
{
    char text[64];
    if (!isfinite(value))
        return "-";
    if (fabs(value) >= 1e12 || decimals > 12)
        return cm_digits(session, value, 4);
    cm_number_fixed(value, decimals, text);
    return cm_copy_text(session, text, strlen(text));
}

const char *cm_percent(cm_session *session, double probability)
{
    if (probability > 0.99)
        return "> 99";
    if (probability < 0.01)
        return "< 1";
    return cm_decimal(session, 100 * probability, 0);
}

int cm_decimals(double largest, int digits)
{
    if (!(largest > 0) || !isfinite(largest))
        return digits - 1;
    int decimals = digits - 1 - (int)floor(log10(largest));
    return decimals < 0 ? 0 : decimals;
}

const char *cm_degrees(cm_session *session, double degrees, int decimals)
{
    double step = pow(10, decimals);
    double rounded = round(degrees * step) / step;
    return cm_decimal(session, rounded >= 360 ? 0 : rounded, decimals);
}

static char *put(char *at, const char *text)
{
    while (*text)
        *at++ = *text++;
    return at;
}

/* The angle of what is shown as 0 is one of rounding. Put together by hand: a page has hundreds of them, and "%s @ %3s"
 * costs five times as much. */
const char *cm_phasor(cm_session *session, cm_size_angle value, int decimals)
{
    const char *size = cm_decimal(session, value.size, decimals);
    const char *angle = strpbrk(size, "123456789") ? cm_degrees(session, value.angle, 0) : "-";
    char *text = cm_take(session, strlen(size) + strlen(BETWEEN) + DEGREES + strlen(angle) + 1, 1);
    char *end = put(put(text, size), BETWEEN);
    for (size_t k = strlen(angle); k < DEGREES; k++)
        *end++ = ' ';
    *put(end, angle) = 0;
    return text;
}

const char *cm_short_name(cm_session *session, const char *id)
{
    return cm_shorten(session, id, NAME_COLUMNS);
}

const char **cm_plane_labels(cm_session *session, const cm_case *c, int most)
{
    const char **ids = CM_NEW(session, c->plane_count, const char *);
    for (int j = 0; j < c->plane_count; j++)
        ids[j] = c->planes[j].id;
    return cm_shorten_apart(session, c->plane_count, ids, most);
}

const char **cm_sensor_labels(cm_session *session, const cm_case *c, int most)
{
    const char **ids = CM_NEW(session, c->sensor_count, const char *);
    for (int s = 0; s < c->sensor_count; s++)
        ids[s] = c->sensors[s].id;
    return cm_shorten_apart(session, c->sensor_count, ids, most);
}

const char *cm_reading_name(cm_session *session, const cm_job *job, int row)
{
    return cm_format(session, "%s at %s", cm_short_name(session, cm_sensor_of(job, row)->id),
                     cm_short_name(session, cm_speed_of(job, row)->id));
}

const char *cm_sense(const cm_case *c)
{
    return c->against_rotation ? "against rotation" : "with rotation";
}

const char *cm_direction(cm_session *session, const cm_case *c, int plane, double degrees)
{
    const char *from = plane >= 0 && fabs(c->planes[plane].zero) > 0
                           ? cm_format(session, "the zero of %s", cm_short_name(session, c->planes[plane].id))
                           : "the reference mark";
    return cm_format(session, "%s degrees %s from %s", cm_degrees(session, degrees, 1), cm_sense(c), from);
}

const char *cm_part_id(const cm_case *c, int part)
{
    return part < c->plane_count ? c->planes[part].id : c->sets[part - c->plane_count].id;
}

/* The first `count` planes and sets of the case that are marked. */
static const char *marked_words(cm_session *session, const cm_case *c, int count, const unsigned char *marked,
                                int stride)
{
    const char *words = "";
    int left = 0;
    for (int j = 0; j < count; j++)
        left += marked[(size_t)j * (size_t)stride] != 0;
    for (int j = 0; j < count; j++) {
        if (!marked[(size_t)j * (size_t)stride])
            continue;
        left--;
        const char *after = left > 1 ? ", " : left == 1 ? " and " : "";
        words = cm_format(session, "%s%s%s", words, cm_short_name(session, cm_part_id(c, j)), after);
    }
    return words;
}

const char *cm_planes_words(cm_session *session, const cm_case *c, const unsigned char *marked, int stride)
{
    return marked_words(session, c, c->plane_count, marked, stride);
}

const char *cm_parts_words(cm_session *session, const cm_case *c, const unsigned char *marked)
{
    return marked_words(session, c, c->plane_count + c->set_count, marked, 1);
}

const char *cm_count_of(cm_session *session, int count, const char *one, const char *many)
{
    return cm_format(session, "%d %s", count, count == 1 ? one : many);
}

const char *cm_why_untold(cm_session *session, const cm_job *job)
{
    const cm_run *run = &job->given->runs[job->card->run];
    if (run->reading_count > 0 && run->weight > 0)
        return "the runs before do not tell it";
    if (run->reading_count > 0)
        return "its weight is 0, so its readings are not used";
    if (run->left_out == 0)
        return "it has no readings yet";
    return cm_format(session, "its readings are left out: %s", run->leave_out.because);
}
