/* SPDX-License-Identifier: MIT */
/* Collecting findings: places, names and numbers in the user's terms. */
#include "evidence/notes.h"
#include "base/number.h"
#include "base/text.h"
#include "model/units.h"

void cm_note(cm_notes *notes, const char *code, cm_severity severity, cm_where where, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    const char *message = cm_format_list(notes->session, format, arguments);
    va_end(arguments);
    notes->items = cm_grow(notes->session, notes->items, notes->count, &notes->room, sizeof *notes->items);
    notes->items[notes->count++] = (cm_finding){.code = code,
                                                .severity = severity,
                                                .message = message,
                                                .run = where.run,
                                                .speed = where.speed,
                                                .sensor = where.sensor,
                                                .plane = where.plane};
}

cm_where cm_at_row(const cm_notes *notes, int row)
{
    cm_where where = CM_NOWHERE;
    where.speed = notes->job->given->row_speed[row];
    where.sensor = notes->job->given->row_sensor[row];
    return where;
}

cm_where cm_at_plane(int plane)
{
    cm_where where = CM_NOWHERE;
    where.plane = plane;
    return where;
}

const char *cm_row_name(const cm_notes *notes, int row)
{
    const cm_case *given = notes->job->given;
    return cm_format(notes->session, "%s at %s", given->sensors[given->row_sensor[row]].id,
                     given->speeds[given->row_speed[row]].id);
}

const char *cm_three_digits(cm_session *session, double value)
{
    char digits[32];
    cm_number_short(value, 3, digits);
    return cm_format(session, "%s", digits);
}

const char *cm_five_digits(cm_session *session, double value)
{
    char digits[32];
    cm_number_short(value, 5, digits);
    return cm_format(session, "%s", digits);
}

static const char *with_unit(const cm_notes *notes, double value, const cm_unit *unit)
{
    return cm_format(notes->session, "%s %s", cm_three_digits(notes->session, value / unit->factor),
                     cm_unit_words(unit));
}

const char *cm_row_size(const cm_notes *notes, int row, double size)
{
    const cm_case *given = notes->job->given;
    return with_unit(notes, size, given->sensors[given->row_sensor[row]].unit);
}

const char *cm_mass_size(const cm_notes *notes, double kilograms)
{
    return with_unit(notes, kilograms, notes->job->given->mass_unit);
}

const char *cm_plane_names(const cm_notes *notes, const unsigned char *marked)
{
    const cm_case *given = notes->job->given;
    cm_text names = {.session = notes->session};
    int left = 0;
    for (int j = 0; j < given->plane_count; j++)
        left += marked[j] != 0;
    for (int j = 0, first = 1; j < given->plane_count; j++) {
        if (!marked[j])
            continue;
        cm_text_print(&names, "%s%s", first ? "" : left == 1 ? " and " : ", ", given->planes[j].id);
        first = 0;
        left--;
    }
    return names.bytes ? names.bytes : "no plane";
}
