/* SPDX-License-Identifier: MIT */
/**
 * @file certificate.h
 * A dual point, in the terms of the problem as it was given, and the recheck that turns it into a proven bound.
 *
 * Every solver ends by filling in a certificate. recheck.c evaluates it with loops of its own and shares nothing with
 * the solvers, so a mistake there cannot vouch for itself.
 */
#ifndef OPTIMISE_CERTIFICATE_H
#define OPTIMISE_CERTIFICATE_H

#include "base/session.h"
#include "countermass/solve.h"

#include <complex.h>
#undef I

/** Phasors of a dual point; docs/theory/proof.md derives their use. Arrays that are NULL count as zero. */
typedef struct cm_certificate {
    bool infeasibility;               /* no objective: proves that the constraints exclude each other */
    double kappa;                     /* confidence: the factor the constraints are taken at */
    double complex *row_objective;    /* rows */
    double complex *row_limit;        /* rows */
    double complex *pair_objective;   /* 2 × pairs: forward, backward */
    double complex *pair_limit;       /* 2 × pairs */
    double complex *mass;             /* planes: terms |x_j - o_j| or c_j|z_j| of the objective */
    double complex *spread_objective; /* (planes+1) × rows */
    double complex *spread_limit;     /* (planes+1) × rows */
    double complex *spread_pair;      /* (planes+1) × 2 × pairs: of parts of pairs, in limits */
    double complex *disc;             /* discs */
    struct cm_certificate *kept;      /* objective phasors of what must be kept; NULL: nothing must */
    double complex *tie;              /* ties */
} cm_certificate;

/** A certificate with all arrays the problem can need, zero. */
cm_certificate cm_certificate_new(cm_session *session, const cm_problem *problem);

/** Share of dual mass that a constraint must carry to be named in a proof. */
#define CM_CONFLICT_SHARE 1e-6

/** Objective at total masses x. NaN for CM_CONFIDENCE without spread. */
double cm_recheck_value(const cm_problem *problem, const double complex *x);

/** Greatest relative excess of x over any disc, tie, held plane, or (where they bind) limit; ≤ 0: none. */
double cm_recheck_violation(const cm_problem *problem, const double complex *x);

/** Proven lower bound on the objective (or, for `infeasibility`, a number that is > 0 exactly when the certificate proves
 *  that no masses meet the constraints, as a share of what its terms add up to). Stationarity is charged: planes in
 *  a disc at the disc's size, free planes at the distance of x from the base state. */
double cm_recheck_bound(cm_session *session, const cm_problem *problem, const cm_certificate *certificate,
                        const double complex *x);

/** Dual norm of the objective part: the certificate is divided by it. 1 for CM_CONFIDENCE. */
double cm_recheck_dual_norm(const cm_problem *problem, const cm_certificate *certificate);

/** max |r_i|/limit_i over counted rows and pairs with limits at x; NaN without. */
double cm_recheck_ratio(const cm_problem *problem, const double complex *x);

/** r (rows): readings at x; rows that are not determined get 0. */
void cm_recheck_readings(const cm_problem *problem, const double complex *x, double complex *r);

#endif
