/* SPDX-License-Identifier: MIT */
/* Straight axes. */
#include "page/axis.h"

#include "page/dial.h"
#include "page/phrases.h"

#include <math.h>

cm_point cm_axis_point(const cm_axis *axis, double value)
{
    double share = value / axis->full;
    return (cm_point){axis->from.x + share * (axis->to.x - axis->from.x),
                      axis->from.y + share * (axis->to.y - axis->from.y)};
}

static bool is_lying(const cm_axis *axis)
{
    return fabs(axis->to.x - axis->from.x) > fabs(axis->to.y - axis->from.y);
}

static void draw_tick(const cm_axis *axis, double value, bool lying)
{
    cm_point p = cm_axis_point(axis, value);
    cm_point far = lying ? (cm_point){p.x, p.y - axis->reach} : (cm_point){p.x + axis->reach, p.y};
    cm_point label = lying ? (cm_point){p.x, p.y + 13} : (cm_point){p.x - 5, p.y + 3.5};
    cm_draw_line(axis->drawing, "grid", p, far);
    cm_draw_words(axis->drawing, "small soft", lying ? CM_MIDDLE : CM_RIGHT, label,
                  cm_digits(axis->drawing->session, value, 4));
}

void cm_axis_draw(const cm_axis *axis, int ticks, const char *words)
{
    bool lying = is_lying(axis);
    double step = axis->step > 0 ? axis->step : cm_round_step(axis->full, ticks);
    for (int k = 0; k * step <= axis->full * 1.0001; k++)
        draw_tick(axis, k * step, lying);
    cm_draw_line(axis->drawing, "soft-line", axis->from, axis->to);
    if (lying)
        cm_draw_words(axis->drawing, "small", CM_RIGHT, (cm_point){axis->to.x, axis->to.y + 26}, words);
    else
        cm_draw_words(axis->drawing, "small", CM_LEFT, (cm_point){axis->to.x - 30, axis->to.y - 8}, words);
}
