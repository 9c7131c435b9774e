/* SPDX-License-Identifier: MIT */
/*
 * Separation margins and vibration limit of API 617, 7th and 8th edition
 * (values from memory of API 617):
 *
 *     AF < 2.5            critically damped: no margin
 *     resonance below     SM = min(17 (1 - 1/(AF - 1.5)), 16) %
 *     resonance above     SM = min(10 + 17 (1 - 1/(AF - 1.5)), 26) %
 *     vibration           25.4 sqrt(12000/N) um pp, at most 25.4
 */
#include "standards/margins.h"
#include "base/constants.h"

#include <math.h>
#include <stdbool.h>

void cm_separation_margin(double amplification, double *below, double *above)
{
    double sharp = 17 * (1 - 1 / (amplification - 1.5));
    bool damped = amplification < 2.5;
    *below = damped ? 0 : fmin(sharp, 16);
    *above = damped ? 0 : fmin(10 + sharp, 26);
}

double cm_works_vibration_limit(double omega)
{
    double rpm = omega * 30 / CM_PI;
    return 25.4e-6 * fmin(1, sqrt(12000 / rpm));
}
