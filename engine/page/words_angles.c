/* SPDX-License-Identifier: MIT */
/* How to find angle zero and which way to count: the mistakes made at this point mirror every answer. */
#include "page/words.h"
#include "base/constants.h"

#include <math.h>

static const char *turn_words(int rotation)
{
    return rotation > 0 ? "counter-clockwise" : "clockwise";
}

static void say_direction(cm_document *d, const cm_case *c)
{
    if (c->rotation && c->seen_from)
        cm_item(d, CM_PLAIN, "Seen from %s the rotor turns %s; angles grow %s, so count %s from there.",
                cm_short_name(d->session, c->seen_from), turn_words(c->rotation), cm_sense(c),
                turn_words(c->against_rotation ? -c->rotation : c->rotation));
    else
        cm_item(d, CM_CAREFUL,
                "Angles grow %s. The case does not say which way the rotor turns and from where that "
                "is seen: settle it at the machine before counting.",
                cm_sense(c));
    cm_item(d, CM_PLAIN,
            "A check: turned slowly the way it runs, the rotor brings its angles past a fixed point in "
            "%s order%s.",
            c->against_rotation ? "rising" : "falling",
            c->against_rotation ? " (0, 90, 180, 270)" : " (270, 180, 90, 0)");
}

static void say_zeros(cm_document *d, const cm_case *c)
{
    cm_item(d, CM_PLAIN,
            "Angle zero is the reference mark, the mark on the shaft that the phase probe sees; carry it "
            "along the rotor to each plane.");
    for (int j = 0; j < c->plane_count; j++) {
        if (!(fabs(c->planes[j].zero) > 0))
            continue;
        double zero = c->planes[j].zero * 180 / CM_PI;
        double shown = fmod(c->against_rotation ? 360 - zero : zero + 360, 360);
        cm_item(d, CM_PLAIN, "%s counts from its own zero, %s degrees %s from the reference mark.",
                cm_short_name(d->session, c->planes[j].id), cm_degrees(d->session, shown, 1), cm_sense(c));
    }
}

void cm_words_angles(cm_document *d, const cm_case *c)
{
    cm_section(d, "WHERE ANGLE ZERO IS AND WHICH WAY TO COUNT");
    say_zeros(d, c);
    say_direction(d, c);
    cm_item(d, CM_PLAIN, "Phases of readings are phase %s: degrees the shaft turns %s.",
            c->phase_lag ? "lag" : "lead",
            c->phase_lag ? "after the mark passes its probe until the reading peaks"
                         : "from the peak of the reading until the mark passes its probe");
}
