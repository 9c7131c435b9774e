/* SPDX-License-Identifier: MIT */
/* One row a kind of mistake: its code in results, its words for one place and for all, and where to look. */
#include "model/mistakes.h"
#include "base/constants.h"
#include "base/number.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

typedef struct cm_mistake_row {
    const char *name;
    const char *one; /* with the plane, the two planes, or the sensor(s) */
    const char *all; /* every plane that was changed, or no place at all */
    const char *look;
} cm_mistake_row;

static const cm_mistake_row ROWS[CM_MISTAKE_COUNT] = {
    [CM_ANGLE_MIRRORED] = {"angle-mirrored",
                           "the mass on %s sits at the mirrored angle, counted the wrong way round",
                           "all masses sit at mirrored angles, counted the wrong way round",
                           "count the angle on the rotor again, in the direction the case states"},
    [CM_OPPOSITE_SIDE] =
        {"opposite-side", "the mass on %s sits on the opposite side (180 degrees)",
         "all masses sit on the opposite side (180 degrees)",
         "find the reference mark and the heavy side again; was mass added instead of removed?"},
    [CM_ONE_POSITION_OFF] = {"one-position-off", "the mass on %s sits one position off",
                             "the masses sit one position off",
                             "count the positions from the first one again"},
    [CM_NUMBERED_THE_OTHER_WAY] = {"numbered-the-other-way",
                                   "the positions of %s were counted the other way round",
                                   "positions were counted the other way round",
                                   "compare the numbering of the positions with the rotor"},
    [CM_PLANES_SWAPPED] = {"planes-swapped", "the masses of %s and %s were mounted on each other's plane",
                           "the masses of two planes were changed for each other", "look at both planes"},
    [CM_MASS_MISSING] = {"mass-missing", "the mass on %s is not there", "none of the masses is there",
                         "look whether the masses were mounted at all"},
    [CM_MASS_CAME_OFF] =
        {"mass-came-off", "mass came off %s", "masses came off",
         "open the plane and look for the mass, and for what it hit; do not start before it is found"},
    [CM_TRIAL_LEFT_ON] = {"trial-left-on", "the earlier mass on %s was left on",
                          "the earlier masses were left on", "look for masses that should be off"},
    [CM_MASS_UNIT] = {"mass-unit", "the mass on %s was weighed in another unit",
                      "the masses were weighed in another unit", "weigh the masses again"},
    [CM_WRONG_RADIUS] = {"wrong-radius", "the mass on %s sits at another radius, or is another mass",
                         "the masses sit at another radius, or are other masses",
                         "measure radius and mass again"},
    [CM_PHASE_CONVENTION] = {"phase-convention", "",
                             "phases were written down in the other convention (lag for lead)",
                             "look how the instrument counts phase"},
    [CM_PHASE_REFERENCE_MOVED] = {"phase-reference-moved", "", "the phase reference moved",
                                  "look at the phase probe, its mark and its trigger"},
    [CM_CABLES_SWAPPED] = {"cables-swapped", "the cables of %s and %s were changed for each other",
                           "two cables were changed for each other",
                           "follow both cables from probe to instrument"},
    [CM_AMPLITUDE_SCALE] = {"amplitude-scale", "%s reads by a wrong factor",
                            "all amplitudes carry a wrong factor",
                            "compare peak to peak, peak and rms, and the sensitivity of the sensor"},
    [CM_MACHINE_CHANGED] =
        {"machine-changed", "", "the machine itself changed, or something not listed here",
         "look for deposits, lost masses, rubs, loose bolts, another load or temperature; repeat the "
         "run before anything else"},
};

const char *cm_mistake_name(cm_mistake_kind kind)
{
    return ROWS[kind].name;
}

const char *cm_mistake_look(cm_mistake_kind kind)
{
    return ROWS[kind].look;
}

/* The words of a row hold at most two names; compilers cannot check a format from a table, so they are put in by hand. */
static const char *fill(cm_session *session, const char *words, const char *first, const char *second)
{
    cm_text out = {.session = session};
    const char *names[2] = {first, second};
    int name = 0;
    for (const char *place; name < 2 && (place = strstr(words, "%s")); words = place + 2) {
        cm_text_add_bytes(&out, words, (size_t)(place - words));
        cm_text_add(&out, names[name] ? names[name] : "");
        name++;
    }
    cm_text_add(&out, words);
    return out.bytes;
}

const char *cm_mistake_words(cm_session *session, const cm_case *given, const cm_mistake *m)
{
    const cm_mistake_row *row = &ROWS[m->kind];
    if (m->sensor >= 0)
        return fill(session, row->one, given->sensors[m->sensor].id,
                    m->other_sensor >= 0 ? given->sensors[m->other_sensor].id : NULL);
    if (m->plane >= 0)
        return fill(session, row->one, given->planes[m->plane].id,
                    m->other_plane >= 0 ? given->planes[m->other_plane].id : NULL);
    return row->all;
}

static const char *number_words(cm_session *session, const cm_case *given, const cm_explanation *e)
{
    char digits[32];
    if (isnan(e->value) || e->has_second)
        return "";
    bool shift = e->mistake.kind == CM_PHASE_REFERENCE_MOVED;
    double degrees = e->value * (given->phase_lag ? -1 : 1) * 180 / CM_PI;
    cm_number_short(shift ? degrees : e->value, 3, digits);
    return shift ? cm_format(session, " (by %s degrees)", digits)
                 : cm_format(session, " (factor %s)", digits);
}

const char *cm_explanation_words(cm_session *session, const cm_case *given, const cm_explanation *e)
{
    const char *first = cm_mistake_words(session, given, &e->mistake);
    if (e->has_second)
        return cm_format(session, "%s, and %s", first, cm_mistake_words(session, given, &e->second));
    return cm_format(session, "%s%s", first, number_words(session, given, e));
}
