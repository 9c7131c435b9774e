/* SPDX-License-Identifier: MIT */
/* Thresholds are common practice, no source, but for the exponent 2, which follows from a force in proportion to speed
 * squared on an elastic support well below resonance. */
#include "model/signs.h"

#include <math.h>

const cm_sign_row CM_SIGNS[CM_SIGN_COUNT] = {
    [CM_SIGN_ONCE_SHARE] = {"once-share", "once-per-turn part of the overall amplitude", 0.8, HUGE_VAL, 0.7,
                            HUGE_VAL,
                            "other frequencies carry much of it: bearings, blades, rubs, electrical causes"},
    [CM_SIGN_TWICE] = {"twice-over-once", "twice-per-turn against once-per-turn", 0, 0.3, 0, 0.5,
                       "misalignment, looseness or a crack"},
    [CM_SIGN_AXIAL] = {"axial-over-radial", "axial against radial", 0, 0.3, 0, 0.5,
                       "misalignment, a bent shaft or an overhung rotor"},
    [CM_SIGN_SIZES] = {"radial-ratio", "larger against smaller radial direction", 1, 3, 1, 4,
                       "a resonance or looseness of the support in one direction"},
    [CM_SIGN_PHASE] = {"phase-difference", "degrees between horizontal and vertical", 60, 120, 30, 150,
                       "a force in one direction: misalignment, a resonance of the support, looseness"},
    [CM_SIGN_GROWTH] =
        {"growth", "exponent of growth with speed (2 is unbalance)", 1.5, 2.5, 1, 4,
         "misalignment, looseness or electrical causes when it is low, a resonance when it is high"},
    [CM_SIGN_BACKWARD] = {"backward-share", "backward share of the orbit", 0, 0.3, 0, 0.5,
                          "a rub, a resonance of the support in one direction, or exchanged probes"},
};
