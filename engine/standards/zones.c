/* SPDX-License-Identifier: MIT */
/*
 * Zones of the ISO 20816 family (older names: 10816 for housings, 7919 for
 * shafts). Zone A: newly commissioned machines; B: long-term running; C: not
 * for long; D: damage. A/B is taken as limit of a balancing job, B/C as alarm
 * and C/D as trip. Each row says whether its page was read.
 */
#include "standards/zones.h"
#include "base/constants.h"

#include "model/units.h"

#include <ctype.h>
#include <math.h>

static const double RPM = CM_PI / 30;

const char CM_ZONE_ADVICE[] = "Zone boundaries speak of overall vibration in steady running at rated speed. "
                              "The once-per-turn part is smaller "
                              "than the overall value, so a reading inside a zone does not prove that the "
                              "machine is. Alarm and trip of a "
                              "plant follow its own baseline and its maker; take the lower ones.";

#define READ_5 "READ in a copy of ISO 10816-5:2000, tables A.2 to A.4"
#define READ_3 "READ in a motor manual that quotes ISO 10816-3 group 1"
#define MEMORY_3 "value from memory of ISO 10816-3"
#define MEMORY_2 "value from memory of ISO 10816-2 / 20816-2"
#define MEMORY_7919_2 "value from memory of ISO 7919-2"
#define MEMORY_7919_3 "value from memory of ISO 7919-3"

const cm_zone CM_ZONES[] = {
    {"ISO 10816-3 group 1 rigid",
     "300 kW to 50 MW, motors of shaft height 315 mm and more, rigid support",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {2.3, 4.5, 7.1}}},
     READ_3},
    {"ISO 10816-3 group 1 flexible",
     "300 kW to 50 MW, motors of shaft height 315 mm and more, flexible support",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {3.5, 7.1, 11.0}}},
     READ_3},
    {"ISO 10816-3 group 2 rigid",
     "15 to 300 kW, rigid support",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {1.4, 2.8, 4.5}}},
     MEMORY_3},
    {"ISO 10816-3 group 2 flexible",
     "15 to 300 kW, flexible support",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {2.3, 4.5, 7.1}}},
     MEMORY_3},
    {"ISO 10816-5 group 2",
     "hydraulic machines of group 2",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {2.5, 4.0, 6.4}}},
     READ_5},
    {"ISO 10816-5 group 3",
     "hydraulic machines of group 3",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {1.6, 2.5, 4.0}}},
     READ_5},
    {"ISO 10816-5 group 4 location 1",
     "hydraulic machines of group 4, measuring location 1",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {2.5, 4.0, 6.4}}},
     READ_5},
    {"ISO 10816-5 group 4 other bearings",
     "hydraulic machines of group 4, other bearings",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {1.6, 2.5, 4.0}}},
     READ_5},
    {"ISO 20816-2 housing",
     "steam turbines and generators above 40 MW, bearing housings",
     "mm/s rms",
     CM_HOUSING,
     false,
     4,
     {{1500, {2.8, 5.3, 8.5}}, {1800, {2.8, 5.3, 8.5}}, {3000, {3.8, 7.5, 11.8}}, {3600, {3.8, 7.5, 11.8}}},
     MEMORY_2},
    {"ISO 20816-2 gas turbine housing",
     "gas turbines above 40 MW, bearing housings",
     "mm/s rms",
     CM_HOUSING,
     false,
     1,
     {{0, {4.5, 9.3, 14.7}}},
     MEMORY_2},
    {"ISO 7919-2 relative shaft",
     "steam turbines and generators above 40 MW, shaft against bearing",
     "um pp",
     CM_SHAFT_RELATIVE,
     false,
     4,
     {{1500, {100, 200, 320}}, {1800, {95, 185, 290}}, {3000, {90, 165, 240}}, {3600, {80, 150, 220}}},
     MEMORY_7919_2},
    {"ISO 7919-3 relative shaft",
     "other industrial machines above 15 kW, shaft against bearing",
     "um pp",
     CM_SHAFT_RELATIVE,
     true,
     1,
     {{0, {4800, 9000, 13200}}},
     MEMORY_7919_3},
    {NULL, NULL, NULL, CM_KIND_UNSAID, false, 0, {{0, {0, 0, 0}}}, NULL},
};

static char next_letter(const char **text)
{
    while (**text == ' ')
        (*text)++;
    char letter = (char)tolower((unsigned char)**text);
    if (letter)
        (*text)++;
    return letter;
}

static bool same_name(const char *a, const char *b)
{
    char left, right;
    do {
        left = next_letter(&a);
        right = next_letter(&b);
    } while (left && left == right);
    return left == right;
}

const cm_zone *cm_zone_find(const char *name)
{
    for (const cm_zone *zone = CM_ZONES; zone->name; zone++)
        if (same_name(zone->name, name))
            return zone;
    return NULL;
}

static const cm_zone_row *row_at(const cm_zone *zone, double rpm)
{
    for (int i = 0; i < zone->count; i++)
        if (zone->rows[i].rpm == 0 || fabs(rpm / zone->rows[i].rpm - 1) <= 0.05)
            return &zone->rows[i];
    return NULL;
}

bool cm_zone_boundaries(const cm_zone *zone, double omega, double boundary[3])
{
    const double rpm = omega / RPM;
    const cm_zone_row *row = row_at(zone, rpm);
    if (!row || isnan(omega))
        return false;
    double divisor = zone->over_root_speed ? sqrt(fmax(rpm, 1000)) : 1;
    double unit = cm_unit_find(zone->unit)->factor;
    for (int k = 0; k < 3; k++)
        boundary[k] = row->boundary[k] / divisor * unit;
    return true;
}
