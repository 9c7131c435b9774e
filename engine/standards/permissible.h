/* SPDX-License-Identifier: MIT */
/**
 * @file permissible.h
 * Permissible residual unbalance and how two bearings share it. SI: kg, m, rad/s, N; unbalance in kg m.
 */
#ifndef STANDARDS_PERMISSIBLE_H
#define STANDARDS_PERMISSIBLE_H

#include <stdbool.h>

/** One balance quality grade. */
typedef struct cm_grade {
    const char *name;     /* "G2.5" */
    double value;         /* e_per x speed in mm/s */
    const char *machines; /* examples */
} cm_grade;

/** The grades of ISO 21940-11, coarsest first; ended by a NULL name. */
extern const cm_grade CM_GRADES[];

/** The grade called "G2.5", "G 2.5", "g2.5" or "2.5"; NULL: there is no such grade. */
const cm_grade *cm_grade_find(const char *text);

/** U_per = G m / Omega [kg m] for a grade in mm/s. */
double cm_permissible_unbalance(double mass, double grade, double omega);

/** The grade [mm/s] that an unbalance amounts to. */
double cm_grade_of_unbalance(double unbalance, double mass, double omega);

typedef enum cm_arrangement {
    CM_INBOARD,  /* centre of mass between the bearings */
    CM_OUTBOARD, /* centre of mass beyond a bearing */
} cm_arrangement;

/** How two bearings share the permissible unbalance. */
typedef struct cm_shares {
    cm_arrangement arrangement;
    double lever[2]; /* by statics alone, as sizes */
    double share[2]; /* within the limits of the arrangement */
    bool limited[2]; /* the limit of the arrangement decided */
} cm_shares;

/** Lever rule with the limits of ISO 21940-11 for bearings at a and b (a != b) and the centre of mass. */
cm_shares cm_share_out(double a, double b, double mass_centre);

/** Signed reactions of bearings at a and b to a unit load at `at`: they sum to 1. */
void cm_reactions(double a, double b, double at, double reaction[2]);

/** Mass/speed rule: permissible unbalance of a plane [kg m] for the static load on its journal [kg]. */
double cm_mass_speed_unbalance(double journal_mass, double omega);

/** Speed [rad/s] above which the constant eccentricity takes over. */
double cm_mass_speed_knee(void);

/** Resonance below this share of 1/share of service speed makes a rotor flexible (common practice, no
 * source). */
#define CM_RIGID_SHARE 0.7

/** True when a resonance lies below service speed / CM_RIGID_SHARE. */
bool cm_is_flexible(double resonance, double service);

/** Shares of part 11 for a flexible rotor (ISO 21940-12, from memory). */
typedef struct cm_flexible_share {
    const char *what;
    double share;
} cm_flexible_share;

extern const cm_flexible_share CM_FLEXIBLE_SHARES[]; /* ended by a NULL name */

/**
 * Permissible values of n correction planes from those of two bearings.
 *
 * `lever` is 2 × n, column-major: size of the reaction of each bearing to a unit force at each plane;
 * `at_bearing` the two values. Result: n values with the largest product for which sum_j lever_kj value_j <=
 * at_bearing_k        (every angle allowed, the worst is all in line)
 */
void cm_share_to_planes(int n, const double *lever, const double at_bearing[2], double *value);

#endif
