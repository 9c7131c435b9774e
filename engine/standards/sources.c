/* SPDX-License-Identifier: MIT */
/* One table of sources: who says it, where, and whether the page itself was read. */
#include "standards/sources.h"

#include <stddef.h>
#include <string.h>

const char CM_SOURCE_ADVICE[] = "Standards are revised, and some of these figures are known from memory "
                                "only. Check them against the current "
                                "edition before anyone signs.";

const cm_source CM_SOURCES[] = {
    {"grades", "ISO 21940-11:2016 (formerly ISO 1940-1)", "clause 6.2, table 1",
     "balance quality grades, e_per x speed = G", "READ in a trade copy of the table; clause from memory"},
    {"lever-rule", "ISO 21940-11:2016", "clause 7.2",
     "two tolerance planes at the bearings: shares by the distances from the centre of mass",
     "READ in a summary of the standard; clause from memory"},
    {"inboard-limits", "ISO 21940-11:2016", "clause 7.2.2",
     "centre of mass between the bearings: no share below 0.3 or above 0.7",
     "READ in a summary of the standard; clause from memory"},
    {"outboard-limits", "ISO 21940-11:2016", "clause 7.2.3",
     "centre of mass outside the bearings: no share below 0.3 or above 1.3",
     "value from memory of ISO 21940-11, medium confidence"},
    {"load-shares", "our own rule", NULL, "any other number of bearings: shares by the static loads",
     "chosen; ISO 21940-11 speaks of two"},
    {"correction-planes", "our own rule", NULL,
     "correction planes: the largest product of the values that keeps every bearing within its value at any "
     "angles",
     "computed; ISO 21940-11 annex D allows other rules"},
    {"flexible-shares", "ISO 21940-12:2016", NULL,
     "flexible rotor: 100 % of part 11 as a rigid body at low speed, 60 % as equivalent first modal "
     "unbalance and 60 % "
     "as equivalent second modal unbalance",
     "value from memory of ISO 21940-12, medium confidence"},
    {"flexible-test", "common practice", NULL,
     "a rotor with a resonance below service speed / 0.7 is treated as flexible",
     "common practice, no source"},
    {"mass-speed", "API 617, 7th and 8th edition", NULL,
     "each plane: 6350 W / N g mm, W the static load on the journal in kg, N the greatest continuous speed "
     "in r/min",
     "value from memory of API 617"},
    {"mass-speed-high", "API 617", NULL, "above 25,000 r/min: a constant eccentricity of 0.254 um",
     "value from memory of API 617"},
    {"margins", "API 617, 7th and 8th edition", NULL,
     "separation margins from the amplification factor, and 25.4 sqrt(12000/N) um pp, at most 25.4, in a "
     "works test",
     "value from memory of API 617"},
    {"balance-errors", "ISO 21940-14:2012", NULL,
     "the verdict takes the errors of the measurement into account: kept only when value + error is within",
     "value from memory of ISO 21940-14"},
    {"key-convention", "ISO 21940-32:2012", NULL, "state the key convention (half key) used in balancing",
     "headline READ in a list of contents"},
    {"report", "ISO 21940-13:2012", "clause 9", "what a report of balancing in place contains",
     "contents list READ; headings in our own words"},
    {"trial-load", "common practice", NULL,
     "force of a trial mass at most 10 % of the static load of the bearing", "common practice, no source"},
    {"trial-permissible", "common practice", NULL,
     "trial mass of a few times the permissible unbalance when nothing else is known",
     "common practice, no source"},
    {"trial-visible", "our own rule", NULL,
     "a trial mass shows when it moves a reading by 7 standard deviations of that reading",
     "chosen, no source"},
    {"trial-change", "two trade texts", NULL,
     "a trial mass should change an amplitude by 30 % or a phase by 30 degrees", "READ; common practice"},
    {"trial-ceiling", "common practice", NULL,
     "a reading without alarm and trip must stay below 1.25 times the larger of its limit and its as-found "
     "value",
     "common practice, no source"},
    {NULL, NULL, NULL, NULL, NULL},
};

const cm_source *cm_source_of(const char *key)
{
    const cm_source *row = CM_SOURCES;
    while (row->key && strcmp(row->key, key) != 0)
        row++;
    return row->key ? row : NULL;
}
