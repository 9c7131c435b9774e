/* SPDX-License-Identifier: MIT */
/*
 * Permissible residual unbalance of a rotor that behaves rigidly.
 *
 *     e_per Omega = G                       grade, ISO 21940-11 table 1
 *     U_per = e_per m = G m / Omega
 *     U_A = U_per L_B / L,  U_B = U_per L_A / L    L_A, L_B from the centre of mass to the bearings
 *
 * The lever rule is the statics of a beam on two supports. The limits on the
 * shares keep one bearing from being allowed next to nothing, which nobody
 * could measure, or nearly everything. Sources: sources.c.
 */
#include "standards/permissible.h"
#include "base/constants.h"

#include <ctype.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

static const double RPM = CM_PI / 30;

const cm_grade CM_GRADES[] = {
    {"G4000", 4000, "crankshaft drives of large slow marine diesel engines, inherently unbalanced"},
    {"G1600", 1600, "crankshaft drives of large slow marine diesel engines, inherently balanced"},
    {"G630", 630, "crankshaft drives, inherently unbalanced, elastically mounted"},
    {"G250", 250, "crankshaft drives, inherently unbalanced, rigidly mounted"},
    {"G100", 100, "complete reciprocating engines of cars, trucks and locomotives"},
    {"G40", 40, "car wheels and drive shafts; crankshaft drives, inherently balanced, elastically mounted"},
    {"G16", 16, "agricultural and crushing machinery; cardan and propeller shafts"},
    {"G6.3", 6.3,
     "fans, pumps, gears, centrifuges, turbochargers, water turbines, general machinery, motors and "
     "generators up to 950 r/min"},
    {"G2.5", 2.5, "compressors, gas and steam turbines, motors and generators above 950 r/min"},
    {"G1", 1, "drives of grinding machines"},
    {"G0.4", 0.4, "gyroscopes; spindles of high-precision systems"},
    {NULL, 0, NULL},
};

const cm_flexible_share CM_FLEXIBLE_SHARES[] = {
    {"as a rigid body, at low speed", 1.0},
    {"equivalent first modal unbalance", 0.6},
    {"equivalent second modal unbalance, where the second resonance matters", 0.6},
    {NULL, 0},
};

/* The digits of a grade's name, after an optional G and blanks. */
static const char *grade_digits(const char *text)
{
    while (*text == ' ')
        text++;
    if (tolower((unsigned char)*text) == 'g')
        text++;
    while (*text == ' ')
        text++;
    return text;
}

const cm_grade *cm_grade_find(const char *text)
{
    const char *digits = grade_digits(text);
    for (const cm_grade *grade = CM_GRADES; grade->name; grade++)
        if (strcmp(grade_digits(grade->name), digits) == 0)
            return grade;
    return NULL;
}

double cm_permissible_unbalance(double mass, double grade, double omega)
{
    return grade * 1e-3 * mass / omega;
}

double cm_grade_of_unbalance(double unbalance, double mass, double omega)
{
    return unbalance * omega / mass * 1e3;
}

void cm_reactions(double a, double b, double at, double reaction[2])
{
    reaction[0] = (b - at) / (b - a);
    reaction[1] = (at - a) / (b - a);
}

/* Lower and upper limit of a share by arrangement. */
static const double SHARE_LIMIT[][2] = {[CM_INBOARD] = {0.3, 0.7}, [CM_OUTBOARD] = {0.3, 1.3}};

cm_shares cm_share_out(double a, double b, double mass_centre)
{
    double reaction[2];
    cm_reactions(a, b, mass_centre, reaction);
    cm_shares s = {.arrangement = reaction[0] < 0 || reaction[1] < 0 ? CM_OUTBOARD : CM_INBOARD};
    const double *limit = SHARE_LIMIT[s.arrangement];
    for (int k = 0; k < 2; k++) {
        s.lever[k] = fabs(reaction[k]);
        s.share[k] = fmin(fmax(s.lever[k], limit[0]), limit[1]);
        s.limited[k] = s.lever[k] < limit[0] || s.lever[k] > limit[1];
    }
    return s;
}

double cm_mass_speed_knee(void)
{
    return 25000 * RPM;
}

double cm_mass_speed_unbalance(double journal_mass, double omega)
{
    double rpm = fmin(omega, cm_mass_speed_knee()) / RPM;
    return 6350e-6 * journal_mass / rpm; /* g mm -> kg m */
}

bool cm_is_flexible(double resonance, double service)
{
    return resonance < service / CM_RIGID_SHARE;
}
