/* SPDX-License-Identifier: MIT */
/* The cautions as one table: pages print it, docs/safety.md repeats it, a test compares the two. */
#include "standards/hazard.h"

#include <stddef.h>

const cm_caution CM_CAUTIONS[] = {
    {"Masses come loose.",
     "Fasten every mass, trial masses too, for its force at overspeed, secure it against turning and "
     "working loose, and have a second person check it before the start."},
    {"Stay out of the plane of rotation.", "Nobody stands in line with the correction planes or with a "
                                           "coupling during a run-up, at speed or during "
                                           "a run-down; guards and covers are back in place first."},
    {"The rotor is isolated before anyone reaches in.",
     "Lock and tag the drive, the steam or fuel and the turning gear, wait until the rotor stands still by "
     "itself, and prove it. Nothing is braked by hand."},
    {"Starts follow the plant's own procedures.",
     "Run-up, holding, alarm and trip settings, overspeed tests and the number of starts an hour are the "
     "plant's "
     "and the maker's. This program knows none of them and never overrides them."},
    {"Local codes and licensed practice come first.", "The person who is responsible for the machine under "
                                                      "local law decides. This page is a calculation, not a "
                                                      "permission to run."},
    {"Check before you believe.",
     "Compare units, angles, counting direction and radius with the rotor itself. If the first start after a "
     "correction does not come near the prediction, stop and find out why before adding more."},
    {NULL, NULL},
};
